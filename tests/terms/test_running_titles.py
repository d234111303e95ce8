"""Titles without commas, titles of several sentences, and what is only said of the piece.

Common practice of sellers, dealers and museums, no source; every title is invented.
"""

from __future__ import annotations

from typing import Any

import pyarrow as pa
import pytest

from pipeline.terms.cautions import find_cautions
from pipeline.terms.reader import read_terms
from pipeline.terms.titles import read_titles


def read(title: str) -> dict[str, Any]:
    return read_titles(pa.array([title])).to_pylist()[0]


def accepted(title: str, kind: str) -> str | None:
    row = read(title)
    return row[f"{kind}_id"] if row[f"{kind}_status"] == "accepted" else None


@pytest.mark.parametrize(
    ("title", "category"),
    [
        # the piece first, then what it is like
        ("Rocking horse grey wooden bow rocker repainted mane", "rocking-horse"),
        ("Chess set ebony and boxwood in box with king 9cm", "chess-set"),
        ("Spinning wheel maple with flyer and bobbin missing", "spinning-wheel"),
        ("Hand mirror silver cherub frame London 1904", "hand-mirror"),
        # but a second piece, and a figure that carries a lamp, are left to a person
        ("Oak armchair and footstool", None),
        ("Bronze dancer figure marble base table lamp", None),
        # a pattern, a part of another kind's name, how it was printed
        ("Cotton quilt wedding ring pattern hand sewn", "quilt"),
        ("Walnut jewellery box mirror lid velvet lined", "jewellery-box"),
        ("Elm windsor chair saddle seat c1830", "windsor-chair"),
        ("Clockwork tin toy litho fire engine", "tin-toy"),
        # what drives, holds or surrounds it
        ("Slate mantel clock key wind striking", "mantel-clock"),
        ("Photograph frame easel back silver", "picture-frame"),
        ("Celluloid fountain pen gold nib lever fill", "fountain-pen"),
        ("Illustrated book plates by a local artist 1890", "book"),
        ("Patchwork quilt 1880s double bed", "quilt"),
        # a material named after the thing is no word of its name
        ("Anvil steel 60 lb", "anvil"),
        ("Rug wool 5ft x 3ft", "rug"),
        ("Music box wood inlaid lid", "music-box"),
        ("Tobacco pipe clay long stem", "pipe"),
        # a part alone, and a part named with its whole and with more to tell
        ("Longcase clock dial only", "clock-dial"),
        ("Wall clock pendulum striking on a gong", None),
        # another language's name, a native name in brackets
        ("Art Nouveau Aschenbecher, ashtray, pewter", "ashtray"),
        ("Writing box (suzuribako) with cranes, lacquer", "suzuribako"),
        ("Vase (one of a garniture of five), porcelain", "vase"),
        ("Watch (box), silver", "watch"),
        # what a picture is drawn in
        ("Head of an old man, black chalk, about 1620", "drawing"),
        ("The ford at dusk, watercolour, signed", "watercolour"),
        ("Dress with beads, charcoal", "dress"),
        # a pair of what, and a name that holds another
        ("Pair of giltwood pier glasses", "pier-mirror"),
        ("Lloyd Loom linen basket painted white", "laundry-basket"),
        ("Paire de flambeaux, bronze", "candlestick"),
        # a hyphen makes another name of the word
        ("Lisle-type papier-mache tray, gilt flowers", "tray"),
        ("Travelling chest-type leather cabin trunk", "trunk"),
        ("Seven pocket compasses, various", "compass"),
    ],
)
def test_the_piece(title: str, category: str | None) -> None:
    assert accepted(title, "category") == category


