"""What stands beside a word: quotation marks, a firm, a second piece, a price, a later hand.

The readings are those of a careful cataloguer: common practice, no source.
"""

from __future__ import annotations

import csv
from typing import Any

import pyarrow as pa
import pytest

from pipeline.terms.lexicon import Lexicon
from pipeline.terms.reader import read_terms
from pipeline.terms.titles import read_titles
from tests.bench.reading_score import LABELS


def title(text: str) -> dict[str, Any]:
    return read_titles(pa.array([text])).to_pylist()[0]


def accepted(text: str, kind: str) -> str | None:
    read = title(text)
    return read[f"{kind}_id"] if read[f"{kind}_status"] == "accepted" else None


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ('Stoneware flagon, stamped "Bell & Potter Vintners, Ely"', "stoneware-jug"),
        ("Pewter mug, engraved 'Crown and Anchor, Deptford'", "mug"),
        ('Tin sign "Lamp" with an arrow', "advertising-sign"),
        # a quotation that says what the piece is, and an inch's mark that opens none
        ("Jug, 'Toby jug', pearlware", "toby-jug"),
        ('Oak chest 40" wide, 20" high, with lid', "chest"),
    ],
)
def test_what_is_quoted_is_not_for_sale(text: str, kind: str) -> None:
    assert accepted(text, "category") == kind


@pytest.mark.parametrize(
    ("text", "material"),
    [
        ("Bowl by Harriet Glass (1921-1999), stoneware", "stoneware"),
        ("Foot warmer impressed Brass & Sons, Lambeth", None),
        ("Stoneware jar by J. Stone, Leeds", "stoneware"),
        ("Silver ladle by Thos. Pearl, Cork", "silver"),
        ("Bohemian glass, silver mounts", "glass"),
        ("Size N. Gold ring", "gold"),
        ("A 'tortoiseshell' bowl of the Song dynasty", None),
        ("A tortoiseshell box", "tortoiseshell"),
        ('"Sterling" spoon', "sterling-silver"),
    ],
)
def test_names_of_makers_and_of_glazes_are_no_stuff(text: str, material: str | None) -> None:
    assert accepted(text, "material") == material


@pytest.mark.parametrize(
    ("text", "material"),
    [
        ("Lacquer casket inlaid in mother-of-pearl", "lacquer"),
        ("Walnut table inlaid ivory, ebony", "walnut"),
        ("Basin, brass inlaid with silver", "brass"),
        ("Walnut inlaid mahogany box", "mahogany"),
        ("Chest painted in chrome yellow", "painted-finish"),
        ("Chrome teapot", "chrome-plated"),
        ("Folding screen, herons and pines, ink on paper", "ink-drawing"),
        ("Pine dresser", "pine"),
        ("Quilt in red and white cotton", "cotton"),
        ("Bolt of cloth, blue and white stripe", None),
        ("Blue and white vase", "blue-and-white"),
        ("Blue and white porcelain vase", "porcelain"),
        ("Rocking horse, horsehair mane", None),
        ("Trench art paper knife, shell brass", "brass"),
        ("Vase, painted enamel, China, Ming dynasty", "enamel"),
        ("Iron, box, brass, with slug", "brass"),
        ("Armchair. Carved beech; modern silk damask", "beech"),
        ("Plain table, recent elm top and elm legs", None),
        ("Marriage contract, ink on vellum", "vellum"),
        ("Jigsaw puzzle, engraving on mahogany", "mahogany"),
        ("Pie safe with punched tin panels, walnut", "walnut"),
        ("Dish; willow; c. 1840", None),
        ("Willow basket", "willow"),
    ],
)
def test_stuffs_beside_what_is_done_with_them(text: str, material: str | None) -> None:
    assert accepted(text, "material") == material


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Kitchenalia collection: graters, whisks, moulds", None),
        ("3 boxes china, glass, ornaments", None),
        ("Rosewood and pearl, fitted interior, lock stamped", None),
        ("Wallpaper covered hat box", "hat-box"),
        ("Rhinestone brooch flower basket", "brooch"),
        ("Brooch box", "jewellery-box"),
        ("Knight of Cups, card from an Italian pack", None),
        ("Harbour at dusk. Lithograph printed in colours, 1962", "lithograph"),
        ("An ebony and ivory cabinet, Goa", "cabinet"),
        ("Oak settle with lift seat. A handsome hall bench", "settle"),
    ],
)
def test_what_the_piece_is_and_what_it_is_not(text: str, kind: str | None) -> None:
    assert accepted(text, "category") == kind


