"""Titles as sellers, auction houses and museums write them, rule by rule."""

from __future__ import annotations

import csv
import random
from pathlib import Path
from typing import Any

import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.terms import titles as titles_module
from pipeline.terms.reader import read_terms
from pipeline.terms.titles import SCHEMA, read_titles


def read(title: str) -> dict[str, Any]:
    return read_titles(pa.array([title])).to_pylist()[0]


def accepted(title: str, kind: str) -> str | None:
    row = read(title)
    name = "condition" if kind == "condition" else f"{kind}_id"
    return row[name] if row[f"{kind}_status"] == "accepted" else None


@pytest.mark.parametrize(
    ("title", "category"),
    [
        # the head of the name, whatever stands before it
        ("vict. mahog chest drawers c1860 AF", "chest-of-drawers"),
        ("8 day mantle clock, spares", "mantel-clock"),
        ("Antique Wing Back Armchair, later upholstery", "wing-chair"),
        # what follows with, for, of, about is not the piece
        ("Box for a clock", "box"),
        ("Book about clocks", "book"),
        ("Print of a clipper ship", "print"),
        ("Teapot in the form of a cottage", "teapot"),
        ("A pair of brass candlesticks", "candlestick"),
        ("Madonna and Child, oil on canvas", "painting"),
        # names turned round or parted
        ("Wicker conservatory chair, cream", "wicker-chair"),
        ("Wall mirror, gilt frame, convex", "convex-mirror"),
        ("Set of 4 pressed glass wine glasses", "wine-glass"),
        ("Clock, mantel, oak", "mantel-clock"),
        ("Drawers, chest of", "chest-of-drawers"),
        ("Mantel Victorian clock", "mantel-clock"),
        ("Chest mahogany Victorian of drawers", "chest-of-drawers"),
        ("Nest of three teak coffee tables 1970s", "nest-of-tables"),
        ("Coal scuttle brass helmet shape", "coal-scuttle"),
        # a denied word does not take the thing with it
        ("Lead glass not lead crystal vase", "vase"),
    ],
)
def test_category_is_the_head(title: str, category: str) -> None:
    assert accepted(title, "category") == category


@pytest.mark.parametrize(
    ("title", "category"),
    [
        # under a leg
        ("oak armchair on casters", "armchair"),
        ("button back chair with brass castors", "chair"),
        ("mahogany Pembroke table with silver casters", "pembroke-table"),
        ("drinks trolley on castors", "tea-trolley"),
        ("set of 4 brass castors", "caster"),
        ("four ceramic furniture casters", "caster"),
        ("chair casters", "caster"),
        ("bed castors", "caster"),
        # for sugar
        ("silver caster", "sugar-caster"),
        ("George II silver castor, London 1735", "sugar-caster"),
        ("a set of three George II silver casters", "sugar-caster"),
        ("pair of silver casters", "sugar-caster"),
        ("EPNS caster", "sugar-caster"),
        ("baluster caster, silver", "sugar-caster"),
        ("glass sugar castor", "sugar-caster"),
        ("silver plated castor set", "condiment-set"),
        ("Georgian silver pepper caster", "pepper-pot"),
        # neither one without a further word
        ("caster", None),
        ("castor", None),
    ],
)
def test_casters_of_furniture_and_of_sugar(title: str, category: str | None) -> None:
    assert accepted(title, "category") == category


@pytest.mark.parametrize(
    ("title", "never"),
    [
        ("Clock key", "clock"),
        ("Lamp base", "lamp"),
        ("Doll house furniture", "furniture"),
        ("Dolls house chair", "chair"),
        ("Table linen", "table"),
        ("Carriage clock case only", "carriage-clock"),
        ("Chair caster set of four", "chair"),
        ("Stand shaped as a bell for vase", "vase"),
        ("Not a clock", "clock"),
        ("Victorian oak chest and table", "table"),
    ],
)
def test_what_only_stands_beside_is_not_accepted(title: str, never: str) -> None:
    assert accepted(title, "category") != never


