"""The cautions hold together as data: every trigger exists, every sentence names its authority.

The ground they cover is the project's own list of what a seller of old things should check;
where a citation's date is from memory, its row says so.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

VOCABULARY = Path(__file__).resolve().parents[2] / "pipeline" / "vocabulary"
COLUMNS = [
    "id", "prefLabel", "altLabels", "hiddenLabels", "broader", "scopeNote", "sentence",
    "authority", "jurisdiction", "rule_date", "advice", "category_ids", "material_ids",
    "fault_ids", "phrases", "not_phrases", "made_before", "made_after", "unknown_date_counts", "not_material_ids",
]  # fmt: skip

Row = dict[str, str]


def parts(cell: str) -> list[str]:
    return [part for part in cell.split("|") if part]


def read(name: str) -> list[Row]:
    with (VOCABULARY / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, strict=True))


@pytest.fixture(scope="module")
def cautions() -> dict[str, Row]:
    with (VOCABULARY / "cautions.csv").open(encoding="utf-8", newline="") as file:
        assert next(csv.reader(file)) == COLUMNS
    rows = read("cautions.csv")
    found = {row["id"]: row for row in rows}
    assert len(found) == len(rows)
    return found


def test_there_are_enough_cautions(cautions: dict[str, Row]) -> None:
    assert len(cautions) >= 40
    assert [one for one in cautions if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", one)] == []
    assert len({row["prefLabel"] for row in cautions.values()}) == len(cautions)


@pytest.mark.parametrize(
    ("column", "file"),
    [
        ("category_ids", "categories.csv"),
        ("material_ids", "materials.csv"),
        ("not_material_ids", "materials.csv"),
        ("fault_ids", "faults.csv"),
    ],
)
def test_every_trigger_exists(cautions: dict[str, Row], column: str, file: str) -> None:
    ids = {row["id"] for row in read(file)}
    for row in cautions.values():
        assert [one for one in parts(row[column]) if one not in ids] == [], row["id"]


def test_every_caution_has_a_trigger(cautions: dict[str, Row]) -> None:
    columns = ("category_ids", "material_ids", "fault_ids", "phrases")
    assert [i for i, row in cautions.items() if not any(row[c] for c in columns)] == []


def test_each_says_one_sentence_and_defers(cautions: dict[str, Row]) -> None:
    """A caution sends to local rules and licensed practice; it never vouches for a piece."""
    for row in cautions.values():
        assert row["sentence"].endswith(".") and row["sentence"].count(". ") == 0, row["id"]
        assert "check local rules" in row["advice"] or "ask a licensed" in row["advice"], row["id"]
        said = f"{row['sentence']} {row['advice']} {row['scopeNote']}".casefold()
        assert not re.search(r"\b(safe|safely|legal|legally)\b", said), row["id"]


def test_each_names_its_authority_and_the_rules_date(cautions: dict[str, Row]) -> None:
    for row in cautions.values():
        assert row["authority"] and row["jurisdiction"], row["id"]
        assert re.fullmatch(r"(\d{4}(-\d{2}-\d{2})?)?", row["rule_date"]), row["id"]
        cited = re.search(
            r"\b(CFR|USC|CITES|Act|Convention|Principles|laws?|Public Law|Regulation)",
            row["authority"],
        )
        assert cited or "no source" in row["authority"] or "common practice" in row["authority"]


# Citations on the project's list of checked facts; the rest of a row may be from memory.
CITED = {
    "ivory": "50 CFR 17.40(e)",
    "feathers": "50 CFR 21",
    "eagle": "16 USC 668",
    "rosewood": "annotation 15",
    "brazilian-rosewood": "Appendix I",
    "native-american": "18 USC 1170",
    "lead-paint": "16 CFR 1303",
    "childrens-goods-recall": "15 USC 2068",
    "crib-standard": "16 CFR 1219",
    "radium": "10 CFR 31.12",
    "uranium": "10 CFR 40.13",
    "lead-glaze": "21 CFR 109.16",
    "firearm": "18 USC 921(a)(16)",
    "tip-over": "STURDY Act",
    "hallmark": "16 CFR 23",
    "counterfeit": "18 USC 2320",
}


@pytest.mark.parametrize(("caution", "citation"), CITED.items())
def test_cited_rules(cautions: dict[str, Row], caution: str, citation: str) -> None:
    assert citation in cautions[caution]["authority"]


def test_years_bound_what_they_should(cautions: dict[str, Row]) -> None:
    for row in cautions.values():
        assert row["unknown_date_counts"] in {"yes", "no"}, row["id"]
        for column in ("made_before", "made_after"):
            assert re.fullmatch(r"(\d{4})?", row[column]), row["id"]
        if row["made_before"] and row["made_after"]:
            assert int(row["made_before"]) > int(row["made_after"]), row["id"]
    # paint: the ban of 1978; cribs: the rule of 23 July 2010, so the whole of 2010 is to be asked
    assert cautions["lead-paint"]["made_before"] == "1978"
    assert cautions["crib-standard"]["made_before"] == "2011"
    assert cautions["crib-standard"]["rule_date"] == "2010-07-23"
    # a crib, a gun and a painted toy of no known date are asked about
    for one in ("lead-paint", "crib-standard", "firearm", "radium"):
        assert cautions[one]["unknown_date_counts"] == "yes"


def words(text: str) -> str:
    return f" {' '.join(re.findall(r'[a-z0-9]+', text.casefold().replace(chr(39), '')))} "


def raised(row: Row, text: str) -> bool:
    """Whether a phrase of the row stands in the text outside every phrase that cancels it."""
    said = words(text)
    for phrase in sorted(parts(row["not_phrases"]), key=len, reverse=True):
        said = said.replace(words(phrase), " | ")
    return any(words(phrase) in said for phrase in parts(row["phrases"]))


def test_no_phrase_is_cancelled_by_its_own_row(cautions: dict[str, Row]) -> None:
    for row in cautions.values():
        plain = [phrase for phrase in parts(row["phrases"]) if not raised(row, phrase)]
        assert plain == [], row["id"]


# What a colour, an imitation or a namesake says must raise nothing (a false alarm is a defect);
# the real thing beside it must. Invented titles, common practice, no source.
QUIET_AND_LOUD = [
    ("ivory", "Ivory coloured silk wedding dress", "Carved ivory figure on stand"),
    ("ivory", "Cream and ivory ground rug", "Portrait painted on ivory"),
    ("ivory", "Faux ivory handled button hook", "Knives with real ivory handles, ivory handled"),
    ("tortoiseshell", "Tortoiseshell effect plastic comb", "Tortoiseshell veneered tea caddy"),
    ("coral", "Coral pink velvet chair", "Coral necklace, graduated"),
    ("feathers", "Prince of Wales feathers shield back chair", "Hat with egret plume"),
    ("firearm", "Toy gun with box", "Flintlock pistol by a Bath maker"),
    ("firearm", "Table knives with pistol grip", "Double barrel shotgun"),
    ("mercury", "Bronze figure of Mercury", "Mercury barometer by J. Invented"),
    ("mercury", "Mercury glass candlestick", "Stick barometer, mahogany"),
    ("crib-standard", "Doll's crib, painted", "Drop side crib, white"),
    ("medicine", "Empty poison bottle, blue", "Strychnine bottle"),
    ("ammunition", "Gramophone record cartridge", "Box of shotgun cartridges, live rounds"),
    ("celluloid", "Safety film, 16mm", "Nitrate film, two reels"),
    ("antiquities", "Wall clock with Roman numerals", "Roman bowl, excavated"),
    ("rosewood", "Rosewood effect cabinet", "Writing box, rosewood veneer"),
    ("taxidermy", "Snakeskin print handbag", "Leopard skin rug"),
    ("radium", "Watch with tritium dial", "Travel clock, radium dial"),
    ("spirits", "Empty bottles, whisky", "Unopened whisky, 1960s"),
    ("lead-objects", "Leaded glass window", "Lead soldiers, boxed"),
    ("uranium", "Vaseline jar with lid", "Vaseline glass bowl"),
    ("asbestos", "Iron stand, no asbestos", "Asbestos mat for iron"),
    ("fur-and-skins", "Faux fur jacket", "Fox fur stole"),
]


@pytest.mark.parametrize(("caution", "quiet", "loud"), QUIET_AND_LOUD)
def test_namesakes_are_quiet(cautions: dict[str, Row], caution: str, quiet: str, loud: str) -> None:
    row = cautions[caution]
    assert not raised(row, quiet)
    assert raised(row, loud)


def test_the_whole_ground_is_covered(cautions: dict[str, Row]) -> None:
    """Each subject of the project's list, by a word in some row's label, sentence or phrases."""
    ground = (
        "ivory tortoiseshell feather eagle rosewood native public recalled crib wiring radium "
        "uranium asbestos mercury pewter firearm tip celluloid nitrate arsenic upholster bedding "
        "cosmetic spirits medicine hallmark counterfeit 1933 antiquit paint"
    )
    said = " ".join(
        f"{row['prefLabel']} {row['sentence']} {row['phrases']}" for row in cautions.values()
    ).casefold()
    assert [word for word in ground.split() if word not in said] == []
