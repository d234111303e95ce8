"""The refit on counted cells against the fit on the sales themselves."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pytest

from pipeline.statistics.cells import count_cells, refit_on_cells
from pipeline.statistics.effects import price_adjustments
from pipeline.statistics.encoding import encode
from pipeline.statistics.model import fit_model
from pipeline.statistics.model_settings import ModelSettings
from tests.statistics.simulated import Truth, simulate

QUICK = ModelSettings(n_neighbours=0, calibration_share=0.01, interactions=False)


@pytest.fixture(scope="module")
def truth() -> Truth:
    return simulate(21, 8000)


def test_cells_hold_every_sale(truth):
    cells = count_cells(truth.sales)
    price = truth.sales.column("log_price").to_numpy()
    n = cells.column("n").to_numpy()
    assert n.sum() == truth.sales.num_rows
    assert (n * cells.column("mean_log").to_numpy()).sum() == pytest.approx(price.sum())
    assert cells.column("squares_log").to_numpy().sum() == pytest.approx((price**2).sum())
    assert cells.num_rows < truth.sales.num_rows


def test_all_cells_sharpen_a_model_of_a_sample(truth):
    """A tenth of the sales for words and sizes, all of them for levels and terms."""
    rng = np.random.default_rng(0)
    sample = truth.sales.take(pa.array(np.sort(rng.choice(8000, 800, replace=False))))
    items, mean = truth.sales.slice(7000), truth.mean[7000:]
    model = fit_model(sample, QUICK)
    before = np.abs(model.predict(items, explain=False).column("log_centre").to_numpy() - mean)
    refit_on_cells(model, count_cells(truth.sales))
    answers = model.predict(items, explain=False)
    after = np.abs(answers.column("log_centre").to_numpy() - mean)
    assert after.mean() < 0.8 * before.mean()
    assert model.n_sales == 8000
    place = {c: i for i, c in enumerate(model.fit.space.categories)}
    category = [place[c] for c in truth.sales.column("category_id").to_pylist()]
    assert model.fit.own_counts.sum(axis=1).tolist() == np.bincount(category).tolist()


def test_cells_are_encoded_without_words_and_else_alike(truth):
    """No word is fitted on cells: the usual words of each cell only fill the memory."""
    space = fit_model(truth.sales.slice(0, 1500), QUICK).fit.space
    word = space.group("word")
    assert word is not None and word.size > 0
    cells = count_cells(truth.sales)
    full, bare = encode(cells, space), encode(cells, space, with_words=False)
    assert bare.matrix[:, word.start : word.stop].nnz == 0 < full.matrix.nnz - bare.matrix.nnz
    for start, stop in ((0, word.start), (word.stop, space.n_columns)):
        assert (full.matrix[:, start:stop] != bare.matrix[:, start:stop]).nnz == 0


def test_more_sales_than_can_be_read_at_once(truth):
    """A sample keeps thin categories whole; levels, n and intervals are those of all sales."""
    settings = QUICK.model_copy(update={"most_joint_sales": 1500})
    model = fit_model(truth.sales, settings)
    assert model.n_sales == 8000
    rows = [r for r in price_adjustments(model).to_pylist() if r["kind"] == "condition"]
    place = truth.sales.column("condition").to_pylist()
    for row in rows:
        if row["scope"] == "all":
            assert row["n"] == place.count(row["term"])
    sampled = fit_model(truth.sales.slice(0, 1500), settings)
    wide = {
        (r["family_id"], r["category_id"], r["term"], r["reference"]): r["log_error"]
        for r in price_adjustments(sampled).to_pylist()
        if r["kind"] == "condition"
    }
    ratio = [
        r["log_error"] / wide[key]
        for r in rows
        if (key := (r["family_id"], r["category_id"], r["term"], r["reference"])) in wide
    ]
    assert np.median(ratio) < 0.8
