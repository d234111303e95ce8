"""The package's own vocabulary: what it must hold, and what it must keep apart.

Where a check has a published source it is named beside it. "From memory" marks what is recalled
and "common practice, no source" what every cataloguer knows and nobody published.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from pathlib import Path

import pytest

from pipeline.terms.aliases import canonical
from pipeline.terms.lexicon import lexicon_for
from pipeline.terms.text import normalise_label
from pipeline.terms.vocabulary import Vocabulary

MINE = ("material", "period", "condition", "fault", "attribution", "marker")


@pytest.fixture(scope="module")
def vocabulary() -> Vocabulary:
    return Vocabulary.load()


def carriers(vocabulary: Vocabulary, kind: str, text: str) -> set[str]:
    """Ids of the concepts of a kind that carry a text as a label."""
    return {entry.concept_id for entry in vocabulary.labels(kind).get(normalise_label(text), ())}


# --- how much there is ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "least"),
    [("category", 350), ("material", 220), ("period", 110), ("fault", 70), ("marker", 30)],
)
def test_there_is_enough(vocabulary: Vocabulary, kind: str, least: int) -> None:
    assert len(vocabulary.concepts(kind)) >= least


def test_nothing_of_the_package_is_a_warning(vocabulary: Vocabulary) -> None:
    assert vocabulary.warnings == ()


def test_no_label_is_shared_in_these_kinds(vocabulary: Vocabulary) -> None:
    for kind in MINE:
        assert vocabulary.shared_labels(kind) == frozenset(), kind


def test_the_package_knows_no_maker(vocabulary: Vocabulary) -> None:
    assert vocabulary.concepts("maker") == ()


def test_materials_stand_in_trees_of_known_tops(vocabulary: Vocabulary) -> None:
    tops = {one.id for one in vocabulary.concepts("material") if one.broader is None}
    assert tops == {
        "wood", "finish", "metal", "ceramic", "glass", "paper", "painting-medium", "textile",
        "organic", "leather", "plastic", "composition", "stone", "mixed-materials",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("narrow", "broad"),
    [
        ("cuban-mahogany", "mahogany"),
        ("flame-mahogany", "mahogany"),
        ("burr-walnut", "walnut"),
        ("quarter-sawn-oak", "oak"),
        ("sterling-silver", "silver"),
        ("silver-gilt", "silver"),
        ("epns", "silver-plate"),
        ("sheffield-plate", "silver-plate"),
        ("bone-china", "porcelain"),
        ("creamware", "earthenware"),
        ("jasperware", "stoneware"),
        ("mezzotint", "intaglio"),
        ("chromolithograph", "lithograph"),
        ("oil-on-canvas", "oil-paint"),
        ("cloisonne", "enamel"),
        ("lead-crystal", "crystal"),
        ("ivorine", "celluloid"),
        ("spelter", "zinc"),
        ("marquetry", "veneer"),
        ("shagreen", "leather"),
    ],
)
def test_the_tree_of_materials(vocabulary: Vocabulary, narrow: str, broad: str) -> None:
    assert broad in vocabulary.ancestors("material", narrow)


# --- what sellers write --------------------------------------------------------------------

WRITTEN = [
    # British and American usage, abbreviations and misspellings: common practice, no source
    ("material", "mahog.", "mahogany"),
    ("material", "Mahogony", "mahogany"),
    ("material", "wal.", "walnut"),
    ("material", "burl walnut", "burr-walnut"),
    ("material", "E.P.N.S.", "epns"),
    ("material", "silver plated", "silver-plate"),
    ("material", "porcelin", "porcelain"),
    ("material", "Watercolor", "watercolour"),
    ("material", "aluminum", "aluminium"),
    ("material", "colored glass", "coloured-glass"),
    ("material", "papier mache", "papier-mache"),
    ("material", "cloissone", "cloisonne"),
    ("material", "terra-cotta", "terracotta"),
    ("material", "925", "sterling-silver"),
    ("material", "giclée", "giclee"),
    ("material", "Acajou", "mahogany"),
    ("period", "vict.", "victorian"),
    ("period", "Arts&Crafts", "arts-and-crafts"),
    ("period", "Arts & Crafts", "arts-and-crafts"),
    ("period", "Geo III", "george-iii"),
    ("period", "beidermeier", "biedermeier"),
    ("period", "Grunderzeit", "gruenderzeit"),
    ("period", "Gründerzeit", "gruenderzeit"),
    ("period", "MCM", "mid-century-modern"),
    ("period", "K'ang Hsi", "qing-kangxi"),
    ("period", "Napoleon 3", "napoleon-iii"),
    ("period", "vtg", "vintage"),
    ("condition", "VGC", "very_good"),
    ("condition", "gd", "good"),
    ("condition", "A/F", "poor"),
    ("condition", "as found", "poor"),
    ("condition", "Spares or repair", "for_parts"),
    ("condition", "NOS", "as_new"),
    ("condition", "old shop stock", "as_new"),
    ("condition", "pre-owned", "used"),
    ("condition", "9/10", "excellent"),
    ("condition", "4 stars", "very_good"),
    ("attribution", "attrib.", "attributed-to"),
    ("attribution", "attr. to", "attributed-to"),
    ("attribution", "School of", "school-of"),
    ("attribution", "repro", "reproduction"),
    ("attribution", "copy of", "reproduction"),
    ("attribution", "inspired by", "style-of"),
    ("attribution", "homage to", "style-of"),
    ("attribution", "bears signature", "signed-bears"),
    ("fault", "crack", "cracked"),
    ("fault", "hairline crack", "hairline"),
    ("fault", "fox marks", "foxing"),
    ("fault", "re-wired", "rewired"),
    ("fault", "fleabite", "chips"),
    ("fault", "wood worm", "worm"),
    ("fault", "veener loss", "veneer-loss"),
    ("marker", "joblot", "job-lot"),
    ("marker", "pr.", "pair"),
    ("marker", "empty box", "box-only"),
    ("marker", "instructions only", "instructions-only"),
    ("marker", "WTB", "wanted"),
]


@pytest.mark.parametrize(("kind", "text", "concept"), WRITTEN)
def test_what_sellers_write_is_a_label(
    vocabulary: Vocabulary, kind: str, text: str, concept: str
) -> None:
    assert carriers(vocabulary, kind, text) == {concept}


# --- what must be kept apart ---------------------------------------------------------------

# Opposites that a likeness of spelling would merge (Jaro-Winkler by Winkler's definition, from
# .874 to .971), and words of which one hides in the other.
APART = [
    ("bronze", "bronzed"),
    ("linen", "line"),
    ("restored", "unrestored"),
    ("silver", "silver plate"),
    ("ivory", "ivorine"),
    ("teal", "teak"),
    ("wine", "pine"),
    ("grass", "glass"),
    ("ivory", "hickory"),
    ("ivory", "ivory colour"),
    ("ivory", "ivory-coloured"),
    ("ivory", "French ivory"),
    ("ivory", "vegetable ivory"),
    ("silver", "German silver"),
    ("silver", "silver tone"),
    ("silver", "silvered"),
    ("gold", "rolled gold"),
    ("gold", "gold plated"),
    ("gold", "gold tone"),
    ("brass", "brass plated"),
    ("copper", "copper plated"),
    ("tortoiseshell", "faux tortoiseshell"),
    ("leather", "faux leather"),
    ("leather", "leatherette"),
    ("marble", "faux marble"),
    ("marble", "cultured marble"),
    ("bamboo", "faux bamboo"),
    ("oak", "oak effect"),
    ("mahogany", "mahogany stained"),
    ("ebony", "ebonised"),
    ("bronze", "spelter"),
    ("bronze", "gilt bronze"),
    ("mother of pearl", "faux mother of pearl"),
    ("pearl", "faux pearl"),
    ("jet", "French jet"),
    ("jade", "jade green"),
    ("amber", "amber glass"),
    ("opal", "opal glass"),
    ("crystal", "rock crystal"),
    ("Bakelite", "faux bakelite"),
    ("Britannia silver", "Britannia metal"),
    ("fur", "faux fur"),
    ("majolica", "maiolica"),
    ("satinwood", "satin walnut"),
    ("walnut", "satin walnut"),
]


@pytest.mark.parametrize(("one", "other"), APART)
def test_these_are_never_one_concept(vocabulary: Vocabulary, one: str, other: str) -> None:
    for kind in MINE:
        assert not carriers(vocabulary, kind, one) & carriers(vocabulary, kind, other), kind


IMITATIONS = [
    ("silver-plate", "silver"),
    ("nickel-silver", "silver"),
    ("silver-tone", "silver"),
    ("silvered", "silver"),
    ("rolled-gold", "gold"),
    ("gold-plate", "gold"),
    ("gold-tone", "gold"),
    ("gilded", "gold"),
    ("pinchbeck", "gold"),
    ("ormolu", "gold"),
    ("gilt-metal", "gold"),
    ("spelter", "bronze"),
    ("bronzed", "bronze"),
    ("brassed", "brass"),
    ("ivorine", "ivory"),
    ("faux-ivory", "ivory"),
    ("ivory-finish", "ivory"),
    ("coconut", "ivory"),
    ("faux-tortoiseshell", "tortoiseshell"),
    ("leatherette", "leather"),
    ("bonded-marble", "marble"),
    ("scagliola", "marble"),
    ("marbled-paint", "marble"),
    ("ebonised", "ebony"),
    ("grained", "wood"),
    ("faux-fur", "fur"),
    ("faux-pearl", "pearl"),
    ("french-jet", "jet"),
    ("faux-amber", "amber"),
    ("jade-imitation", "jade"),
    ("african-mahogany", "mahogany"),
    ("philippine-mahogany", "mahogany"),
    ("santos-rosewood", "rosewood"),
    ("paste-stone", "diamond"),
]


@pytest.mark.parametrize(("imitation", "real"), IMITATIONS)
def test_an_imitation_does_not_stand_under_what_it_imitates(
    vocabulary: Vocabulary, imitation: str, real: str
) -> None:
    assert vocabulary.has("material", real)
    assert real not in (imitation, *vocabulary.ancestors("material", imitation))


def test_an_imitation_raises_no_caution_of_the_real_thing(vocabulary: Vocabulary) -> None:
    for imitation, real in IMITATIONS:
        raised = set(vocabulary.cautions_of("material", imitation))
        barred = {"ivory", "marine-ivory", "tortoiseshell", "fur-and-skins", "rosewood"}
        assert not raised & set(vocabulary.cautions_of("material", real)) & barred, imitation


@pytest.mark.parametrize(
    ("material", "caution"),
    [
        ("ivory", "ivory"),
        ("mammoth-ivory", "ivory"),
        ("tortoiseshell", "tortoiseshell"),
        ("boulle", "tortoiseshell"),
        ("ivorine", "celluloid"),
        ("brazilian-rosewood", "rosewood"),
        ("uranium-glass", "uranium"),
    ],
)
def test_a_material_raises_its_caution(vocabulary: Vocabulary, material: str, caution: str) -> None:
    assert caution in vocabulary.cautions_of("material", material)


def test_a_real_misspelling_never_belongs_to_another_concept(vocabulary: Vocabulary) -> None:
    """codespell's list of misspellings and their corrections (GPL-2; used here, not copied)."""
    codespell_lib = pytest.importorskip("codespell_lib", reason="the list of misspellings")
    path = Path(codespell_lib.__file__).parent / "data" / "dictionary.txt"
    met, wrong = 0, []
    for line in path.read_text(encoding="utf-8").splitlines():
        misspelt, _, corrections = line.partition("->")
        right = [one.strip() for one in corrections.split(",") if one.strip()]
        for kind in MINE:
            ours = carriers(vocabulary, kind, misspelt)
            theirs = {one for word in right for one in carriers(vocabulary, kind, word)}
            met += bool(ours and theirs)
            if ours and theirs and not ours & theirs:
                wrong.append((kind, misspelt, ours, right))
    assert wrong == []
    assert met >= 10


