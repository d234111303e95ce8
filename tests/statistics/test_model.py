"""The price model on simulated sales: sums that add up, ranges that hold, tables that come back."""

from __future__ import annotations

import datetime as dt
import pickle

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pytest

from pipeline.errors import NotEnoughSales, WorkspaceError
from pipeline.statistics import effects as e
from pipeline.statistics.model import NEAREST, PriceModel, fit_model
from pipeline.statistics.model_file import from_tables, read_model, to_tables
from pipeline.statistics.model_settings import ModelSettings
from pipeline.statistics.ranges import LEVELS
from tests.statistics.simulated import (
    CONDITIONS,
    FAULT_EFFECTS,
    FAULTS,
    MATERIALS,
    WORD_EFFECTS,
    WORDS,
    Truth,
    simulate,
)

# Fewer columns, so that many seeds fit into a short test.
FEW = {"n_neighbours": 0, "interactions": False, "time_unit": "quarter", "most_words": 20}
QUICK = ModelSettings(calibration_share=0.01, **FEW)


@pytest.fixture(scope="module")
def truth() -> Truth:
    return simulate(1, 2000)


@pytest.fixture(scope="module")
def model(truth: Truth) -> PriceModel:
    return fit_model(truth.sales.slice(0, 1500))


def quantiles(answers: pa.Table) -> np.ndarray:
    flat = np.asarray(answers.column("quantiles").combine_chunks().flatten())
    return flat.reshape(-1, len(LEVELS))


def test_lines_sum_to_the_centre(truth, model):
    items = truth.sales.slice(1500, 60)
    usual = truth.sales.slice(0, 1500)["condition"].value_counts().to_pylist()
    usual = max(usual, key=lambda one: one["counts"])["values"]
    answers = model.predict(items).to_pylist()
    for answer, grade in zip(answers, items["condition"].to_pylist(), strict=True):
        lines = {line["line"]: line["log_effect"] for line in answer["contributions"]}
        assert sum(lines.values()) == pytest.approx(answer["log_centre"], abs=1e-9)
        assert "base" in lines
        assert ("condition" in lines) == (grade != usual)  # told against the most frequent one
        for neighbour in answer["neighbours"]:
            steps = sum(a["log_effect"] for a in neighbour["adjustments"])
            assert neighbour["log_price"] + steps == pytest.approx(
                neighbour["adjusted_log_price"], abs=1e-9
            )
    assert quantiles(model.predict(truth.sales.slice(1500, 5)))[:, 9] == pytest.approx(
        [answer["log_centre"] for answer in answers[:5]]
    )


def test_prediction_is_near_the_true_mean(truth, model):
    """Noise is 0.4; the model's own error against the true mean is a small part of it."""
    centre = model.predict(truth.sales.slice(1500), explain=False).column("log_centre").to_numpy()
    assert np.abs(centre - truth.mean[1500:]).mean() < 0.12


def test_quantiles_rise(truth, model):
    found = quantiles(model.predict(truth.sales.slice(1500), explain=False))
    assert (np.diff(found, axis=1) >= 0).all()


