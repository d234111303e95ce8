"""What people said and decided in the demo: source.toml, settings, decisions, the round of 40."""

from __future__ import annotations

import re
import unicodedata

from tests.demo import words
from tests.demo.files import german
from tests.demo.model import kinds

README = """\
The demo
========

Everything in this folder is invented: the firms, the people, the places, the makers, the pieces
and the prices. Nothing here says what anything in the world is worth.

raw/pellow-wrake        an auction house: hammer prices in GBP, the premium charged apart
raw/clutterfold         an online market: USD, shipping apart, titles in sellers' English
raw/kontor-seidelbruck  a dealer's ledger: EUR, decimal commas, day-first dates, cp1252
decisions               what a person decided on the ledger's words, and makers
settings.toml           the settings of the workspace
round.csv               forty pieces seen on one round of the shops, to be valued

The files are made by `python -m tests.demo.generate`, from a fixed seed. Rows are broken on
purpose: slipped decimals, stray quotes, days that no calendar has, exports that overlap.
"""

SETTINGS = """\
# Settings of the demo. What is left out takes its default.

[basis]
currency = "GBP"
kind = "buyer"
"""

SOURCES: dict[str, str] = {
    "pellow-wrake": f"""\
# An invented auction house. Its exports tell the hammer price; the premium is charged apart.
name = "{words.HOUSE}"
market = "auction"
date_order = "dmy"
encoding = "utf-8"
delimiter = "comma"
header_line = 4
currency = "GBP"
decimal_mark = "."
price_of = "lot"
sold_words = ["sold"]

[price]
price_type = "hammer"
premium = [{{ up_to = 2000, share = 0.28 }}, {{ share = 0.22 }}]
tax = "excluded"
shipping = "apart"
fees = {{ share = 0.15 }}

[columns]
"Lot ref" = "listing_id"
"Sale date" = "sold"
"Title" = "title"
"Condition report" = "condition"
"H cm" = "measure:height_cm"
"W cm" = "measure:width_cm"
"Hammer price" = "price"
"Result" = "status"

[constants]
place = "Ostermere"
""",
    "clutterfold": f"""\
# An invented online market. The price is what the buyer paid before shipping.
name = "{words.MARKET}"
market = "online"
date_order = "mdy"
encoding = "utf-8-sig"
delimiter = "comma"
header_line = 1
currency = "USD"
decimal_mark = "."
price_of = "lot"
sold_words = ["sold"]

[price]
price_type = "fixed"
tax = "excluded"
shipping = "apart"
fees = {{ share = 0.13, fixed = 0.40 }}

[columns]
"listing_id" = "listing_id"
"title" = "title"
"condition" = "condition"
"price" = "price"
"currency" = "currency"
"shipping" = "shipping"
"qty" = "quantity"
"status" = "status"
"listed" = "listed"
"ended" = "sold"
""",
    "kontor-seidelbruck": f"""\
# An invented dealer's ledger, kept in three languages. It numbers nothing.
name = "{words.SHOP}"
market = "dealer"
date_order = "dmy"
encoding = "cp1252"
delimiter = "semicolon"
header_line = 1
currency = "EUR"
decimal_mark = ","
price_of = "lot"
sold_words = ["verkauft", "vendu"]

[price]
price_type = "fixed"
tax = "excluded"
shipping = "apart"

[columns]
"Datum" = "sold"
"Warengruppe" = "category"
"Gegenstand" = "title"
"Zustand" = "condition"
"Preis" = "price"
"Status" = "status"
"Bemerkung" = "description"

[constants]
place = "Grauhafen"
""",
}

# groups of the ledger that nobody has decided on yet
UNDECIDED = ("carreau", "Riechdose", "Merkwürdiges", "Anrichte", "nappe", "Waage", "balance")
CONDITION_WORDS = {
    "neuwertig": "as_new",
    "wie neu": "as_new",
    "ausgezeichnet": "excellent",
    "excellent état": "excellent",
    "sehr gut": "very_good",
    "très bon état": "very_good",
    "gut": "good",
    "bon état": "good",
    "mäßig": "fair",
    "gebraucht, fair": "fair",
    "état moyen": "fair",
    "beschädigt": "poor",
    "mauvais état": "poor",
    "nur für Ersatzteile": "for_parts",
}


def slug(name: str) -> str:
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")


def terms_csv() -> str:
    """What M. Seidel decided on the ledger's own words."""
    lines = ["kind,text,concept_id,action,who,decided_on,why"]
    told: dict[str, str] = {}
    for kind in kinds():
        word = german(kind.id)
        if word and word not in UNDECIDED and word not in told:
            told[word] = kind.id
    for word, kind_id in told.items():
        lines.append(f"category,{word},{kind_id},accept,M. Seidel,2026-10-02,a word of our ledger")
    for word, grade in CONDITION_WORDS.items():
        text = f'"{word}"' if "," in word else word
        lines.append(f"condition,{text},{grade},accept,M. Seidel,2026-10-02,our own grades")
    return "\n".join(lines) + "\n"