# --- periods -------------------------------------------------------------------------------

RANGES = [
    # Common ranges of the styles; published sources disagree, so the row keeps its own (from
    # memory where no other is named).
    ("georgian", 1714, 1830),
    ("regency", 1800, 1830),
    ("federal", 1790, 1830),
    ("victorian", 1837, 1901),
    ("edwardian", 1901, 1910),
    ("arts-and-crafts", 1880, 1920),
    ("art-nouveau", 1890, 1914),
    ("art-deco", 1910, 1939),
    ("mid-century-modern", 1945, 1969),
    # Regnal years, from memory
    ("elizabethan", 1558, 1603),
    ("charles-i", 1625, 1649),
    ("queen-anne", 1702, 1714),
    ("george-i", 1714, 1727),
    ("george-ii", 1727, 1760),
    ("george-iii", 1760, 1820),
    ("george-iv", 1820, 1830),
    ("william-iv", 1830, 1837),
    ("george-v", 1910, 1936),
    ("george-vi", 1936, 1952),
    ("louis-xiii", 1610, 1643),
    ("louis-xiv", 1643, 1715),
    ("louis-xv", 1715, 1774),
    ("louis-xvi", 1774, 1792),
    ("louis-philippe", 1830, 1848),
    ("nicholas-ii", 1894, 1917),
    ("meiji", 1868, 1912),
    ("taisho", 1912, 1926),
    ("showa", 1926, 1989),
    ("edo", 1603, 1868),
    ("chinese-ming", 1368, 1644),
    ("chinese-qing", 1644, 1912),
    ("qing-kangxi", 1662, 1722),
    ("qing-qianlong", 1736, 1795),
    ("qing-guangxu", 1875, 1908),
]


