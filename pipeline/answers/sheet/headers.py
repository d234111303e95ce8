"""Headers of a person's own sheet, in whatever wording, read as our fields.

A wording that stands in the table is taken. A near spelling is taken where it is near enough and
no other field is nearly as near. Everything else is left alone and said so.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from rapidfuzz import fuzz, process

from pipeline.errors import SheetError

NEAR_ENOUGH = 86.0  # rapidfuzz ratio; "desciption" to "description" is 95, "prize" to "price" 80
MARGIN = 8.0  # over the best wording of any other field

TEXT_FIELDS = (
    "tag", "description", "category", "material", "period", "condition", "maker", "size",
    "faults", "notes", "market",
)  # fmt: skip
AMOUNT_FIELDS = (
    "asking_price", "paid_price", "sold_price", "quantity", "cleaning_cost", "repair_cost",
)  # fmt: skip
DATE_FIELDS = ("seen_on",)
FIELDS = TEXT_FIELDS + AMOUNT_FIELDS + DATE_FIELDS

# In each line the specific wordings stand before the bar and the general ones after it: where
# two columns could be one field, the specific wording has it.
_TABLE = """
tag: tag, tag no, tag number, item no, item number, item id, piece no, piece number, stock no,
  stock number, inventory no, inventory number, lot no, lot number, ref, ref no, reference, sku,
  code, no, nr, number, id, nummer, artikelnummer, lfd nr, numéro | lot, line, row, stock
description: description, item description, piece description, description of item,
  description of piece, full description, item, piece, title, item title, what is it, what it is,
  what, object,
  article, item name, name of piece, piece item, item piece, desc, descr, beschreibung,
  bezeichnung, gegenstand, artikel, stück und beschreibung, objekt, pièce, libellé,
  désignation, objet, descripción, artículo, descrizione, oggetto, omschrijving | name, details,
  goods, product, things, thing
category: category, item category, kind, kind of piece, type, type of item, item type, piece type,
  object type, class, classification, form, kategorie, art, catégorie, categoría, categoria |
  group, family, department, dept
material: material, materials, medium, made of, main material, primary material, material type,
  materials and techniques, wood, wood metal, werkstoff, matériau, matériaux, matière, materiale,
  materiaal |
  composition, made from, fabric
period: period, date or period, age, era, date made, year made, made, circa, approx date,
  approximate date, date of piece, date of item, period or style, style or period, century, decade,
  year, epoch, period date, date period, when made, approx age, age approx, epoche, époque,
  datierung, alter, zeit, entstehungszeit, âge, datation, época, periode, dating | style, vintage
condition: condition, cond, condition grade, grade, condition of piece, item condition, state,
  condition report, state of repair, state condition, condition state, zustand, erhaltung,
  erhaltungszustand, état, état de conservation, estado, condizione, staat | quality, shape
maker: maker, manufacturer, maker or artist, artist, artist or maker, made by, brand, designer,
  attribution, attributed to, factory, workshop, maker artist, artist maker, by whom, hersteller,
  künstler, werkstatt, fabricant, auteur, artiste, artista | by, label
size: size, dimensions, measurements, dims, height, h x w x d, size in inches, size in cm, masse,
  maße, abmessungen, größe | measures
faults: faults, fault, damage, damages, defects, flaws, condition notes, condition details,
  losses, problems, issues, repairs needed, faults damage, damage faults, schäden, mängel,
  beschädigungen, défauts, dommages | wear
notes: notes, note, remarks, remark, comments, comment, memo, my notes, other notes, further notes,
  observations, comments notes, notes comments, bemerkung, bemerkungen, anmerkung, anmerkungen,
  notiz, notizen, remarques, notas, note varie, opmerkingen |
  misc, other, info, extra
market: market, where to sell, selling venue, sales channel, channel, sell on, sell at,
  sell through, venue, outlet, to be sold at, platform, vertriebsweg, markt, marché, mercado |
  where