@pytest.mark.parametrize(
    ("title", "material", "parts"),
    [
        ("Mantel clock, oak case, brass dial", "oak", ["brass"]),
        ("Oak chest with brass handles", "oak", ["brass"]),
        ("Brass mounted oak box", "oak", ["brass"]),
        ("Mahogany crossbanded table", "mahogany", []),
        ("Ivory inlaid rosewood box", "rosewood", ["ivory"]),
        ("Table, oak legs", None, ["oak"]),
        ("Wall lights brass twin arm", "brass", []),
        ("Chaise longue, mahogany frame, green velvet", "mahogany", ["velvet"]),
        ("Faux ivory box", None, []),
        ("Faux bamboo side table", None, []),
        ("Simulated rosewood sofa", None, []),
        ("Cruet set, cut glass, silver plate stand", "cut-glass", []),
        ("Ivory silk dress", "silk", []),
        ("Ivory coloured jug", None, []),
        ("Oak effect bookcase", None, []),
        ("Non-oak table", None, []),
        ("Table, not oak", None, []),
        ("Linen press", None, []),
        ("Card table, satinwood", "satinwood", []),
        ("Pine cone ornament", None, []),
        ("Silver jubilee mug", None, []),
        ("Painted pine cupboard", "pine", []),
        ("Marble top washstand, walnut", "walnut", ["marble"]),
        ("Rosewood and brass inlaid work table", "rosewood", []),
    ],
)
def test_whole_and_parts(title: str, material: str | None, parts: list[str]) -> None:
    row = read(title)
    got = row["material_id"] if row["material_status"] == "accepted" else None
    if material is None:
        assert got not in ("oak", "ivory", "linen", "pine", "silver", "card", "bamboo", "rosewood")
    else:
        assert got == material
    for part in parts:
        assert part in row["part_material_ids"] or part in row["material_ids"][1:]


@pytest.mark.parametrize(
    ("title", "kind", "status"),
    [
        # the years say that it is of the taste and not of the time
        ("Georgian mahogany desk c1930", "style", "accepted"),
        ("Regency mirror, 1950s", "style", "accepted"),
        ("Louis XV commode, late 19th century", "style", "accepted"),
        # a fashion outlives its reign, and a period is older than its last year
        ("Victorian chair c1910", "period", "accepted"),
        ("Victorian chair, 1850", "period", "accepted"),
        ("Georgian table, 18th century", "period", "accepted"),
        # it cannot be both
        ("Victorian table, 1780", "period", "review"),
        # work done later dates no piece
        ("Georgian chest, restored in 1990", "period", "accepted"),
    ],
)
def test_years_beside_a_period(title: str, kind: str, status: str) -> None:
    row = read(title)
    assert (row["attribution"], row["period_status"]) == (kind, status)


@pytest.mark.parametrize(
    ("title", "period", "is_style", "stands"),
    [
        ("Victorian oak chair", "victorian", False, "period"),
        ("Georgian style bureau bookcase", "georgian", True, "style"),
        ("Regency-style table", "regency", True, "style"),
        ("Arts&Crafts style lamp (repro)", "arts-and-crafts", True, "reproduction"),
        ("Oak chair c1860", None, False, "period"),
        ("Oak chair", None, False, "unknown"),
        ("Antique oak chair", "antique", False, "unknown"),
        ("Reproduction Georgian chair", "georgian", None, "reproduction"),
        ("Set of six chairs, after Tarelli", None, None, "reproduction"),
        ("Gothic Revival chair", "gothic-revival", False, "period"),
    ],
)
def test_period_and_how_the_piece_stands_to_it(
    title: str, period: str | None, is_style: bool | None, stands: str
) -> None:
    row = read(title)
    assert row["period_id"] == period
    if is_style is not None:
        assert row["period_is_style"] is is_style
    assert row["attribution"] == stands


@pytest.mark.parametrize(
    ("title", "kind"),
    [
        ("Victorian or Edwardian oak bookcase", "period"),
        ("Clock, probably Edwardian", "period"),
        ("Bronze, possibly spelter, horse", "material"),
        ("Rosewood? box", "material"),
        ("Box or casket", "category"),
        ("Bowl or basin", "category"),
        ("Clock or barometer", "category"),
    ],
)
def test_doubt_waits_for_a_person(title: str, kind: str) -> None:
    assert read(title)[f"{kind}_status"] == "review"