def test_nearest_sales_explain_what_effects_cannot():
    """A secret of each like pair of pieces, known to no column: neighbours in size find it."""
    rng = np.random.default_rng(4)
    size = np.exp(rng.uniform(0, 6, 1500))
    secret = 0.8 * np.sin(12 * np.log(size)) * (np.log(size) > 3)
    day = np.datetime64("2024-01-01") + np.arange(1500) // 4
    sales = pa.table(
        {
            "log_price": 4 + secret + rng.normal(0, 0.15, 1500),
            "sold_on": pa.array(day),
            "condition": ["good"] * 1500,
            "measures": pa.StructArray.from_arrays([pa.array(size)], ["height"]),
        }
    )
    with_them = fit_model(sales.slice(0, 1200), ModelSettings(curve_knots=4))
    without = fit_model(sales.slice(0, 1200), ModelSettings(curve_knots=4, n_neighbours=0))
    items, price = sales.slice(1200), sales.column("log_price").to_numpy()[1200:]
    answers = with_them.predict(items)
    error = np.abs(answers.column("log_centre").to_numpy() - price).mean()
    bare = np.abs(without.predict(items).column("log_centre").to_numpy() - price).mean()
    assert error < 0.8 * bare
    first = next(a for a in answers.to_pylist() if a["neighbours"])
    weights = [n["weight"] for n in first["neighbours"]]
    assert 0 < sum(weights) < 1
    assert all(w > 0 for w in weights)
    lines = {line["line"]: line["log_effect"] for line in first["contributions"]}
    above = sum(
        n["weight"] * (n["adjusted_log_price"] - first["log_centre"] + lines[NEAREST])
        for n in first["neighbours"]
    )
    drift = lines.get("drift since the held-back sales", 0.0)
    assert above + sum(weights) * drift == pytest.approx(lines[NEAREST], abs=1e-9)


def test_neighbours_are_earlier_and_of_the_same_class(truth, model):
    rows = truth.sales.slice(900, 200)
    kind = dict(
        zip(
            truth.sales.column("sale_id").to_pylist(),
            truth.sales.select(["attribution", "sold_on", "family_id"]).to_pylist(),
            strict=True,
        )
    )
    for item, answer in zip(rows.to_pylist(), model.predict(rows).to_pylist(), strict=True):
        for neighbour in answer["neighbours"]:
            other = kind[neighbour["sale_id"]]
            assert other["attribution"] == item["attribution"]
            assert other["sold_on"] < item["sold_on"]
            assert other["family_id"] == item["family_id"]


def test_nothing_is_pooled_across_attribution_classes():
    """Reproductions a hundred times dearer leave an unseen period piece where it was."""
    base = simulate(3, 1000).sales
    kind = np.array(base.column("attribution").to_pylist())
    price = base.column("log_price").to_numpy().copy()
    dearer = price + np.where(kind == "reproduction", np.log(100), 0)
    place = base.column_names.index("log_price")
    items = base.filter(pa.array(kind == "period")).slice(0, 100)
    one = fit_model(base, QUICK).predict(items, explain=False).column("log_centre").to_numpy()
    changed = base.set_column(place, "log_price", pa.array(dearer))
    two = fit_model(changed, QUICK).predict(items, explain=False).column("log_centre").to_numpy()
    assert np.abs(one - two).mean() < 0.02


def test_a_kind_leans_on_no_other_class_of_its_own_kind():
    """Where one category's reproductions are dear, its period pieces are not drawn along."""
    found = []
    for dearer in (0.0, 1.5):
        chance = np.random.default_rng(5)
        rows = []
        for k in range(12):
            for kind, n in (("period", 6), ("reproduction", 60)):
                level = 5.0 + (dearer if (kind, k) == ("reproduction", 0) else 0.0)
                grades = chance.choice(["good", "fair", "poor"], n)
                rows += [(f"kind {k:02d}", kind, g, level + chance.normal(0, 0.3)) for g in grades]
        category, kinds, grades, price = zip(*rows, strict=True)
        sales = {
            "category_id": category, "family_id": ["all"] * len(rows), "attribution": kinds,
            "condition": grades, "log_price": price,
            "sold_on": np.datetime64("2024-01-01") + chance.integers(0, 500, len(rows)),
        }  # fmt: skip
        model = fit_model(sales, ModelSettings(n_neighbours=0))
        item = {"category_id": ["kind 00"], "attribution": ["period"], "condition": ["good"]}
        found.append(model.predict(item, explain=False).column("log_centre")[0].as_py())
    assert found[1] == pytest.approx(found[0], abs=0.1)