asking_price: asking price, asking, ask, price asked, tag price, tagged price, ticket price,
  ticketed at, price on tag, marked price, sticker price, seller asks, seller wants, they want,
  asked, asking amount, offered at, price wanted, list price, listed at, their price, ticket,
  dealer asks, preisvorstellung, gefordert, verlangt, verlangter preis, forderung, angebotspreis,
  prix demandé, prix affiché, prix étiquette, vraagprijs |
  price, cost, preis, prix, precio, prezzo, prijs, amount, asking cost
paid_price: paid, price paid, amount paid, purchase price, bought for, buy price, i paid,
  paid price, purchase cost, acquisition cost, cost price, what i paid, what we paid, cost me,
  cost to me, i gave, outlay, einkaufspreis, ek preis, gekauft für, bezahlt, payé, prix payé |
  bought, buying, spent, ek, prix d'achat
sold_price: sold for, sold price, sale price, selling price, price sold, realised, realized,
  price realised, price realized, price achieved, verkauft für, verkaufspreis, vk preis, erlös,
  prix de vente, vendu | sold, proceeds, achieved, vk
quantity: quantity, qty, how many, number of pieces, no of pieces, number of items, pieces, pcs,
  count, units, anzahl, menge, stück, stk, quantité, qté, cantidad, quantità, aantal |
  amount of pieces, q
cleaning_cost: cleaning cost, cleaning costs, cleaning, cost of cleaning, cost to clean, clean up,
  cleanup cost, clean, polishing, cleaning and polishing, reinigung, reinigungskosten, nettoyage,
  limpieza, pulizia
repair_cost: repair cost, repair costs, repairs, repair, cost of repair, cost to repair,
  restoration, restoration cost, mending, fix, cost to fix, fixing, repair estimate, reparatur,
  reparaturkosten, réparation, reparación, riparazione | work needed, refurbishment
seen_on: seen, seen on, date seen, viewed on, date viewed, visit date, date found, found on,
  bought on, purchase date, date bought, date of purchase, date acquired, kaufdatum, date d'achat |
  date, datum, fecha, data, day
"""

_CURRENCIES = re.compile(
    r"\b(usd|gbp|eur|chf|cad|aud|us|dollars?|pounds?|euros?|sterling)\b|[$£€¥]"
)
# What a header that also names a currency is about: "Tag £" is no number on a tag.
_OF_MONEY = {"tag": "asking_price", "faults": "repair_cost"}
_BRACKETS = re.compile(r"\([^()]*\)|\[[^\[\]]*\]")
_NOT_WORD = re.compile(r"[^\w]+")


def plain_header(text: str) -> str:
    """A header without case, accents' composition, currency, brackets and punctuation."""
    lowered = unicodedata.normalize("NFKC", text).casefold()
    without = _NOT_WORD.sub(" ", _CURRENCIES.sub(" ", _BRACKETS.sub(" ", lowered)))
    plain = " ".join(without.replace("_", " ").split())
    if plain:
        return plain
    return " ".join(_NOT_WORD.sub(" ", lowered).split())


@lru_cache(maxsize=1)
def _wordings() -> dict[str, tuple[str, bool]]:
    """Plain wording -> (field, whether it is a specific wording)."""
    wordings: dict[str, tuple[str, bool]] = {}
    joined = re.sub(r"\n  +", " ", _TABLE.strip()).replace(" |", "|")
    for line in joined.splitlines():
        field, _, rest = line.partition(":")
        specific, _, general = rest.partition("|")
        for part, is_specific in ((specific, True), (general, False)):
            for wording in filter(None, (plain_header(word) for word in part.split(","))):
                wordings.setdefault(wording, (field, is_specific))
        wordings.setdefault(plain_header(field), (field, True))
    for wording, meant in list(wordings.items()):
        wordings.setdefault(_without_accents(wording), meant)  # as a keyboard without them has it
    return wordings


def _without_accents(text: str) -> str:
    return "".join(c for c in unicodedata.normalize("NFD", text) if not unicodedata.combining(c))


@dataclass(frozen=True)
class Heading:
    """What one header was taken for: a field, or None with the best candidate."""

    column: int
    text: str
    field: str | None
    score: float
    method: str  # "mapping", "exact", "near" or "none"
    specific: bool = True
    candidate: str | None = None


