"""Words of titles beside the kinds that they are used of."""

from __future__ import annotations

import numpy as np

from pipeline.statistics import sales_columns as read
from pipeline.statistics.arrays import Bools, Floats, Ints
from pipeline.statistics.words import TitleIndex

# Share of a word's variance that lies within categories, for a word that tells more than the kind.
LEAST_WITHIN = 0.4


def usual_words(
    index: TitleIndex, titled: Bools, words: tuple[str, ...], category: read.Factor
) -> Floats:
    """Share of each category's titles that hold each word; of all titles where it has none."""
    rows, columns = index.rows_and_columns({word: i for i, word in enumerate(words)})
    shape = (len(category.labels), len(words))
    held = np.zeros(shape)
    np.add.at(held, (category.codes[rows], columns), 1.0)
    n_titles = np.bincount(category.codes, titled, minlength=shape[0])[:, None]
    overall = held.sum(axis=0) / max(float(n_titles.sum()), 1.0)
    return np.where(n_titles > 0, held / np.maximum(n_titles, 1.0), overall)


def tells_within(shares: Floats, sizes: Floats) -> Ints:
    """Words that tell sales of one category apart, by their place.

    A word's variance over all titles is that between categories plus that within; of a word that
    names the kind itself ("clock" among clocks and vases) hardly any is within. Its effect would
    be the category's level under another name, and a piece that goes without the word would lack
    it.
    """
    share = sizes / max(float(sizes.sum()), 1.0)
    within = share @ (shares * (1 - shares))
    overall = share @ shares
    whole = overall * (1 - overall)
    return np.flatnonzero(within >= LEAST_WITHIN * whole)
