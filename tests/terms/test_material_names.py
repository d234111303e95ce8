"""Numbers and names that sound like stuffs, and stuffs that stand beside the piece's own.

Common practice in the trade, no source. The examples are ours; a second line of each pair says
where the rule has to stop.
"""

from __future__ import annotations

import pyarrow as pa
import pytest

from pipeline.terms.titles import read_titles


def materials(text: str) -> tuple[object, object]:
    """The stuff of the piece (None unless accepted), and those of the whole."""
    row = read_titles(pa.array([text])).to_pylist()[0]
    return row["material_id"] if row["material_status"] == "accepted" else None, row["material_ids"]


@pytest.mark.parametrize(
    ("text", "material"),
    [
        # years of three figures are no marks of gold and silver
        ("Amphora, c. 585 BC", None),
        ("Bowl, c. 750-800 CE, earthenware", "earthenware"),
        ("Vessel, Maya, 600-750", None),
        ("Relief, 750 A.D.", None),
        ("Bust, 925", None),
        ("Torc, gold, 750-600 BC", "gold"),
        ("Ring, c. 1920, 750", "gold-18ct"),
        ("Ring, 750, size N", "gold-18ct"),
        ("Bracelet stamped 585", "gold-14ct"),
        ("Spoon, 925", "sterling-silver"),
        ("Photo frame 925", "sterling-silver"),
        # the blade of a dagger before what its hilt is set with
        ("Dagger; steel blade, rubies, gold", "steel"),
        ("Dagger; hilt: nephrite; blade: steel", "steel"),
        ("Hunting sword, steel blade, brass, staghorn", "steel"),
        ("Jade dagger, steel blade", "jade"),
        ("Silver fruit knife, steel blade", "silver"),
        # a country
        ("China medal", None),
        ("Map of China", None),
        ("China, Qing dynasty, jade bowl", "jade"),
        ("China, robe, silk", "silk"),
        ("China dog", "china"),
        ("Jug, china", "china"),
        # a gun's, or a firm's
        ("Shell, 18 pounder, inert", None),
        ("Shell, 75 mm", None),
        ("Shell petrol can", None),
        ("Shell, conch", "shell"),
        ("Shell cameo brooch", "shell"),
        # people and models
        ("Ivory Smithers, a bowl", None),
        ("Ash Brown, a glass bowl", "glass"),
        ("Denim Jonson, a lamp", None),
        ("H J Wood vase", None),
        ("H.J. Wood jug", None),
        ("Wood, J. landscape", None),
        ("Wood, Christopher. Boats", None),
        ("Ash chair, a pair", "ash"),
        ("Ivory netsuke, a rat", "ivory"),
        ("'China' chair", None),
        ("'Pine' carpet", None),
        ("'Cherry' vase, glass", "glass"),
        ("'Rosewood' table", "rosewood"),
        ("Cork, Ireland, silver ladle", "silver"),
        ("Cup and saucer, bleu lapis", None),
    ],
)
def test_numbers_and_names_are_no_stuffs(text: str, material: str | None) -> None:
    assert materials(text)[0] == material