@pytest.mark.parametrize(
    ("title", "condition"),
    [
        ("Oak chest, good condition", "good"),
        ("A good George III oak chest", None),
        ("Victorian chair VGC", "very_good"),
        ("Fine china teapot", None),
        ("New York print", None),
        ("Vanity Fair print", None),
        ("Oak chair, poor", "poor"),
        ("Dressing table (mirror A/F)", None),
        ("Teapot, not good condition", None),
    ],
)
def test_a_grade_word_grades_only_beside_a_word_of_condition(
    title: str, condition: str | None
) -> None:
    assert accepted(title, "condition") == condition


@pytest.mark.parametrize(
    ("title", "there", "absent"),
    [
        ("Oak mantel clock, no cracks or chips", ["no-damage"], ["chips", "cracked"]),
        ("Teapot, chips to spout", ["chips"], ["no-damage"]),
        ("Chip free teapot", [], ["chips"]),
        ("Planes, wood worm free", [], ["worm"]),
        ("Chest, old repairs, restored", ["repair", "restored"], []),
        ("Chest, un-restored", [], ["restored"]),
        ("Stained oak box", [], ["stained"]),
    ],
)
def test_faults_and_their_denial(title: str, there: list[str], absent: list[str]) -> None:
    faults = read(title)["faults"]
    assert set(there) <= set(faults)
    assert not set(absent) & set(faults)


@pytest.mark.parametrize(
    ("title", "years"),
    [
        ("Oak chair c1860", (1855, 1865)),
        ("Chest No. 1850, oak", (None, None)),
        ("Print, edition 12/75", (None, None)),
        ("Table 24 x 36", (None, None)),
        ("Jug, early 19th century", (1800, 1825)),
        ("Tray sold for £1850", (None, None)),
        ("Vase 19472 blue", (None, None)),
    ],
)
def test_years_of_making(title: str, years: tuple[int | None, int | None]) -> None:
    row = read(title)
    assert (row["made_earliest"], row["made_latest"]) == years


TITLES = st.lists(
    st.sampled_from(
        [
            "oak",
            "mahogany",
            "Victorian",
            "Georgian",
            "style",
            "chair",
            "table",
            "clock",
            "mantel",
            ",",
            "with",
            "brass",
            "handles",
            "no",
            "chips",
            "good",
            "condition",
            "c1860",
            "box",
            "of",
            "for",
            "not",
            "faux",
            "key",
            "(repro)",
            "pair",
            "silver",
            "plate",
            "12",
            "&",
            "-",
        ]
    ),
    min_size=0,
    max_size=9,
).map(" ".join)


@pytest.mark.parametrize(
    "title",
    [
        "Sofa rug, wool embroidered on wool",  # two things, not known whole, of two families
        "Chair caddy, canvas",
        "Silk embroidered bell tent",
        "Leather case for opera glasses",  # a case is what it holds
        "Lady's pocket widget, silver topped bottles",  # the first clause names the piece
    ],
)
def test_part_of_an_unknown_name_waits_for_a_person(title: str) -> None:
    read = read_titles(pa.array([title])).to_pylist()[0]
    assert read["category_status"] == "review"


@pytest.mark.parametrize(
    ("title", "faults"),
    [
        ("Plate, no chips, cracks or repairs", ["no-damage"]),
        ("Plate, no cracks, chips, repairs", ["no-damage"]),
        ("Jug, no damage, crazed", ["crazing", "no-damage"]),
        ("Vase, no cracks, small chip to rim", ["chips", "no-damage"]),
        ("Clock, not running, lacks pendulum", ["missing-pendulum", "not-working"]),
    ],
)
def test_a_denial_reaches_as_far_as_its_list(title: str, faults: list[str]) -> None:
    assert sorted(read_titles(pa.array([title])).to_pylist()[0]["faults"]) == faults


def test_neighbours_of_one_text_change_nothing() -> None:
    rows = read_titles(pa.array(["chair oak chair"] * 3)).to_pylist()
    assert rows[0] == rows[1] == rows[2]


@settings(deadline=None, max_examples=50)
@given(st.lists(TITLES, min_size=1, max_size=6), st.randoms())
def test_one_title_does_not_depend_on_the_others(titles: list[str], random: Any) -> None:
    together = read_titles(pa.array(titles, pa.string())).to_pylist()
    order = list(range(len(titles)))
    random.shuffle(order)
    shuffled = read_titles(pa.array([titles[i] for i in order], pa.string())).to_pylist()
    assert [together[i] for i in order] == shuffled
    assert together[0] == read_titles(pa.array(titles[:1], pa.string())).to_pylist()[0]


