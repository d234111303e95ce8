"""A measure that is not told counts as the usual one of its kind."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pytest

from pipeline.statistics.encoding import encode
from pipeline.statistics.features import FeatureSpace, learn_features
from pipeline.statistics.model_settings import ModelSettings
from pipeline.statistics.usual_measures import usual_logs

SETTINGS = ModelSettings(least_measure_count=10)
RELATIVE = SETTINGS.model_copy(update={"relative_measures": ("size",)})


def sales(n: int = 400) -> pa.Table:
    """Thimbles of about 2 cm and wardrobes of about 200; half of either tell no size."""
    rng = np.random.default_rng(7)
    is_large = np.arange(n) % 2 == 1
    size = np.where(is_large, 200.0, 2.0) * np.exp(0.2 * rng.standard_normal(n))
    size[rng.random(n) < 0.5] = np.nan
    kind = np.where(is_large, "wardrobe", "thimble")
    return pa.table(
        {
            "log_price": rng.standard_normal(n),
            "sold_on": pa.array(np.full(n, 20_000), pa.int32()).cast(pa.date32()),
            "category_id": kind,
            "family_id": np.full(n, "all"),
            "measures": pa.StructArray.from_arrays([pa.array(size, mask=np.isnan(size))], ["size"]),
        }
    )


def piece(kind: str, size: float | None) -> pa.Table:
    return pa.table(
        {
            "category_id": [kind],
            "family_id": ["all"],
            "measures": pa.array([{"size": size}], pa.struct([("size", pa.float64())])),
        }
    )


def size_columns(space: FeatureSpace, item: pa.Table, *, said_in_full: bool = False) -> np.ndarray:
    matrix = encode(item, space, said_in_full=said_in_full).matrix.toarray()
    wanted = [g for g in space.groups if g.name.startswith(("measure", "curve"))]
    return np.concatenate([matrix[0, g.start : g.stop] for g in wanted])


@pytest.mark.parametrize("settings", [SETTINGS, RELATIVE])
@pytest.mark.parametrize(("kind", "about"), [("thimble", 2.0), ("wardrobe", 200.0)])
def test_untold_is_as_the_usual_size(settings: ModelSettings, kind: str, about: float) -> None:
    table = sales()
    space = learn_features(table, settings, 20_000.0)
    (measure,) = space.measures
    usual = space.usual_measures[space.categories.index(kind), 0]
    log_size = measure.centre + measure.scale * usual
    if settings is RELATIVE:
        log_size += space.usual_logs["size"][space.categories.index(kind)]
    assert np.exp(log_size) == pytest.approx(about, rel=0.1)
    told = size_columns(space, piece(kind, float(np.exp(log_size))))
    assert size_columns(space, piece(kind, None)) == pytest.approx(told, abs=1e-9)


def test_a_relative_size_tells_nothing_of_the_kind() -> None:
    space = learn_features(sales(8000), RELATIVE, 20_000.0)
    for part in (0.7, 1.0, 1.4):
        small = size_columns(space, piece("thimble", 2.0 * part))
        large = size_columns(space, piece("wardrobe", 200.0 * part))
        assert small[0] == pytest.approx(large[0], abs=0.1)
    assert np.abs(space.measures[0].centre) < 0.05


def test_whether_a_seller_tells_is_held_against_how_usual_that_is() -> None:
    table = sales()
    space = learn_features(table, SETTINGS, 20_000.0)
    group = space.group("measure missing")
    assert group is not None
    told = encode(table, space).matrix[:, group.start : group.stop].toarray()[:, 0]
    for kind in ("thimble", "wardrobe"):
        mine = np.array(table["category_id"].to_pylist()) == kind
        assert told[mine].mean() == pytest.approx(0.0, abs=1e-12)
    assert len(np.unique(np.round(told, 9))) == 4


def test_a_measure_that_few_tell_is_left_out() -> None:
    few = SETTINGS.model_copy(update={"least_measure_count": 350})
    assert learn_features(sales(), few, 20_000.0).measures == ()


def test_a_thin_category_leans_on_its_family() -> None:
    from pipeline.statistics.sales_columns import Factor

    values = np.array([10.0] * 50 + [1000.0])
    category = Factor(np.array([0] * 50 + [1]), ("box", "chest"))
    found = np.exp(usual_logs(values, category, np.array([0, 0])))
    assert found[0] == pytest.approx(10.0, rel=0.1)
    assert 12.0 < found[1] < 100.0