@pytest.mark.parametrize(
    ("text", "years"),
    [
        ("Brooch, Arts & Crafts, c.1905. £75", (1900, 1910)),
        ("Chest, painted pine, 1905 £75", (1905, 1905)),
        ('Chest, painted pine, "Anna Miller 1789"', (1789, 1789)),
        ("Game board, pine, 19th C. 20 x 20", (1800, 1899)),
        ("Settee - beech - about 1805 - Regency", (1800, 1810)),
        ("Teapot, Boston, 1745. Mark of Gideon Potter", (1745, 1745)),
        ("Cauldron, dug from bog 1887. 16th-17th century", (1500, 1699)),
        ("Bench, date unknown, transferred 1958", (None, None)),
        ("Jug printed with the iron bridge (opened 1796); about 1850", (1845, 1855)),
        ("Mezzotint. Painting 1740s; this print 1751", (1751, 1751)),
        ("Sampler by Ann Miller aged 9 1843", (1843, 1843)),
        ("Sugar nippers on turned base (base later). c 1790 - 1810", (1785, 1815)),
        ("Seed catalogue 1898", (1898, 1898)),
        ("Lounge chair, later copy, Italian, 1980s", (1980, 1989)),
        ("Wood engraving, barn owl, 1948 12/75", (1948, 1948)),
        ("1992.4.17 Gas mask. 1938-1940", (1938, 1940)),
        ("Pen box, signed, dated 1267 [1850-51]", (1850, 1851)),
        ("Ottoman stool, 70s", (1970, 1979)),
    ],
)
def test_years_beside_prices_marks_and_events(
    text: str, years: tuple[int | None, int | None]
) -> None:
    read = title(text)
    assert (read["made_earliest"], read["made_latest"]) == years


@pytest.mark.parametrize(
    ("before", "text"),
    [
        ("Walnut table inlaid ivory", "Ebony box"),
        ("Oak chest, inlaid", "Engraved ivory plaque"),
        ("Walnut chest, inlaid", "In ivory, a box"),
        ("Pearl inlaid", "With care: silver spoon"),
        ("Hat of black fur", "Die Uhr, clock"),
        ("Brass table lamp", '"Bowl" by a pupil, porcelain vase'),
        ("Portrait of J. Wood", "And sons, a silver spoon"),
        ("Christmas ornaments pin tin", "Frame"),
    ],
)
def test_no_title_is_read_by_its_neighbour(before: str, text: str) -> None:
    beside = read_titles(pa.array([before, text, before])).to_pylist()
    assert beside[1] == title(text)
    assert beside[0] == beside[2] == title(before)


@pytest.mark.parametrize(
    ("text", "material"),
    [
        ("Tapestry woven in wools and silks", "wool"),
        ("Sampler worked in silks on linen", "silk"),
        ("Album quilt, appliquéd cottons", "cotton"),
        ("Canvas work cushion, wool and silk", "wool"),
        ("Oak press cupboard", "oak"),
        ("Brass wool weight", "brass"),
        ("Cast iron straw dispenser", "cast-iron"),
        ("Ivory paper knife", "ivory"),
        ("Leather dresser set", "leather"),
        # what a tool is for
        ("Coconut grater", None),
        ("Wool comb with steel teeth", None),
        ("Wood burner", None),
        ("Bone crusher", None),
    ],
)
def test_stuffs_in_the_plural_and_stuffs_that_are_worked(text: str, material: str | None) -> None:
    assert accepted(text, "material") == material