# words that rules look for right before or right after others
BESIDE = (
    "1880 45 a after and box cane cracked for gilt hand handle ivory later lid lot maker no"
    " nothing of on or original pair part print seat style the unknown with"
)


def _pieces_of_titles() -> list[str]:
    """Stretches of real titles, cut with a fixed seed: they open and close with any word."""
    chance = random.Random(5)
    pieces: list[str] = []
    for path in sorted(Path(__file__).parent.glob("labelled_*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            for row in csv.DictReader(line for line in file if not line.startswith("#")):
                words = (row.get("title") or "").split()
                for _ in range(3 if words else 0):
                    first = chance.randrange(len(words))
                    pieces.append(" ".join(words[first : chance.randrange(first, len(words)) + 1]))
    once_wrong = ("of no key", "base new", "lot", "spares", "and gilt", "on copper", "wine glass,")
    return [*dict.fromkeys([*pieces, *once_wrong, "Map of Cornwall, hand coloured engraving,"])]


def test_no_word_of_the_titles_beside_it_is_read_into_a_title() -> None:
    pieces = _pieces_of_titles()
    assert len(pieces) > 1500

    def read_beside(word: str) -> list[dict[str, Any]]:
        # the title between two pieces opens and closes with the word
        rows = [
            text
            for number, piece in enumerate(pieces)
            for text in (f"{word} q{number} {word}", piece)
        ]
        return read_titles(pa.array([*rows, f"{word} q"])).to_pylist()[1::2]

    alone = read_beside("zzqx")
    for word in BESIDE.split():
        beside = read_beside(word)
        differ = [piece for piece, a, b in zip(pieces, alone, beside, strict=True) if a != b]
        assert not differ, f"beside {word!r}: {differ[:5]}"


@settings(deadline=None, max_examples=50)
@given(TITLES)
def test_case_and_spaces_change_nothing(title: str) -> None:
    plain = read_titles(pa.array([title, title.upper(), "  " + title.replace(" ", "   ")]))
    rows = plain.to_pylist()
    assert rows[0] == rows[1] == rows[2]


def test_chunks_change_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    titles = [
        f"Belle Époque oak clock {i}" if i % 2 else f"Pair of vases, c19{i % 90:02d}"
        for i in range(300)
    ]
    whole = read_titles(pa.array(titles)).to_pylist()
    monkeypatch.setattr(titles_module, "CHUNK_TITLES", 37)
    assert read_titles(pa.array(titles)).to_pylist() == whole
    assert read_titles(pa.chunked_array([titles[:120], titles[120:]])).to_pylist() == whole


def test_nothing_reads_as_nothing() -> None:
    table = read_titles(pa.array([None, "", " , - ", "qwx zzyy"], pa.string()))
    assert table.schema == SCHEMA
    assert table["category_id"].null_count == 4
    assert set(table["category_status"].to_pylist()) == {"none"}
    assert read_titles(pa.array([], pa.string())).num_rows == 0


@pytest.mark.parametrize(
    ("title", "column", "value"),
    [
        ("Sugar shaker, glass", "period_id", None),
        ("Shaker rocking chair, maple", "period_id", "shaker"),
        ("Dish, earthenware painted in blue, 1720", "material_id", "earthenware"),
        ("Oak chest bound with iron", "material_id", "oak"),
        ("Doll with wax head and cloth body", "material_id", "wax"),
        ("Pistol, walnut stock inlaid with bone", "material_id", None),
        ("Golf clubs, hickory, in canvas bag", "material_id", "hickory"),
        ("Letter, ink on paper, 1812", "category_id", "letter"),
        ("A mahogany chest, bow front, four long drawers", "category_id", "chest-of-drawers"),
        ("Cavalry sword, 1821 pattern", "made_earliest", None),
    ],
)
def test_what_a_catalogue_says_of_a_piece(title: str, column: str, value: str | None) -> None:
    """Common practice of cataloguers, no source: see LABELS.md."""
    row = read_titles(pa.array([title])).to_pylist()[0]
    assert row[column] == value


@pytest.mark.parametrize(
    ("title", "material"),
    [
        # an instrument lies in its case; a barometer and a clock are made of theirs
        ("Walnut cased sextant by a London maker", None),
        ("Rosewood flute, leather cased", "rosewood"),
        ("Mahogany cased barometer", "mahogany"),
        ("Oak cased wall clock", "oak"),
    ],
)
def test_a_case_that_holds_is_no_material_of_the_whole(title: str, material: str | None) -> None:
    """Common practice, no source."""
    assert accepted(title, "material") == material


@pytest.mark.parametrize(
    ("title", "status"),
    [
        ("Miniature silver chair, Dutch", "review"),
        ("Miniature mahogany bureau bookcase, 9 inches", "review"),
        ("Dutch silver coffee pot, miniature chairs on the lid", "accepted"),
        ("Mahogany armchair", "accepted"),
    ],
)
def test_furniture_made_small_waits_for_a_person(title: str, status: str) -> None:
    assert read(title)["category_status"] == status


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ("Vase. No report. Chips and hairline crack.", {"chips", "hairline"}),
        ("Vase. No cracks. No chips. Crazing", {"crazing"}),
        ("Vase. No chips, cracks or crazing", set()),
        ("Clock. No longer working.", {"not-working"}),
    ],
)
def test_a_denial_ends_with_its_sentence(text: str, faults: set[str]) -> None:
    assert set(read(text)["faults"]) - {"no-damage"} == faults


