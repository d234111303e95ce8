"""The hand-made labels that the reading is measured with are whole and use known concepts.

The labels were made from the texts alone (see LABELS.md). These tests prove the files, not
the reader: a label that names no concept, or a title that stands in both parts, would make
every figure taken with them worthless.
"""

import csv
import hashlib
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

HERE = Path(__file__).parent
VOCABULARY = HERE.parents[1] / "pipeline" / "vocabulary"

TITLE_COLUMNS = [
    "part",
    "title",
    "category",
    "material",
    "period",
    "attribution",
    "condition",
    "date_earliest",
    "date_latest",
    "faults",
    "lot",
]
FIELD_COLUMNS = ["part", "kind", "text", "concept_id"]
MATERIAL_COLUMNS = ["part", "title", "material"]
KIND_COLUMNS = ["part", "title", "category", "lot"]
MUSEUM_KIND_COLUMNS = [
    "museum",
    "licence",
    "object_id",
    "title",
    "object_name",
    "category",
    "part",
]
REPORT_COLUMNS = ["part", "title", "period", "attribution", "condition", "faults"]
TITLE_FILES = [
    "labelled_titles.csv",
    "labelled_trade.csv",
    "labelled_fresh.csv",
    "labelled_later.csv",
    "labelled_judged.csv",
]
MUSEUM_COLUMNS = [
    "museum",
    "licence",
    "object_id",
    "title",
    "object_name",
    "date_text",
    "earliest",
    "latest",
    "years_by",
    "medium",
    "material",
    "category",
    "part",
]
PARTS = {"tune", "held"}
AMBIGUOUS = "?"
CLASSES = {"period", "style", "reproduction", "unknown", AMBIGUOUS}
LOTS = {"single", "pair", "set", "bulk", AMBIGUOUS}
VOCABULARY_FILES = {
    "category": "categories",
    "material": "materials",
    "period": "periods",
    "condition": "conditions",
    "attribution": "attributions",
    "faults": "faults",
}
MINIMUM_FIELDS = {
    "category": 120,
    "material": 110,
    "period": 80,
    "condition": 80,
    "attribution": 50,
}