@pytest.mark.parametrize(
    ("title", "material"),
    [
        # sentences: a short word with a full stop ends one unless it is short for another
        ("Incense burner as a lion. Bronze, cast and engraved", "bronze"),
        ("Needle case with a bird. Gold, enamel, about 1780", "gold"),
        ("Vict. mahog. chest", "mahogany"),
        # details further on are not the piece
        ("Pewter jug. Cracking to the enamel of the badge", "pewter"),
        ("Rocking horse, dapple grey. New mane and tail of horsehair", None),
        ("Silk robe with a design of maple leaves", "silk"),
        ("Cherry blossom vase, porcelain", "porcelain"),
        ("Doorstop of a sleeping dog in cast iron", "cast-iron"),
        ("Square piano. Mahogany case, ivory and ebony keys", "mahogany"),
        ("Work box mahogany inlaid satinwood", "mahogany"),
        ("Ivory inlaid rosewood box", "rosewood"),
        ("Nursing chair walnut button back pink velvet", "walnut"),
        ("Garden gnome concrete painted", "concrete"),
        ("Georgian leather fire bucket", "leather"),
        ("Suzani, silk embroidery on cotton", "silk"),
        ("Wristwatch marcasite silver 1930s", "silver"),
        ("Onyx and brass mantel clock", "onyx"),
        # gold by its carats, and what is laid on a pot
        ("15ct gold and seed pearl bar brooch", "gold-15ct"),
        ("10k gold signet ring", "gold-10k"),
        ("1/5 14k rolled gold watch fob", "rolled-gold"),
        ("22k gold rimmed dinner plate", None),
        # stuffs with a name of their own
        ("Crocodile handbag 1950s", "reptile-skin"),
        ("Rhino horn libation cup", "rhinoceros-horn"),
        ("Ruby glass claret jug", "ruby-glass"),
        ("Black basalt teapot, about 1800", "basalt-ware"),
        ("Head of a queen, basalt", "basalt"),
        ("Kauri dresser with two drawers", "kauri"),
        ("Silky oak bookcase", "silky-oak"),
    ],
)
def test_the_material_of_the_whole(title: str, material: str | None) -> None:
    assert accepted(title, "material") == material


def test_what_a_law_protects_carries_its_caution_from_a_field_too() -> None:
    """A column of materials says it in a word that no phrase of a caution holds."""
    texts = pa.array(["Handbag, 1950s", "Cup on stand"])
    materials = [read_terms(pa.array([text]), "material") for text in ("crocodile", "rhino horn")]
    ids = pa.array([table["concept_id"].to_pylist() for table in materials])
    told = find_cautions(texts, material_ids=ids).to_pylist()
    assert "taxidermy" in told[0] and "rhino-horn" in told[1]


@pytest.mark.parametrize(
    ("text", "material", "status"),
    [
        # what nobody knows is named first: a person decides
        ("pitpit, shell", "shell", "review"),
        ("pitpit and gold", "gold", "review"),
        ("tooled, gilt leather", "leather", "accepted"),
        ("cotton, pitpit", "cotton", "accepted"),
        ("walnut & burr walnut veneer", "walnut", "accepted"),
        ("stained glass/lead", "stained-glass", "accepted"),
        ("opaque watercolor and gold on paper", "gouache", "accepted"),
        ("gelatin dry plate", "photograph", "accepted"),
        ("metalpoint on prepared paper", "silverpoint", "accepted"),
        ("cedar bark", "bark", "accepted"),
    ],
)
def test_mediums(text: str, material: str, status: str) -> None:
    row = read_terms(pa.array([text]), "material").to_pylist()[0]
    assert (row["concept_id"], row["status"]) == (material, status)


@pytest.mark.parametrize(
    ("text", "category"),
    [
        ("Glassware - Decanter", "decanter"),
        ("FURNITURE/TABLES/COFFEE", "coffee-table"),
        ("Silver » Flatware » Spoons", "spoon"),
        ("Kitchenalia: Jelly moulds", "jelly-mould"),
        ("lamp, table", "table-lamp"),
        ("lamp table", "occasional-table"),
        ("Carriage clock w/ case", "carriage-clock"),
    ],
)
def test_paths_and_turned_names(text: str, category: str) -> None:
    row = read_terms(pa.array([text]), "category").to_pylist()[0]
    assert (row["concept_id"], row["status"]) == (category, "accepted")


@pytest.mark.parametrize(
    ("title", "faults", "never"),
    [
        ("Copper log bin with riveted seams", set(), {"rivet-repair"}),
        ("Creamware plate, riveted", {"rivet-repair"}, set()),
        ("Stick barometer, tube refilled", set(), {"restuffed-toy"}),
        ("Porcelain figure of a shepherd, left hand missing", {"losses"}, {"missing-pendulum"}),
        ("Oak coffer with chip carved roundels", set(), {"chips"}),
        ("Roundel, clear glass, paint and silver stain", set(), {"stained"}),
        ("Tapestry, wool warp and silk weft", set(), {"warped"}),
        ("Gilt mirror, later plate", {"replaced-glass"}, {"re-plated"}),
        ("Pair of vases, now mounted as lamps", {"converted"}, set()),
        ("Oak armchair. One stretcher replaced", {"replaced-part"}, {"relined"}),
        ("Dresser, rack new", {"replaced-part"}, set()),
        ("Windsor chair, wobbly, needs gluing", {"loose"}, {"glued"}),
        ("County map, fold reinforced", {"repair"}, {"wood-reinforcement"}),
        ("Not a reproduction. Ear chipped", {"chips"}, set()),
        ("Novel in three volumes, half calf, foxed plates", {"foxing"}, {"silvering-loss"}),
        ("Dutch marquetry bureau, some lifting to veneers", {"veneer-loss"}, set()),
        ("Steel smoothing plane with rosewood infill", set(), {"overpainted"}),
    ],
)
def test_faults_of_dealers_prose(title: str, faults: set[str], never: set[str]) -> None:
    told = set(read(title)["faults"])
    assert faults <= told, told
    assert not never & told, told