@pytest.mark.parametrize(
    ("title", "material"),
    [
        ("Lead glazed pottery figure of a dog", "ceramic"),
        ("Pottery floor vase with fat lava glaze, 1970s", "ceramic"),
        ("Porcelain vase, sang de boeuf glaze", "porcelain"),
        ("Textile, printed cotton, c1850", "cotton"),
        ("Bowl, earthenware, painted in lustre", "earthenware"),
        # where nothing else is named the glaze is what the title says
        ("Bowl, copper lustre", "lustre-glaze"),
        ("Silver lustre jug", "lustre-glaze"),
        # a way of making glass or weaving cloth is a finer name of it
        ("Glass decanter, cut glass", "cut-glass"),
        ("Textile panel, tapestry weave", "tapestry-weave"),
    ],
)
def test_what_lies_upon_a_substance_does_not_stand_for_it(title: str, material: str) -> None:
    read = read_titles(pa.array([title])).to_pylist()[0]
    assert (read["material_id"], read["material_status"]) == (material, "accepted")


@pytest.mark.parametrize(
    ("title", "materials"),
    [
        ("Royal Worcester blush ivory vase", {"ivory-finish"}),
        ("Jug, blush ivory, gilt handle", {"ivory-finish"}),
        ("Carved ivory jug", {"ivory"}),
        ("Painted pine jug", {"pine", "painted-finish"}),
    ],
)
def test_a_shade_of_ivory_names_no_ivory(title: str, materials: set[str]) -> None:
    read = read_titles(pa.array([title])).to_pylist()[0]
    assert set(read["material_ids"]) == materials


@pytest.mark.parametrize(
    ("title", "material"),
    [
        ("seed pearl crescent brooch, 9ct gold, Victorian", "gold-9ct"),
        ("Pearl and diamond ring, platinum", "platinum"),
        ("Seed pearl brooch", "pearl"),
    ],
)
def test_pearls_are_set_in_the_metal(title: str, material: str) -> None:
    """Common practice, no source."""
    assert accepted(title, "material") == material


@pytest.mark.parametrize(
    ("title", "material"),
    [
        ("Pair of hand coloured botanical engravings", "engraving"),
        ("Three etchings, framed", "etching"),
        ("Glass marbles", "glass"),
        ("Chestnut roaster, brass", "brass"),
        ("Rush nip, iron", "iron"),
        ("Figure group of card players", None),
        ("Whale tooth (resin reproduction)", "resin"),
        ("Fountain pen, gold nib 14k", None),
        ("Teddy bear mohair glass eyes", "mohair"),
        ("Valve radio in walnut case", "walnut"),
    ],
)
def test_words_that_name_a_substance_and_words_that_only_sound_so(
    title: str, material: str | None
) -> None:
    """Common practice, no source."""
    assert accepted(title, "material") == material