def _read(name: str, columns: list[str]) -> list[dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as handle:
        reader = csv.DictReader(handle, strict=True)
        assert reader.fieldnames == columns
        rows = list(reader)
    for number, row in enumerate(rows, start=2):
        assert None not in row, f"{name} line {number}: too many cells"
        assert None not in row.values(), f"{name} line {number}: too few cells"
    return rows


def _concepts(kind: str) -> set[str]:
    path = VOCABULARY / f"{VOCABULARY_FILES[kind]}.csv"
    with path.open(encoding="utf-8", newline="") as handle:
        return {row["id"] for row in csv.DictReader(handle)}


def _key(text: str) -> str:
    """Return the words alone, so that case, spacing and stops make no new text."""
    return " ".join(re.findall(r"\w+", text.casefold()))


@pytest.fixture(scope="module", params=TITLE_FILES)
def titles(request: pytest.FixtureRequest) -> list[dict[str, str]]:
    return _read(request.param, TITLE_COLUMNS)


@pytest.fixture(scope="module")
def fields() -> list[dict[str, str]]:
    return _read("labelled_fields.csv", FIELD_COLUMNS)


def _title_concepts(titles: list[dict[str, str]], kind: str) -> Iterator[tuple[str, str]]:
    for row in titles:
        cells = row[kind].split("|") if kind == "faults" else [row[kind]]
        for cell in cells:
            if cell and cell != AMBIGUOUS:
                yield row["title"], cell


@pytest.mark.parametrize(
    ("name", "least"),
    [("labelled_titles.csv", 230), ("labelled_trade.csv", 150), ("labelled_fresh.csv", 200)],
)
def test_there_are_enough_titles_in_each_part(name: str, least: int) -> None:
    parts = Counter(row["part"] for row in _read(name, TITLE_COLUMNS))
    assert set(parts) == PARTS
    assert min(parts.values()) >= least


@pytest.mark.parametrize(
    ("name", "least"), [("labelled_later.csv", 100), ("labelled_judged.csv", 250)]
)
def test_the_lists_that_are_held_whole_have_no_other_part(name: str, least: int) -> None:
    rows = _read(name, TITLE_COLUMNS)
    assert {row["part"] for row in rows} == {"held"}
    assert len(rows) >= least


def test_titles_of_materials_are_labelled_and_parted_by_their_digest() -> None:
    rows = _read("labelled_materials.csv", MATERIAL_COLUMNS)
    assert len(rows) >= 200
    assert {row["material"] for row in rows} <= _concepts("material") | {"", AMBIGUOUS}
    for row in rows:
        odd = hashlib.sha256(row["title"].encode()).digest()[0] % 2
        assert row["part"] == ("tune" if odd else "held"), row["title"]


@pytest.mark.parametrize(
    ("name", "columns", "least"),
    [
        ("labelled_kinds.csv", KIND_COLUMNS, 200),
        ("museum_kinds.csv", MUSEUM_KIND_COLUMNS, 50),
    ],
)
def test_kinds_of_things_are_labelled_and_parted_by_the_digest_of_the_title(
    name: str, columns: list[str], least: int
) -> None:
    rows = _read(name, columns)
    assert len(rows) >= least
    assert {row["category"] for row in rows} <= _concepts("category") | {"", AMBIGUOUS}
    for row in rows:
        odd = hashlib.sha256(row["title"].encode()).digest()[0] % 2
        assert row["part"] == ("tune" if odd else "held"), row["title"]


def test_condition_reports_are_labelled_and_parted_by_their_digest() -> None:
    rows = _read("labelled_condition.csv", REPORT_COLUMNS)
    assert len(rows) >= 250
    for kind in ("period", "condition"):
        assert {row[kind] for row in rows} <= _concepts(kind) | {"", AMBIGUOUS}
    assert {row["attribution"] for row in rows} <= CLASSES
    for row in rows:
        faults = [one.removeprefix(AMBIGUOUS) for one in row["faults"].split("|") if one]
        assert set(faults) <= _concepts("faults") and len(faults) == len(set(faults)), row["title"]
        odd = hashlib.sha256(row["title"].encode()).digest()[0] % 2
        assert row["part"] == ("tune" if odd else "held"), row["title"]


def test_there_are_enough_field_values_of_each_kind(fields: list[dict[str, str]]) -> None:
    kinds = Counter(row["kind"] for row in fields)
    assert set(kinds) == set(MINIMUM_FIELDS)
    for kind, least in MINIMUM_FIELDS.items():
        assert kinds[kind] >= least, kind
        parts = Counter(row["part"] for row in fields if row["kind"] == kind)
        assert set(parts) == PARTS
        assert abs(parts["tune"] - parts["held"]) <= 4, kind


def test_no_title_stands_twice_or_in_both_parts() -> None:
    rows = [row for name in TITLE_FILES for row in _read(name, TITLE_COLUMNS)]
    rows += _read("labelled_materials.csv", MATERIAL_COLUMNS)
    rows += _read("labelled_condition.csv", REPORT_COLUMNS)
    rows += _read("labelled_kinds.csv", KIND_COLUMNS)
    keys = Counter(_key(row["title"]) for row in rows)
    assert [key for key, count in keys.items() if count > 1 or not key] == []


def test_no_field_value_stands_twice_in_its_kind(fields: list[dict[str, str]]) -> None:
    keys = Counter((row["kind"], row["text"].casefold()) for row in fields)
    assert [key for key, count in keys.items() if count > 1 or not key[1].strip()] == []


@pytest.mark.parametrize("kind", sorted(VOCABULARY_FILES.keys() - {"attribution"}))
def test_every_label_of_a_title_is_a_known_concept(titles: list[dict[str, str]], kind: str) -> None:
    known = _concepts(kind)
    unknown = [found for found in _title_concepts(titles, kind) if found[1] not in known]
    assert unknown == []


@pytest.mark.parametrize("kind", sorted(MINIMUM_FIELDS))
def test_every_label_of_a_field_value_is_a_known_concept(
    fields: list[dict[str, str]], kind: str
) -> None:
    known = _concepts(kind) | {"", AMBIGUOUS}
    unknown = [
        (row["text"], row["concept_id"])
        for row in fields
        if row["kind"] == kind and row["concept_id"] not in known
    ]
    assert unknown == []


def test_closed_columns_hold_closed_values(titles: list[dict[str, str]]) -> None:
    assert {row["attribution"] for row in titles} == CLASSES
    assert {row["lot"] for row in titles} == LOTS


def test_dates_are_years_in_order(titles: list[dict[str, str]]) -> None:
    for row in titles:
        ends = row["date_earliest"], row["date_latest"]
        if AMBIGUOUS in ends:
            assert ends == (AMBIGUOUS, AMBIGUOUS), row["title"]
            continue
        years = [int(end) for end in ends if end]
        assert years == sorted(years), row["title"]
        ancient = "century AD" in row["title"]
        assert all((0 if ancient else 1000) <= year <= 2030 for year in years), row["title"]


def test_a_fault_is_named_once_in_a_title(titles: list[dict[str, str]]) -> None:
    for row in titles:
        faults = row["faults"].split("|")
        assert len(faults) == len(set(faults)), row["title"]


def test_ambiguous_labels_are_a_small_part(titles: list[dict[str, str]]) -> None:
    kinds = ["category", "material", "period", "attribution", "date_earliest"]
    doubtful = sum(any(row[kind] == AMBIGUOUS for kind in kinds) for row in titles)
    assert 0.03 <= doubtful / len(titles) <= 0.12


@pytest.fixture(scope="module")
def judged_records() -> list[dict[str, str]]:
    return _read("museum_judged.csv", MUSEUM_COLUMNS)


def test_the_judged_records_are_held_whole_and_free_to_use(
    judged_records: list[dict[str, str]],
) -> None:
    assert len(judged_records) >= 150
    assert {row["part"] for row in judged_records} == {"held"}
    assert {row["licence"] for row in judged_records} == {"CC0"}
    assert len({row["museum"] for row in judged_records}) == 4
    assert all(row["object_id"] and row["title"] for row in judged_records)


def test_the_judged_records_are_of_other_objects_and_other_texts(
    judged_records: list[dict[str, str]],
) -> None:
    with (HERE / "museum_records.csv").open(encoding="utf-8", newline="") as handle:
        seen = list(csv.DictReader(handle))
    objects = Counter((row["museum"], row["object_id"]) for row in judged_records)
    assert [key for key, count in objects.items() if count > 1] == []
    assert not objects.keys() & {(row["museum"], row["object_id"]) for row in seen}
    for column in ("date_text", "medium"):
        texts = Counter(_spaced(row[column]) for row in judged_records if row[column])
        assert [text for text, count in texts.items() if count > 1] == []
        assert not texts.keys() & {_spaced(row[column]) for row in seen}


@pytest.mark.parametrize("kind", ["category", "material"])
def test_every_label_of_a_judged_record_is_a_known_concept(
    judged_records: list[dict[str, str]], kind: str
) -> None:
    known = _concepts(kind) | {"", AMBIGUOUS}
    assert {row[kind] for row in judged_records} <= known


def test_a_judged_record_has_one_label_for_one_text(judged_records: list[dict[str, str]]) -> None:
    labels: dict[str, set[str]] = {}
    for row in judged_records:
        labels.setdefault(row["object_name"] or row["title"], set()).add(row["category"])
        assert bool(row["medium"]) == bool(row["material"]), row["title"]
    assert [text for text, found in labels.items() if len(found) > 1] == []


def test_years_of_a_judged_record_are_in_order_and_say_whose_they_are(
    judged_records: list[dict[str, str]],
) -> None:
    for row in judged_records:
        assert (row["years_by"] in {"museum", "ours"}) == bool(row["date_text"]), row["title"]
        years = [int(row[end]) for end in ("earliest", "latest") if row[end]]
        assert not years or row["date_text"], row["title"]
        assert years == sorted(years) and 0 not in years, row["title"]


def _spaced(text: str) -> str:
    """Return the text in small letters with single spaces."""
    return " ".join(text.casefold().split())