@pytest.mark.parametrize(
    ("text", "material"),
    [
        # what a tool works on, a holder holds, a stand carries
        ("Wood lathe cast iron", "cast-iron"),
        ("Wood vice", None),
        ("Wood mallet", "wood"),
        ("Flat iron stand, brass", "brass"),
        ("Iron holder, cotton", "cotton"),
        ("Iron plant stand", "iron"),
        ("Fire iron, steel", "steel"),
        ("Cloth seal, lead", "lead"),
        ("Seal, cloth, lead", "lead"),
        ("Wool card, wood and wire", "wood"),
        ("Card index drawers oak", "oak"),
        ("Card case ivory", "ivory"),
        ("Tin old buttons", None),
        ("Biscuit tin of buttons", None),
        # some pieces of a lot
        ("Hat pins x 8 one silver", None),
        ("Rings x3 two gold", None),
        ("Watches one gold plated", None),
        ("Set of 6 chairs, one oak", None),
        ("One gold ring", "gold"),
        ("Chairs, two oak", "oak"),
        # a print on it, the tin it lies in, what a pattern book shows
        ("Broadside, woodcut at head", None),
        ("Sheet music with lithographed cover", None),
        ("Poster, lithograph", "lithograph"),
        ("Cap badge in japanned tin", None),
        ("Thermometer in silver case", None),
        ("Wall thermometer in mahogany case", "mahogany"),
        ("Pattern book, lace", None),
        # skins, dressed or with the hair on
        ("Masonic apron, lambskin", "leather"),
        ("Coat, lambskin", "fur"),
        ("Goatskin rug", "fur"),
        ("Cow hide rug", "fur"),
        ("Deerskin throw", "fur"),
        ("Cowhide bag", "leather"),
        ("Leather rug", "leather"),
    ],
)
def test_stuffs_of_something_beside_the_piece(text: str, material: str | None) -> None:
    assert materials(text)[0] == material


@pytest.mark.parametrize(
    ("text", "material"),
    [
        ("Tapestry, wool weft, silk", "wool"),
        ("Necklace, glass beads", "glass"),
        ("Broad collar, faience beads", "faience"),
        ("Purse, silk, glass beads", "silk"),
        ("Pair of buckles, silver and paste", "silver"),
        ("Dress, silk and paste", "silk"),
        ("Folding fan, painted vellum leaf, tortoiseshell sticks", "vellum"),
        ("Fan, paper leaf, ivory sticks", "paper"),
        ("Bowl, mosaic glass canes", "millefiori"),
        ("Length of dress silk, brocaded", "silk"),
        ("Hatbox, wallpaper on pasteboard", "card"),
    ],
)
def test_threads_beads_and_leaves(text: str, material: str | None) -> None:
    assert materials(text)[0] == material


def test_an_inlay_of_metal_is_none_of_wood() -> None:
    assert materials("Tsuba. Made of iron. Inlaid in brass.") == ("iron", ["iron"])


@pytest.mark.parametrize(
    ("text", "material"),
    [
        # the stuff behind the piece, and a word of its form or fittings
        ("Basket wicker lidded", "wicker"),
        ("Log basket copper riveted", "copper"),
        ("Box ebony inlaid", "ebony"),
        ("Tray mahogany handled", "mahogany"),
        ("Cabinet pine wall hanging", "pine"),
        ("Wardrobe with mirror oak", "oak"),
        ("Bathroom cabinet with mirror 1950s metal", "metal"),
        ("Jug silver lidded", None),
        ("Tankard stoneware pewter lidded", "stoneware"),
        ("Basket silver handled", None),
        ("Box with lid wooden", None),
        ("Lamp with shade brass", None),
        # gilt behind the piece, and a date or a shape
        ("Mirror gilt 1960s", "gilded"),
        ("Mirror oval gilt", "gilded"),
        ("Clock gilt dial", None),
        ("Cup gilt rim", None),
    ],
)
def test_a_stuff_behind_the_piece(text: str, material: str | None) -> None:
    assert materials(text)[0] == material


@pytest.mark.parametrize(
    ("text", "material"),
    [
        # words of what a picture shows and a record is called; beasts and shades
        ("Silk mill print", None),
        ("Paper Moon poster", None),
        ("Suede LP", None),
        ("Silk embroidered postcard", "silk"),
        ("Leather bound book", "leather"),
        ("Silk escape map", "silk"),
        ("Woodcut print", "woodcut"),
        ("Ermine print", None),
        ("Chinchilla figurine", None),
        ("Ermine cape", "fur"),
        ("Mahogany dress", None),
        ("Gunmetal dress", None),
        ("Gunmetal watch", "gunmetal"),
    ],
)
def test_what_is_shown_is_no_stuff(text: str, material: str | None) -> None:
    assert materials(text)[0] == material