@pytest.mark.parametrize(
    ("title", "kind"),
    [
        ("Rack, magazine", "magazine-rack"),
        ("Pin, hat, silver", "hat-pin"),
        ("Lens, camera", "camera-lens"),
        ("Tea silver caddy", "tea-caddy"),
        ("Desk brass lamp", "desk-lamp"),
        ("Wine Victorian glass", "wine-glass"),
        ("Pair of boot racks", "boot-rack"),
        # its cover, its stopper and its stand are a name's own
        ("Ginger jar and cover", "ginger-jar"),
        ("Posset pot and cover", "posset-pot"),
        ("Scent bottle and stopper", "scent-bottle"),
        ("Display cabinet on stand", "display-cabinet"),
        ("Campaign chest of drawers", "campaign-chest"),
        # the second name is what the first one has
        ("Half plate camera brass lens", "camera"),
    ],
)
def test_names_whose_words_stand_apart(title: str, kind: str) -> None:
    assert accepted(title, "category") == kind


@pytest.mark.parametrize(
    ("title", "material"),
    [
        ("Gate leg oak table", "oak"),
        ("Ladder back ash chair", "ash"),
        ("Oak glazed corner cupboard", "oak"),
        ("Oak hand-carved chest of drawers", "oak"),
        ("Elm rail back chair", "elm"),
        ("Silver bracket footed salver", "silver"),
        ("Silver footed bowl", "silver"),
        ("Silk four panel screen", "silk"),
        ("Silver enamelled snuff box", "silver"),
        ("Baluster silver tankard", "silver"),
        ("Ring, stamped silver", "silver"),
        ("Bronze glass topped table", "bronze"),
        ("Mosque lamp, enamelled and gilded glass", "enamelled-glass"),
        ("A portrait in watercolour", "watercolour"),
        # of a part alone
        ("Brass handled basket", None),
        ("Cane, gold filled handle", None),
        ("Tabriz carpet, ivory field", None),
    ],
)
def test_words_of_form_between_a_stuff_and_its_thing(title: str, material: str | None) -> None:
    assert accepted(title, "material") == material


@pytest.mark.parametrize(
    ("text", "material"),
    [
        ("Feathers, silk", "feather"),
        ("Lacquer, gold", "lacquer"),
        ("Cloisonné enamel on copper", "cloisonne"),
        ("Tin-enameled earthenware", "tin-glazed-earthenware"),
        ("Champlevé enamel on gilt copper", "champleve"),
        ("Enamel, gold", "enamel"),
        # no name reaches over a comma, and "and" has an order
        ("Lead, crystal", "lead"),
        ("Gold; shell", "gold"),
        ("Silk and wool", "silk"),
    ],
)
def test_what_a_museum_names_first(text: str, material: str) -> None:
    """Common practice of museums, no source."""
    read = read_terms(pa.array([text]), "material").to_pylist()[0]
    assert (read["concept_id"], read["status"]) == (material, "accepted")


@pytest.mark.parametrize(
    ("title", "period"),
    [
        ("Gothic Revival style oak chair", "gothic-revival"),
        ("Oak chair in the Rococo Revival style", "rococo-revival"),
        ("Gothic style oak chair", "gothic"),
    ],
)
def test_a_revival_has_a_style_of_its_own(title: str, period: str) -> None:
    assert (read(title)["period_id"], read(title)["attribution"]) == (period, "style")


@pytest.mark.parametrize(
    ("title", "status"),
    [
        ("Assorted plate including cutlery, entrée dishes and a tray", "review"),
        ("Kettle and saw", "review"),
        ("Inkwell and a hammer", "review"),
        ("Vase and stand", "accepted"),
        ("Gold watch and chain", "accepted"),
    ],
)
def test_an_unlike_thing_after_and_makes_a_lot(title: str, status: str) -> None:
    assert read(title)["category_status"] == status


@pytest.mark.parametrize(
    ("title", "faults"),
    [
        ("Crock, bird decoration chip on rim", {"chips"}),
        ("Screen, six-fold, lacquer", set()),
        ("Enamel decoration chipped", {"paint-loss"}),
        ("Student lamp, green cased shade", set()),
        ("Camera, cased", {"boxed"}),
    ],
)
def test_what_a_chip_is_on_and_what_is_cased(title: str, faults: set[str]) -> None:
    assert set(read(title)["faults"]) == faults