@lru_cache(maxsize=4096)
def _recognise(plain: str) -> tuple[str | None, float, str, bool, str | None]:
    wordings = _wordings()
    exact = wordings.get(plain)
    if exact:
        return exact[0], 100.0, "exact", exact[1], None
    if len(plain) < 4:
        return None, 0.0, "none", False, None
    ranked = process.extract(plain, wordings.keys(), scorer=fuzz.ratio, limit=12, score_cutoff=60)
    if not ranked:
        return None, 0.0, "none", False, None
    best, score, _ = ranked[0]
    field, specific = wordings[best]
    rival = max((s for word, s, _ in ranked if wordings[word][0] != field), default=0.0)
    if score >= NEAR_ENOUGH and score - rival >= MARGIN:
        return field, score, "near", specific, None
    return None, score, "none", False, field


def recognise(column: int, *texts: str) -> Heading:
    """What a header stands for; of several readings of one header the first that is known."""
    best: Heading | None = None
    for text in texts:
        plain = plain_header(text) or ("number" if text.strip() == "#" else "")
        if not plain:
            continue
        field, score, method, specific, candidate = _recognise(plain)
        if field in _OF_MONEY and _CURRENCIES.search(text.casefold()):
            field = _OF_MONEY[field]
        heading = Heading(column, text, field, score, method, specific, candidate)
        if best is None or (heading.field and not best.field):
            best = heading
        if best.field:
            break
    return best or Heading(column, "", None, 0.0, "none")


@dataclass(frozen=True)
class Columns:
    """Which column is which field, what was left, and what is doubtful."""

    fields: Mapping[str, Heading]
    unknown: Sequence[Heading]
    doubts: Sequence[str]

    @property
    def strength(self) -> float:
        """How much these headers look like the headers of a sheet of pieces."""
        score = sum(1.0 if heading.specific else 0.6 for heading in self.fields.values())
        return score + (1.0 if "description" in self.fields else 0.0)

    @property
    def describes(self) -> bool:
        """Whether there is a column that says what a piece is."""
        return "description" in self.fields or "category" in self.fields


def assign(headings: Sequence[Heading]) -> Columns:
    """Give each field one column.

    Of two columns for one field an exact, specific wording has it; of two that are equally good
    the left one has it if the field is words, and none if it is money.
    """
    rank = {"mapping": 0, "exact": 1, "near": 2}
    claims: dict[str, list[Heading]] = {}
    for heading in headings:
        if heading.field:
            claims.setdefault(heading.field, []).append(heading)
    fields: dict[str, Heading] = {}
    doubts: list[str] = []
    for field, claimants in claims.items():
        ordered = sorted(claimants, key=lambda h: (rank[h.method], not h.specific, h.column))
        first = ordered[0]
        tied = [h for h in ordered[1:] if (h.method, h.specific) == (first.method, first.specific)]
        if not tied:
            fields[field] = first
            continue
        texts = " and ".join(repr(h.text) for h in [first, *tied])
        if field in AMOUNT_FIELDS:
            doubts.append(f"{texts} could each be the {field.replace('_', ' ')}: neither is used")
        else:
            fields[field] = first
            doubts.append(f"{texts} could each be the {field}: {first.text!r} is used")
    taken = {heading.column for heading in fields.values()}
    unknown = [h for h in headings if h.column not in taken and h.text]
    return Columns(fields, unknown, doubts)


def check_mapping(mapping: Mapping[str, str]) -> None:
    """See that a mapping (field -> header text or column letters) names fields that exist.

    Raises:
        SheetError: a key is no field of ours; the nearest one is named.
    """
    for field, header in mapping.items():
        if field not in FIELDS:
            near = process.extractOne(field, FIELDS, scorer=fuzz.ratio)
            hint = f"did you mean {near[0]!r}? " if near else ""
            raise SheetError(
                f"the mapping of columns names an unknown field {field!r}",
                todo=f"{hint}The fields are {', '.join(FIELDS)}",
            )
        if not isinstance(header, str) or not header.strip():
            raise SheetError(f"the mapping gives no header for the field {field!r}")