@pytest.mark.parametrize(("period", "earliest", "latest"), RANGES)
def test_the_years_of_a_period(
    vocabulary: Vocabulary, period: str, earliest: int, latest: int
) -> None:
    concept = vocabulary.concept("period", period)
    assert (concept.earliest_year, concept.latest_year) == (earliest, latest)


def test_reigns_follow_each_other(vocabulary: Vocabulary) -> None:
    """No year without a king or emperor where the throne was never empty (from memory)."""
    for line in (
        ["george-i", "george-ii", "george-iii", "george-iv", "william-iv", "victorian",
         "edwardian", "george-v", "edward-viii"],
        ["louis-xiii", "louis-xiv", "louis-xv", "louis-xvi"],
        ["edo", "meiji", "taisho", "showa", "heisei"],
    ):  # fmt: skip
        reigns = [vocabulary.concept("period", one) for one in line]
        for before, after in itertools.pairwise(reigns):
            assert before.latest_year == after.earliest_year, (before.id, after.id)
    chinese = [one for one in vocabulary.concepts("period") if one.id.startswith("qing-")]
    for before, after in itertools.pairwise(chinese):
        # a Chinese reign title starts with the new year after the accession
        assert before.latest_year is not None
        assert after.earliest_year == before.latest_year + 1