@pytest.mark.parametrize(
    ("title", "category"),
    [
        # of which form the next thing is, and how many there are
        ("Comb-back armchair, painted black", "armchair"),
        ("Five bottle silver plated cruet stand", "condiment-set"),
        # toys by what they are made of, dolls' houses by what stands in them
        ("A tinplate clockwork motor car", "toy-vehicle"),
        ("Dolls house furniture dining table and chairs oak", "dolls-house-furniture"),
        # a word that belongs to the piece named before it
        ("Glass rummer bucket bowl lemon squeezer foot", "drinking-glass"),
        ("Pottery tobacco jar relief of huntsmen", "tobacco-jar"),
        # a shade alone is a shade
        ("Leaded glass lamp shade only", "lamp-shade"),
        # of several sorts, and of parts for spares, a person has to say
        ("Chisels, oil cans, vices", None),
        ("Barometer brass bezel spare part", None),
    ],
)
def test_what_is_sold_and_what_is_said_of_it(title: str, category: str | None) -> None:
    assert accepted(title, "category") == category


@pytest.mark.parametrize(
    ("title", "years"),
    [
        ("Prayer rug, third quarter of the nineteenth century", (1850, 1875)),
        ("Mohair bear in the old style, jointed, 1950s", (1950, 1959)),
        ("Pearlware jug, handle restored, c. 1810", (1805, 1815)),
        ("Teak trolley 1960s water mark", (1960, 1969)),
        ("Bowl, Qianlong mark", (None, None)),
    ],
)
def test_years_beside_words_of_style_and_repair(
    title: str, years: tuple[int | None, int | None]
) -> None:
    row = read(title)
    assert (row["made_earliest"], row["made_latest"]) == years


@pytest.mark.parametrize(
    ("title", "period"),
    [
        ("Bowl grape pattern marigold vintage no chips or cracks", "vintage"),
        ("Oak table with later antique handles, two leaves, sound", None),
        ("An old Sheffield plate argyle", None),
        ("Art deco table lamp, spelter", "art-deco"),
    ],
)
def test_words_for_age_in_a_run_of_keywords(title: str, period: str | None) -> None:
    assert accepted(title, "period") == period


@pytest.mark.parametrize(
    ("title", "faults"),
    [
        ("Clock, requires a new mainspring", []),
        ("Chair, needs new webbing", []),
        ("Clock with new mainspring", ["replaced-movement"]),
        ("Tin vases with paper flowers", []),
        ("Square piano in a crossbanded mahogany case", []),
        ("Silver napkin ring engraved initials", []),
    ],
)
def test_what_is_asked_for_is_not_there_yet(title: str, faults: list[str]) -> None:
    assert read(title)["faults"] == faults


@pytest.mark.parametrize(
    ("title", "category"),
    [
        # the same name in another language, misspelt to us or unknown
        ("Pendule de voyage, carriage clock, gilt metal", "carriage-clock"),
        ("Moulin à café, coffee grinder, cast iron", "coffee-grinder"),
        ("Waage, scales, cast iron, um 1890", "scales"),
        ("Kompass, compass, brass", "compass"),
        # a medium with the word painting behind it
        ("Oil on canvas painting still life", "painting"),
        # what a piece is said to have or to be like
        ("Bakelite radio tabletop untested", "radio"),
        ("Amish quilt wedding ring king size", "quilt"),
        ("Sewing machine decals cast iron", "sewing-machine"),
        ("Carved bog oak brooch Irish harp shamrock", "brooch"),
        # three English words of which nobody knows one are a name of their own
        ("Gift of a friend, teapot, silver", None),
    ],
)
def test_names_in_two_tongues_and_names_told_twice(title: str, category: str | None) -> None:
    assert accepted(title, "category") == category