def test_every_word_that_a_rule_looks_for_is_a_word_of_the_lexicon(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A word that has no number is never seen, so its rule would be dead without a sign."""
    unknown: set[str] = set()
    known = Lexicon.words_in

    def watched(self: Lexicon, words: frozenset[str]) -> Any:
        unknown.update(word for word in words if word not in self.words)
        return known(self, words)

    monkeypatch.setattr(Lexicon, "words_in", watched)
    with (LABELS / "labelled_wide.csv").open(encoding="utf-8", newline="") as file:
        texts = [row["text"] for row in csv.DictReader(file) if row["part"] == "tune"]
    read_titles(pa.array(texts))
    for kind in ("category", "material", "period", "condition", "attribution"):
        read_terms(pa.array(texts[:100]), kind)
    assert unknown == set()


@pytest.mark.parametrize(
    ("text", "kind", "material"),
    [
        ("Basket of split willow", "basket", "willow"),
        ("Box of carved walnut", "box", "walnut"),
        ("Jar of blue glass", "jar", "coloured-glass"),
        ("Jar of marbles", "marbles", None),
        ("Box of oak offcuts", None, "oak"),
        ("Pair of vases made from brass shell cases", "vase", "brass"),
        ("Sofa in hand-dyed chestnut leather", "sofa", "leather"),
        ("Poster on silk, 1924", "poster", "silk"),
        ("Sea chart, engraved, backed on blue linen", "nautical-chart", None),
        ("Landscape with cows in oils", "painting", "oil-paint"),
        ("Lithograph, signed in pencil", "lithograph", "lithograph"),
        ("Toby jug seated man w/ pipe & ale pearlware Georgian", "toby-jug", "pearlware"),
        ("Carpet with wool pile and cotton weft", "rug", "wool"),
        ("Dagger, steel blade, horn hilt", "dagger", "steel"),
        ("Radio in walnut cabinet", "radio", "walnut"),
        ("Coffee mill, walnut box, iron crank", "coffee-grinder", "walnut"),
        ("Side drum, brass shell", "drum", "brass"),
        ("Bowl turned from a single piece of yew", "bowl", "yew"),
        ("Walnut shelf mantel clock", "mantel-clock", "walnut"),
        ("Table lamp, leaded glass shade, bronze base", "table-lamp", "bronze"),
        ("Bust, ceramic glazed white", "bust", "ceramic"),
    ],
)
def test_what_leads_to_the_stuff(text: str, kind: str | None, material: str | None) -> None:
    assert (accepted(text, "category"), accepted(text, "material")) == (kind, material)


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Soroban or abacus, Japanese", "abacus"),
        ("Argyle, or gravy warmer, creamware", "argyle"),
        ("Clock or barometer", None),
        ("Bleeding bowl or porringer? Pewter", None),
        ("Credenza / sideboard, walnut", "credenza"),
        # told by the words beside them
        ("Walnut bureau, the slope enclosing drawers", "bureau"),
        ("Davenport, piano top, burr walnut", "davenport-desk"),
        ("Davenport three seater in green velvet", "sofa"),
        ("Caster, one of three, silver", "sugar-caster"),
        ("Set of four brass castors", "caster"),
        ("Davenport, walnut", None),
        # what holds or shows other things
        ("Etui in shagreen, fitted. Scissors, pencil and bodkin", "etui"),
        ("Woodcut in ochre. The sibyl reading, a child holding a torch", "woodcut"),
        ("Kettle, trivet and bellows", None),
    ],
)
def test_one_thing_by_two_names_and_several_things(text: str, kind: str | None) -> None:
    assert accepted(text, "category") == kind