def test_a_narrower_period_overlaps_its_broader_one(vocabulary: Vocabulary) -> None:
    for concept in vocabulary.concepts("period"):
        if concept.broader is None:
            continue
        above = vocabulary.concept("period", concept.broader)
        assert concept.earliest_year is not None and above.earliest_year is not None
        assert concept.latest_year is not None and above.latest_year is not None
        assert concept.earliest_year < above.latest_year, concept.id
        assert concept.latest_year > above.earliest_year, concept.id


def test_every_range_names_its_source(vocabulary: Vocabulary) -> None:
    for concept in vocabulary.concepts("period"):
        has_years = concept.earliest_year is not None
        assert bool(concept.extra["range_source"]) == has_years, concept.id


@pytest.mark.parametrize("word", ["antique", "vintage", "retro", "old"])
def test_words_that_claim_no_date_have_none(vocabulary: Vocabulary, word: str) -> None:
    concept = vocabulary.concept("period", word)
    assert (concept.earliest_year, concept.latest_year) == (None, None)
    assert "laims no date" in concept.scope_note
    assert carriers(vocabulary, "period", word) == {word}


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Regency", "French Regency"),
        ("Empire", "American Empire"),
        ("Queen Anne", "American Queen Anne"),
        ("Chippendale", "Chippendale Revival"),
        ("Gothic", "Neo-Gothic"),
        ("Rococo", "Rococo Revival"),
        ("Renaissance", "Renaissance Revival"),
        ("Baroque", "Neo-Baroque"),
        ("Regency", "Hollywood Regency"),
        ("Colonial", "Colonial Revival"),
        ("English Restoration", "Restauration"),
        ("Tudor", "mock tudor"),
    ],
)
def test_periods_of_like_names_are_apart(vocabulary: Vocabulary, one: str, other: str) -> None:
    first, second = carriers(vocabulary, "period", one), carriers(vocabulary, "period", other)
    assert first and second
    assert first != second


