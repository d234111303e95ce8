"""Pictures that no word names: `Head of a woman, charcoal` is told by what it is drawn in."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.lexicon import Lexicon
from pipeline.terms.material_kinds import below as materials_below
from pipeline.terms.picks import KindReading
from pipeline.terms.tokens import CLAUSE, TokenStream
from pipeline.terms.wholes import PART, Materials

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

_ALL = "prints-and-paintings"
# what is made with a medium that is no kind of picture by its own name
_MADE_WITH = {
    "drawing": ("chalk", "charcoal", "conte", "crayon", "pencil", "silverpoint", "ink-drawing"),
    "painting": ("oil-paint", "tempera", "acrylic-paint", "encaustic", "distemper"),
    "gouache": ("gouache",),
    "pastel": ("pastel",),
    "watercolour": ("watercolour",),
}
_BY_ITS_MEDIUM = np.float32(90)  # score; nobody said that it is a picture


def name_pictures(
    lexicon: Lexicon, stream: TokenStream, category: KindReading, materials: Materials
) -> None:
    """Give titles without a kind, or with none but picture, the kind that their medium tells.

    The medium has to open a clause behind the subject. Changes `category`.
    """
    ids = lexicon.concept_ids["category"]
    if _ALL not in ids or not len(materials.title):
        return
    open_titles = (category.concept < 0) | (category.concept == ids.index(_ALL))
    start = materials.start
    behind = ((stream.before[start] & CLAUSE) > 0) & ~stream.starts()[start]
    told = (materials.place < PART) & behind & open_titles[materials.title]
    told &= materials.concept == materials.reading.concept[materials.title]
    told &= ~materials.reading.doubtful[materials.title]
    for kind, media in _MADE_WITH.items():
        if kind not in ids:
            continue
        rows = np.flatnonzero(told & materials_below(lexicon, *media)[materials.concept])
        titles = materials.title[rows]
        category.concept[titles] = ids.index(kind)
        category.score[titles] = category.margin[titles] = _BY_ITS_MEDIUM
        category.doubtful[titles] = False
        category.choice[titles] = -1