def test_a_piece_without_a_title_has_the_usual_words_of_its_category():
    """Words that mark the dear pieces of one kind: untitled ones stand in the middle of both."""
    chance = np.random.default_rng(11)
    n = 1200
    signed = chance.random(n) < 0.5
    kind = np.where(np.arange(n) % 2 == 0, "clock", "bowl")
    price = np.where(kind == "clock", 6.0, 3.0) + signed + chance.normal(0, 0.2, n)
    titles = [
        f"{k} n{i}" + " signed" * bool(s) for i, (k, s) in enumerate(zip(kind, signed, strict=True))
    ]
    day = np.datetime64("2024-01-01") + np.arange(n) % 700
    sales = {"log_price": price, "sold_on": day, "category_id": kind, "title_text": titles}
    model = fit_model(sales, QUICK)
    kinds = ["clock", "bowl", "clock"]
    items = {"category_id": kinds, "title_text": ["", "", "clock, signed"]}
    untitled = model.predict(items, explain=False).column("log_centre").to_numpy()
    assert untitled == pytest.approx([6.5, 3.5, 7.0], abs=0.06)
    brief = {"category_id": ["clock"], "title_text": ["clock n5"]}
    in_full = model.predict(brief, explain=False).column("log_centre")[0].as_py()
    in_few = model.predict(brief, explain=False, said_in_full=False).column("log_centre")[0].as_py()
    assert in_full == pytest.approx(6.0, abs=0.06)
    assert in_few == pytest.approx(6.5, abs=0.06)


def test_thin_categories_lean_on_their_family(truth, model):
    counts = model.fit.own_counts.sum(axis=1)
    thin, fat = int(np.argmin(np.where(counts > 0, counts, 10**9))), int(np.argmax(counts))
    items = {
        "category_id": [model.fit.space.categories[i] for i in (thin, fat)],
        "attribution": ["period", "period"],
    }
    answers = model.predict(items, explain=False)
    share = answers.column("own_share").to_numpy()
    assert share[0] < share[1]
    assert answers.column("n_own").to_pylist()[1] > answers.column("n_own").to_pylist()[0]
    assert model.predict({"category_id": ["never seen"], "family_id": ["family 1"]}).column(
        "evidence"
    ).to_pylist() == ["none"]
    known_class = {"category_id": ["never seen"], "family_id": ["family 1"]}
    known_class["attribution"] = ["period"]
    assert model.predict(known_class).column("evidence").to_pylist() == ["family"]


@pytest.mark.parametrize("heavy", [False, True])
def test_ranges_hold_on_simulated_sales(heavy):
    """80 % ranges of later sales, over seeds, with widths that differ by family."""
    inside, n, by_family = 0, 0, np.zeros((4, 2))
    for seed in range(12):
        truth = simulate(50 + seed, 1500, heavy=heavy, width_by_family=True)
        answers = fit_model(truth.sales.slice(0, 1100), ModelSettings(n_neighbours=0)).predict(
            truth.sales.slice(1100), explain=False
        )
        found, price = quantiles(answers), truth.sales.column("log_price").to_numpy()[1100:]
        hit = (found[:, 1] <= price) & (price <= found[:, 17])
        inside, n = inside + int(hit.sum()), n + hit.size
        for f in range(4):
            mine = truth.family[1100:] == f
            by_family[f] += [hit[mine].sum(), mine.sum()]
    assert inside / n == pytest.approx(0.80, abs=0.03)
    assert (np.abs(by_family[:, 0] / by_family[:, 1] - 0.8) < 0.07).all()