@pytest.mark.parametrize(
    ("title", "kind"),
    [
        # the part that ends the name has a word of its own: it is said of the piece
        ("Mahogany bracket clock fusee movement silvered dial", "bracket-clock"),
        ("Slate mantle clock marble columns", "mantel-clock"),
        ("Brass carriage clock movement", "clock-movement"),
        # a name does not close with an adjective and its word: that tells of the piece
        ("Field glasses leather case", "binoculars"),
        ("Meerschaum pipe carved head", "pipe"),
        # a form, before the thing of that form
        ("Round pedestal claw foot dining table", "dining-table"),
        ("Pair of marble columns", "column"),
        # a word on the lot takes no word from a name
        ("Cigar box lot", "cigar-box"),
        # a people or a material, and a thing
        ("An Ottoman silver belt buckle", "buckle"),
        ("Ottoman footstool, velvet", "footstool"),
        ("A walnut and cane high back chair", "chair"),
        ("Malacca cane with silver top", "walking-stick"),
        # a palette and a bowl, no rose bowl
        ("A Chinese famille rose bowl", "bowl"),
        ("Silver rose bowl", "rose-bowl"),
        # what a table does
        ("Large oak farmhouse kitchen table seats 8", "farmhouse-table"),
    ],
)
def test_the_piece_is_told_from_what_describes_it(title: str, kind: str) -> None:
    """Common practice, no source."""
    row = read_titles(pa.array([title])).to_pylist()[0]
    assert (row["category_id"], row["category_status"]) == (kind, "accepted")


@pytest.mark.parametrize(
    "title", ["Lot 231: Pair of candlesticks", "LOT 14 - An oak coffer", "Lot no. 5 a chair"]
)
def test_the_number_of_a_lot_is_no_job_lot(title: str) -> None:
    """Common practice, no source."""
    assert "job-lot" not in read_titles(pa.array([title])).to_pylist()[0]["markers"]
    assert "job-lot" in read_titles(pa.array(["Job lot 12 spoons"])).to_pylist()[0]["markers"]


@pytest.mark.parametrize(
    ("title", "years"),
    [
        # a century in words beside a year, and any period beside one
        ("Seventeenth century oak chair 1680", (1680, 1680)),
        ("Settecento walnut commode c1786", (1781, 1791)),
        ("Bunka-Bunsei lacquer box c1815", (1810, 1820)),
        ("Queen Anne walnut chair 1905", (1905, 1905)),
        # what is faux or a revival is so in its clause
        ("Faux Bakelite bangle, large, c1935", (1930, 1940)),
        # signed, of, circa: beside a date or nothing
        ("Signed oil of a ship, 1887", (1887, 1887)),
        # the year of what was copied leaves the period's own years
        ("Meiji vase, copy of c1730 jar", (1868, 1912)),
        ("Georgian box in the fashion of c1770", (1714, 1830)),
        # a year that stands apart, whichever it is, with a serial number or without
        *(
            (f"Oak box c{year}{end}", (year - 5, year + 5))
            for year in (1801, 1699, 1945, 1850)
            for end in ("", " lid", " 48213", ", brass lid, 7")
        ),
    ],
)
def test_years_of_titles_stand_beside_any_words(title: str, years: tuple[int, int]) -> None:
    """Common practice, no source."""
    row = read_titles(pa.array([title])).to_pylist()[0]
    assert (row["made_earliest"], row["made_latest"]) == years


@pytest.mark.parametrize(
    ("title", "kind"),
    [
        ("Wind up gramophone table top oak horn", "gramophone"),
        ("Half plate mahogany camera brass lens", "camera"),
        ("Brass camera lens", "camera-lens"),
        ("Pair Georgian cut glass salts boat shaped", "salt-cellar"),
        ("Pair of silver sauce boats hoof feet", "gravy-boat"),
        ("Coalport coffee can & saucer", "cup-and-saucer"),
        ("Set of four coloured aquatints", "aquatint"),
    ],
)
def test_a_shape_and_a_part_are_no_piece(title: str, kind: str) -> None:
    """Common practice, no source."""
    row = read_titles(pa.array([title])).to_pylist()[0]
    assert (row["category_id"], row["category_status"]) == (kind, "accepted")