# --- condition, attribution, faults, markers -----------------------------------------------


def test_the_grades(vocabulary: Vocabulary) -> None:
    grades = {one.id: one.rank for one in vocabulary.concepts("condition")}
    assert grades == {
        "as_new": 1, "excellent": 2, "very_good": 3, "good": 4, "fair": 5, "poor": 6,
        "for_parts": 7, "used": None,
    }  # fmt: skip


def test_the_booksellers_grades_keep_their_order(vocabulary: Vocabulary) -> None:
    """AB Bookman's Weekly, 1949: as new, fine, very good, good, fair, poor."""
    ranks = []
    for grade in ("as new", "fine", "very good", "good", "fair", "poor"):
        (concept,) = carriers(vocabulary, "condition", grade)
        ranks.append(vocabulary.concept("condition", concept).rank)
    assert ranks == [1, 2, 3, 4, 5, 6]


@pytest.mark.parametrize("text", ["unknown", "not stated", "see description", "n/a", "ungraded"])
def test_what_states_no_grade_is_no_grade(vocabulary: Vocabulary, text: str) -> None:
    assert carriers(vocabulary, "condition", text) == set()


def test_the_attribution_ladder(vocabulary: Vocabulary) -> None:
    """The order of cataloguing glossaries, nearest first; their wording differs, the order not."""
    ladder = ["by", "attributed-to", "studio-of", "circle-of", "follower-of", "style-of",
              "manner-of", "after"]  # fmt: skip
    ranks = [vocabulary.concept("attribution", rung).rank for rung in ladder]
    assert all(rank is not None for rank in ranks)
    assert ranks == sorted(set(ranks), key=lambda rank: rank or 0)


@pytest.mark.parametrize(
    ("text", "band"),
    [
        ("attributed to", "period"),
        ("workshop of", "period"),
        ("circle of", "period"),
        ("follower of", "period"),
        ("of the period", "period"),
        ("in the style of", "style"),
        ("revival", "style"),
        ("manner of", "style"),
        ("after", "reproduction"),
        ("reproduction", "reproduction"),
        ("replica", "reproduction"),
        ("print after", "reproduction"),
        ("bears signature", "unknown"),
    ],
)
def test_the_band_an_attribution_belongs_to(vocabulary: Vocabulary, text: str, band: str) -> None:
    (concept,) = carriers(vocabulary, "attribution", text)
    assert vocabulary.concept("attribution", concept).extra["class"] == band