def makers_csv() -> str:
    """The invented makers, as a vocabulary of the workspace."""
    lines = ["id,prefLabel,altLabels,hiddenLabels,broader,scopeNote"]
    names = sorted({m for found in words.MAKERS.values() for m in found})
    lines += [f'{slug(n)},"{n}",,,,Invented.' for n in names]
    return "\n".join(lines) + "\n"


# tag, description, condition, asking (GBP), notes
ROUND: tuple[tuple[str, str, str, str], ...] = (
    (
        "mahogany chest of drawers, George III, about 1790, brass swan neck handles",
        "good, handles replaced",
        "320",
        "back wall, two short over three long",
    ),
    ("oak gateleg table, barley twist, 1920s", "good", "95", ""),
    (
        "set of 6 Victorian mahogany dining chairs, drop-in seats",
        "fair, one loose",
        "280",
        "seats want covering",
    ),
    ("pine blanket box with candle box, Victorian", "very good", "140", ""),
    ("Windsor chair, yew and elm, early 19th century", "good, old repair to one arm", "360", ""),
    ("teak sideboard, 1960s, sliding doors", "good, some scratches", "350", ""),
    ("brass student lamp, about 1890, rewired", "good", "45", "green shade later"),
    ("pair of brass candlesticks, Georgian", "very good", "110", ""),
    ("chandelier, crystal drops, six arms, old wiring", "fair", "180", "two drops missing"),
    ("slate mantel clock, Victorian, not running", "fair", "60", ""),
    ("brass carriage clock with alarm, c1900, working", "very good", "240", "with key"),
    ("longcase clock, oak, painted dial, thirty hour", "good", "420", "signed Thos. Quarrendon"),
    ("silver pocket watch, open face, key wound", "good, working", "85", ""),
    ("Victorian porcelain teapot painted with flowers", "excellent", "40", ""),
    ("cut glass decanter with mushroom stopper, Regency", "good, small chip", "65", ""),
    ("pottery figure of a spaniel, Victorian", "hairline", "55", ""),
    ("Toby jug, seated, early 19th century", "poor, chipped hat", "30", ""),
    (
        "glass paperweight, millefiori, signed",
        "excellent",
        "90",
        "label under the base: Orsolani & Figli",
    ),
    ("set of six wine glasses, etched", "excellent", "45", ""),
    ("silver salver, 25 cm, piecrust border, hallmarked", "very good", "260", ""),
    ("engraving of a harbour, c1780, framed", "foxed", "25", ""),
    (
        "oil on canvas, river landscape with cattle, attributed to Corneel Vastrick",
        "good, relined",
        "600",
        "gilt frame",
    ),
    ("print after Odalie Fenn, framed", "good", "20", "modern"),
    (
        "terrestrial table globe by G. A. Vellmann, about 1880",
        "good",
        "380",
        "13 inch, stand repaired",
    ),
    ("celestial globe on stand, reproduction", "as new", "75", ""),
    ("hand coloured county map, Pettifer Drane, 17th century", "trimmed", "120", ""),
    ("patchwork quilt, red and white, about 1900", "very good", "90", ""),
    ("hand-knotted rug, wool, 190 x 125", "worn, moth", "150", ""),
    ("seed pearl crescent brooch, 9ct gold, Victorian", "good", "130", "in its box"),
    ("jointed mohair teddy bear, 1920s, growler dead", "fair", "160", "one ear sewn back"),
    ("tin clockwork duck, boxed", "very good", "110", ""),
    ("Victorian cradle, oak, hooded", "good", "85", "do not sell for use"),
    ("ivory and silk folding fan, 19th century", "good", "60", "ivory: ask before buying"),
    ("marching compass, luminous dial", "good", "35", "radium?"),
    ("percussion pistol, brass barrel", "good", "380", "antique exempt?"),
    ("box of mixed postcards", "", "25", "about 200"),
    ("bureau, oak, fall front, fitted inside", "good", "180", "she calls it a secretary"),
    ("glass thing with brass lid, maybe an inkwell or a mustard", "", "18", "ambiguous"),
    ("flumping stock from a goose-loft", "good", "40", "no idea what it is"),
    ("vinaigrette, silver, Georgian, pierced grille", "very good", "190", ""),
)


def round_csv() -> str:
    """Forty pieces as she tags them on a round."""
    lines = ["tag,what it is,condition,asking,notes"]
    for number, (what, condition, asking, notes) in enumerate(ROUND, 1):
        cells = [str(number), what, condition, asking, notes]
        lines.append(",".join(f'"{c}"' if "," in c else c for c in cells))
    return "\n".join(lines) + "\n"