def test_intervals_of_effects_hold_the_truth():
    """95 % intervals of conditions, materials, faults and words over seeds."""
    held: list[bool] = []
    for seed in range(6):
        truth = simulate(seed, 1500)
        model = fit_model(truth.sales, QUICK)
        table = e.price_adjustments(model, {"condition": "good", "material_id": "oak"})
        for row in table.to_pylist():
            if row["kind"] == "condition" and row["scope"] == "family":
                family = int(row["family_id"].split()[1])
                true = truth.condition[family, CONDITIONS.index(row["term"])]
            elif row["kind"] == "material_id" and row["scope"] == "all":
                true = truth.material[MATERIALS.index(row["term"])] - truth.material[0]
            elif row["kind"] == "fault" and row["scope"] == "all":
                true = FAULT_EFFECTS[FAULTS.index(row["term"])]
            else:
                continue
            held.append(row["low_percent"] <= 100 * np.expm1(true) <= row["high_percent"])
        for row in e.price_words(model).to_pylist():
            if row["scope"] == "all" and row["phrase"] in WORDS:
                true = 100 * np.expm1(WORD_EFFECTS[WORDS.index(row["phrase"])])
                held.append(row["low_percent"] <= true <= row["high_percent"])
    assert np.mean(held) >= 0.93


def test_words_that_pay_come_first(model):
    table = e.price_words(model)
    top = [row["phrase"] for row in table.to_pylist() if row["scope"] == "all"][:3]
    assert top[0] == "signed"
    assert "boxed" in top


def test_index_follows_the_truth(truth, model):
    rows = [r for r in e.price_index(model).to_pylist() if r["scope"] == "all"]
    level = np.log([r["index"] for r in rows])
    true = truth.index[: level.size] - truth.index[level.size - 1]
    assert np.abs(level - true).mean() < 0.05
    assert rows[-1]["index"] == 1
    assert rows[0]["low"] < rows[0]["index"] < rows[0]["high"]
    assert sum(r["n"] for r in rows) == model.n_sales


def test_condition_sensitivity_sees_grades_that_matter(model):
    rows = e.condition_sensitivity(model).to_pylist()
    assert {r["scope"] for r in rows} == {"all", "family", "category"}
    assert rows[0]["spread"] == pytest.approx(0.3, abs=0.1)


def test_pooled_bands_say_what_is_their_own(model):
    bands = e.pooled_bands(
        model, {"category_id": list(model.fit.space.categories), "attribution": ["style"] * 16}
    )
    for row in bands.to_pylist():
        assert row["p10"] < row["p25"] < row["median"] < row["p75"] < row["p90"]
        assert row["p90_bounded"] == (row["n_own"] >= 29)
        assert 0 <= row["own_share"] <= 1


def test_a_model_comes_back_from_its_tables(truth, model):
    items = truth.sales.slice(1500, 40)
    back = from_tables(to_tables(model))
    assert back.predict(items).equals(model.predict(items))
    assert pickle.loads(pickle.dumps(model)).predict(items).equals(model.predict(items))
    with pytest.raises(WorkspaceError, match="cannot be read"):
        from_tables({"model_outline": pa.table({"outline": ["{}"]})})


def test_a_model_read_piece_by_piece_says_the_same_to_the_last_bit(truth, model):
    """Kinds with sales of their own, one that looks through its family, and what has no sales."""
    tables = to_tables(model)
    mixed = np.random.default_rng(1).permutation(tables["model_pool"].num_rows)
    whole = from_tables(tables)
    asked: list[tuple[str, tuple[int, ...]]] = []

    def rows(by, numbers):
        asked.append((by, tuple(numbers)))
        pool = tables["model_pool"].take(pa.array(mixed))  # in whatever order they come
        return pool.filter(pc.is_in(pool[by], pa.array(numbers, pa.int64())))

    lazy = read_model(tables, rows)
    assert asked == []
    undated = truth.sales.drop_columns("sold_on")
    items = truth.sales.slice(1500)
    new_kind = {"category_id": ["never seen"], "family_id": ["family 1"], "attribution": ["period"]}
    strange = {"category_id": ["never seen"], "family_id": ["nor this"]}
    for some in (items.slice(0, 1), items, undated.slice(1500), new_kind, strange):
        assert lazy.predict(some).equals(whole.predict(some))
        assert lazy.predict(some).equals(model.predict(some))
    assert {by for by, _ in asked} == {"kind", "part"}
    read = [(by, number) for by, numbers in asked for number in numbers]
    assert len(read) == len(set(read))  # nothing is read twice
    assert len(asked[0][1]) == 1  # one piece reads one kind
    again = to_tables(whole)
    assert all(again[name].equals(tables[name]) for name in tables)