@pytest.mark.parametrize(
    ("text", "kind", "direction"),
    [
        # Directions: common practice, no source
        ("married", "alteration", "lowers"),
        ("refinished", "alteration", "lowers"),
        ("restored", "repair", "lowers"),
        ("replaced handles", "alteration", "lowers"),
        ("losses", "fault", "lowers"),
        ("chipped", "fault", "lowers"),
        ("hairline", "fault", "lowers"),
        ("crazing", "fault", "lowers"),
        ("foxing", "fault", "lowers"),
        ("ring marks", "fault", "lowers"),
        ("woodworm", "fault", "lowers"),
        ("riveted", "repair", "lowers"),
        ("monogram erased", "alteration", "lowers"),
        ("no lid", "completeness", "lowers"),
        ("no key", "completeness", "lowers"),
        ("untested", "fault", "lowers"),
        ("reupholstered", "alteration", "neutral"),
        ("original patina", "plus", "raises"),
        ("original finish", "plus", "raises"),
        ("original box", "plus", "raises"),
        ("signed", "plus", "raises"),
        ("with provenance", "plus", "raises"),
    ],
)
def test_the_direction_of_a_fault(
    vocabulary: Vocabulary, text: str, kind: str, direction: str
) -> None:
    (concept,) = carriers(vocabulary, "fault", text)
    extra = vocabulary.concept("fault", concept).extra
    assert (extra["kind"], extra["direction"]) == (kind, direction)


def test_a_plus_never_lowers_and_damage_never_raises(vocabulary: Vocabulary) -> None:
    for concept in vocabulary.concepts("fault"):
        kind, direction = concept.extra["kind"], concept.extra["direction"]
        assert not (kind == "plus" and direction == "lowers"), concept.id
        assert not (kind == "fault" and direction == "raises"), concept.id


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("job lot", "lot"),
        ("bundle", "lot"),
        ("pair of", "pair"),
        ("set of four", "set"),
        ("tea service", "set"),
        ("garniture", "set"),
        ("spares", "part"),
        ("frame only", "part"),
        ("movement only", "part"),
        ("box only", "empty_box"),
        ("empty box", "empty_box"),
        ("manual only", "empty_box"),
        ("wanted", "not_a_sale"),
        ("digital download", "not_a_sale"),
        ("a quantity of", "quantity_word"),
    ],
)
def test_the_kind_of_a_marker(vocabulary: Vocabulary, text: str, kind: str) -> None:
    (concept,) = carriers(vocabulary, "marker", text)
    assert vocabulary.concept("marker", concept).extra["kind"] == kind


def test_spares_or_repair_is_a_grade_and_no_part(vocabulary: Vocabulary) -> None:
    assert carriers(vocabulary, "condition", "spares or repair") == {"for_parts"}
    assert carriers(vocabulary, "marker", "spares or repair") == set()
    assert carriers(vocabulary, "condition", "parts only") == set()


def test_every_label_is_one_that_text_can_hold(vocabulary: Vocabulary) -> None:
    """A label is a phrase and not a sentence; the engine looks for at most eight words."""
    for kind in MINE:
        long = [label for label in vocabulary.labels(kind) if len(label.split()) > 8]
        assert long == [], kind


@pytest.mark.parametrize("kind", ["category", "material", "period", "fault"])
def test_no_short_form_makes_one_name_of_two_concepts(kind: str) -> None:
    """ "Bud vace" under vases was the name of bud vases once its spelling was mended."""
    vocabulary = Vocabulary.load()
    aliases = lexicon_for(vocabulary).aliases
    owners: dict[tuple[str, ...], set[str]] = defaultdict(set)
    for concept in vocabulary.concepts(kind):
        for label in (concept.pref_label, *concept.alt_labels, *concept.hidden_labels):
            owners[canonical(label, aliases)].add(concept.id)
    shared = {" ".join(words): ids for words, ids in owners.items() if len(ids) > 1}
    assert {k: v for k, v in shared.items() if vocabulary.ambiguity(kind, k) is None} == {}