def test_damaged_sales_of_a_model_are_told(truth, model):
    tables = to_tables(model)
    pool = tables["model_pool"]
    item = truth.sales.slice(1500, 1)
    foreign = pool.set_column(
        pool.column_names.index("points"), "points", pa.array([[1.0]] * pool.num_rows)
    )
    for damaged in (pool.drop_columns("trust"), foreign):
        with pytest.raises(WorkspaceError, match="cannot be read"):
            from_tables(tables | {"model_pool": damaged}).predict(item)
    arrays = tables["model_arrays"]
    with pytest.raises(WorkspaceError, match="cannot be read"):
        from_tables(tables | {"model_arrays": arrays.slice(0, 100)})


def test_a_warm_start_ends_where_a_cold_one_does(truth):
    settings = ModelSettings(n_neighbours=0, calibration_share=0.01)
    cold = fit_model(truth.sales.slice(0, 1500), settings)
    warm = fit_model(truth.sales.slice(0, 1500), settings, start=cold)
    items = truth.sales.slice(1500, 200)
    gap = np.abs(
        cold.predict(items, explain=False).column("log_centre").to_numpy()
        - warm.predict(items, explain=False).column("log_centre").to_numpy()
    )
    assert gap.max() < 0.03


def test_the_same_sales_give_the_same_model(truth):
    items = truth.sales.slice(1500, 50)
    one, two = (fit_model(truth.sales.slice(0, 500)).predict(items) for _ in range(2))
    assert one.equals(two)


def test_a_wild_price_hardly_moves_its_cell(truth):
    sales = truth.sales.slice(0, 1000)
    price = sales.column("log_price").to_numpy().copy()
    price[7] += np.log(1000)
    spoilt = sales.set_column(sales.column_names.index("log_price"), "log_price", pa.array(price))
    items = sales.slice(0, 30)
    gap = np.abs(
        fit_model(sales, QUICK).predict(items, explain=False).column("log_centre").to_numpy()
        - fit_model(spoilt, QUICK).predict(items, explain=False).column("log_centre").to_numpy()
    )
    assert gap.max() < 0.1


def test_almost_no_columns_are_enough():
    sales = {"log_price": np.random.default_rng(0).normal(4, 0.5, 50)}
    answers = fit_model(sales).predict({"condition": ["good"]})
    assert answers.column("log_centre").to_pylist()[0] == pytest.approx(4, abs=0.3)


def test_too_few_sales_say_so():
    with pytest.raises(NotEnoughSales, match="too few"):
        fit_model({"log_price": [1.0, 2.0]})


def test_sales_outside_the_window_do_not_count(truth):
    sales = truth.sales
    model = fit_model(sales, ModelSettings(window_days=365, n_neighbours=0), dt.date(2024, 6, 30))
    day = sales.column("sold_on").to_numpy()
    counted = (day <= np.datetime64("2024-06-30")) & (day > np.datetime64("2023-07-01"))
    assert model.n_sales == counted.sum()
    assert model.as_of == dt.date(2024, 6, 30)


def test_measures_may_come_as_a_map(truth, model):
    height = truth.sales.column("measures").combine_chunks().field("height").to_pylist()
    as_map = pa.array([[("height", v)] for v in height], pa.map_(pa.string(), pa.float64()))
    place = truth.sales.column_names.index("measures")
    items = truth.sales.set_column(place, "measures", as_map).slice(1500, 20)
    assert model.predict(items).equals(model.predict(truth.sales.slice(1500, 20)))
