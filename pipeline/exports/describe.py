"""What an unknown export seems to be: its form, and what each of its columns seems to mean.

A proposal with a reason each, for a person to check. Headers are compared with the usual wordings
in several languages; the cells must bear the proposal out.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import pyarrow as pa
from rapidfuzz import fuzz, process

from pipeline.columns import MEANINGS
from pipeline.errors import ExportError
from pipeline.exports.lines import DELIMITERS, Header, find_header, split_line
from pipeline.exports.sale_dates import read_sale_date
from pipeline.exports.stream import LineCount, clean_text, detect_encoding
from pipeline.money.amounts import read_amounts
from pipeline.terms.text import normalise_label

SAMPLE_LINES = 400
EXAMPLES = 3
LARGEST = 20_000_000_000

WORDINGS: dict[str, tuple[str, ...]] = {
    "listing_id": ("lot number", "lot no", "lot", "los", "id", "listing id", "listing number",
                   "item id",
                   "item number", "item no", "reference", "ref", "stock number", "stock no",
                   "order id", "number", "nr", "nummer", "losnummer", "numero", "art nr"),
    "title": ("title", "item title", "lot title", "name", "item", "item name", "headline",
              "heading", "object", "what", "article", "bezeichnung", "titel", "artikel", "objet",
              "titre", "gegenstand", "short description"),
    "description": ("description", "details", "long description", "notes", "text", "beschreibung",
                    "comment", "lot description", "catalogue note"),
    "category": ("category", "kind", "type", "department", "group", "class", "kategorie", "art",
                 "categorie", "section", "warengruppe"),
    "material": ("material", "materials", "medium", "made of", "stoff", "materiaal", "matiere",
                 "composition"),
    "period": ("period", "date of making", "age", "era", "style", "year made", "made", "dated",
               "circa", "epoche", "zeit", "stil", "epoque", "century", "datierung", "origin date"),
    "condition": ("condition", "state", "grade", "zustand", "etat", "staat", "cond",
                  "item condition"),
    "attribution": ("attribution", "authorship", "zuschreibung"),
    "maker": ("maker", "artist", "manufacturer", "brand", "author", "by", "hersteller",
              "kuenstler", "fabricant", "designer"),
    "size": ("size", "dimensions", "measurements", "dims", "sizes", "masse", "abmessungen",
             "groesse", "taille", "afmetingen", "misure", "medidas"),
    "sold": ("date sold", "sold", "sale date", "sold on", "date of sale", "date", "end date",
             "ended", "auction date", "transaction date", "verkauft am", "verkaufsdatum", "datum",
             "date de vente", "verkauft", "closed"),
    "listed": ("date listed", "listed", "listed on", "start date", "eingestellt", "bought on"),
    "price": ("price", "hammer price", "hammer", "sold price", "sold for", "total", "amount",
              "sale price", "price realised", "price realized", "realised", "preis", "zuschlag",
              "erloes", "prix", "verkaufspreis", "total price", "net", "final price",
              "winning bid"),
    "currency": ("currency", "ccy", "waehrung", "devise", "curr"),
    "price_type": ("price type", "price kind", "preisart"),
    "status": ("status", "sold status", "result", "outcome", "ergebnis"),
    "shipping": ("shipping", "postage", "delivery", "shipping cost", "postage and packing", "p p",
                 "versand", "versandkosten", "ship cost", "frais de port"),
    "premium": ("premium", "buyers premium", "buyer s premium", "aufgeld", "commission"),
    "tax": ("tax", "vat", "sales tax", "mwst", "ust", "tva"),
    "quantity": ("quantity", "qty", "pieces", "number of pieces", "anzahl", "stueck", "menge",
                 "count", "pcs"),
    "place": ("place", "location", "city", "town", "venue", "ort", "lieu", "country", "region"),
    "url": ("url", "link", "web address", "address"),
}  # fmt: skip
ENOUGH = 84.0


@dataclass
class ColumnGuess:
    """One column: what it may mean, how likely (0 to 100), why, and three of its values."""

    header: str
    meaning: str | None
    score: float
    reason: str
    examples: list[str]
    filled_share: float


@dataclass
class Description:
    """What an export seems to be."""

    path: Path
    encoding: str
    delimiter: str
    header_line: int
    n_lines_looked_at: int
    columns: list[ColumnGuess]
    date_order: str
    date_reason: str
    decimal_mark: str
    currency: str
    notes: list[str] = field(default_factory=list)


def describe(path: Path) -> Description:
    """Look at the first lines of an export and propose what it is.

    Raises:
        ExportError: the file is empty, or no line of it looks like a header.
    """
    encoding = detect_encoding(path, LARGEST)
    start = b""
    for chunk in clean_text(path, encoding, LARGEST, LineCount()):
        start = chunk[: 1 << 20]
        break
    text = start.decode("utf-8", errors="replace")
    lines = text.split("\n")[:SAMPLE_LINES]
    if not any(line.strip() for line in lines):
        raise ExportError("The file is empty.", where=path, todo="Export it again.")
    delimiter, header_line = _form(lines)
    header = find_header(text, [], delimiter, header_line, str(path))
    rows = _rows(lines, header)
    columns = [
        _guess(name, [r[k] for r in rows if len(r) == len(header.names)])
        for k, name in enumerate(header.names)
    ]
    _one_each(columns)
    order, why = _date_order(columns, rows, header)
    mark, currency = _money_habits(columns, rows, header)
    description = Description(
        path, encoding, header.delimiter, header.first_line, len(lines), columns, order, why, mark,
        currency,
    )  # fmt: skip
    for meaning in ("price", "sold", "title"):
        if not any(c.meaning == meaning for c in columns):
            description.notes.append(f"No column seems to hold the {meaning}: {MEANINGS[meaning]}.")
    return description


def _form(lines: list[str]) -> tuple[str, int]:
    """The delimiter and the line of the header: the first line with the commonest width."""
    best: tuple[float, str, int] = (-1.0, ",", 1)
    for delimiter in DELIMITERS:
        widths = [len(split_line(line, delimiter)) if line.strip() else 0 for line in lines]
        common = Counter(w for w in widths if w > 1).most_common(1)
        if not common:
            continue
        width, n = common[0]
        first = widths.index(width) + 1
        score = n * (1 + 0.1 * min(width, 20))
        if score > best[0]:
            best = (score, delimiter, first)
    return best[1], best[2]


def _rows(lines: list[str], header: Header) -> list[list[str]]:
    rows = [split_line(line, header.delimiter) for line in lines[header.n_lines_before_data :]]
    return [r for r in rows if r]


def _guess(name: str, cells: list[str]) -> ColumnGuess:
    stated = [c.strip() for c in cells if c.strip()]
    share = len(stated) / len(cells) if cells else 0.0
    examples = list(dict.fromkeys(stated))[:EXAMPLES]
    said = normalise_label(name)
    best, score, wording = None, 0.0, ""
    for meaning, wordings in WORDINGS.items():
        found = process.extractOne(said, wordings, scorer=_likeness)
        if found and found[1] > score and _cells_allow(meaning, stated):
            best, score, wording = meaning, found[1], found[0]
    if best is not None and score >= ENOUGH:
        exact = said == wording
        reason = f"the header is '{wording}'" if exact else f"the header is like '{wording}'"
        return ColumnGuess(name, best, score, reason, examples, share)
    by_cells = _from_cells(stated)
    if by_cells:
        return ColumnGuess(name, by_cells[0], 50.0, by_cells[1], examples, share)
    return ColumnGuess(name, None, 0.0, "nothing tells; it is kept as it comes", examples, share)


def _likeness(a: str, b: str, **_: object) -> float:
    """Likeness of headers, in which a wording that stands whole among other words counts too."""
    whole = fuzz.ratio(a, b)
    if len(b) >= 4 and re.search(rf"\b{re.escape(b)}\b", a):
        whole = max(whole, 86.0 + min(len(b), 12))
    return whole


def _cells_allow(meaning: str, stated: list[str]) -> bool:
    """Whether most cells could be what the header says."""
    if not stated:
        return meaning not in ("price", "sold", "title")
    some = stated[:50]
    if meaning in ("sold", "listed"):
        return _dates(some) >= 0.6
    if meaning in ("price", "shipping", "premium", "tax"):
        return sum(bool(re.search(r"\d", c)) for c in some) >= 0.5 * len(some) or (
            meaning == "shipping"
        )
    if meaning == "quantity":
        return sum(bool(re.fullmatch(r"\d{1,4}|[A-Za-z ]{2,12}", c)) for c in some) >= 0.8 * len(
            some
        )
    if meaning == "currency":
        return all(len(c) <= 4 for c in some)
    if meaning in ("title", "description", "category", "material", "condition"):
        return sum(bool(re.search(r"[^\W\d]", c)) for c in some) >= 0.5 * len(some)
    return True


def _from_cells(stated: list[str]) -> tuple[str, str] | None:
    some = stated[:50]
    if len(some) < 3:
        return None
    if _dates(some) >= 0.9:
        return "sold", "nearly all its cells are dates"
    with_sign = sum(bool(re.search(r"[£$€]|\b(GBP|USD|EUR)\b", c)) for c in some)
    if with_sign >= 0.8 * len(some):
        return "price", "nearly all its cells are amounts of money"
    if sum(c.startswith(("http://", "https://")) for c in some) >= 0.8 * len(some):
        return "url", "its cells are web addresses"
    words = sum(len(c.split()) for c in some) / len(some)
    if words >= 3 and len(set(some)) > 0.6 * len(some):
        return "title", "its cells are texts of several words"
    return None


def _dates(cells: list[str]) -> float:
    found = sum(
        any(read_sale_date(_without_time(c), order, 2099) for order in ("dmy", "mdy", "ymd"))
        for c in cells
    )
    return found / len(cells) if cells else 0.0


def _without_time(text: str) -> str:
    return re.sub(r"[T ,]+\d{1,2}[:.]\d{2}.*$", "", text)


def _one_each(columns: list[ColumnGuess]) -> None:
    """Of two columns that seem to mean the same, the likelier one keeps it."""
    by_meaning: dict[str, list[ColumnGuess]] = {}
    for column in columns:
        if column.meaning:
            by_meaning.setdefault(column.meaning, []).append(column)
    for meaning, rivals in by_meaning.items():
        rivals.sort(key=lambda c: (-c.score, -c.filled_share))
        for rival in rivals[1:]:
            rival.reason = f"also like {meaning}, but '{rivals[0].header}' is likelier"
            rival.meaning = None


def _date_order(
    columns: list[ColumnGuess], rows: list[list[str]], header: Header
) -> tuple[str, str]:
    sold = next((k for k, c in enumerate(columns) if c.meaning == "sold"), None)
    if sold is None:
        return "dmy", "no column of dates was found: check it"
    cells = [_without_time(r[sold].strip()) for r in rows if len(r) == len(header.names)]
    fits = {
        order: sum(read_sale_date(c, order, 2099) is not None for c in cells if c)
        for order in ("dmy", "mdy", "ymd")
    }
    best = max(fits.values(), default=0)
    orders = [o for o, n in fits.items() if n == best]
    if all(re.match(r"\d{4}\D", c) for c in cells if c):
        return "ymd", "the year stands first"
    if len(orders) == 1 or (len(orders) == 2 and "ymd" in orders):
        order = next(o for o in orders if o != "ymd") if len(orders) == 2 else orders[0]
        return order, f"{best} of {len(cells)} dates exist only in this order"
    return "dmy", "the dates exist in more than one order: CHECK this"


def _money_habits(
    columns: list[ColumnGuess], rows: list[list[str]], header: Header
) -> tuple[str, str]:
    price = next((k for k, c in enumerate(columns) if c.meaning == "price"), None)
    if price is None:
        return "", ""
    cells = [r[price] for r in rows if len(r) == len(header.names) and r[price].strip()]
    marks = Counter(
        found[1] for c in cells if (found := re.search(r"\d([.,])\d{1,2}(?!\d)", c)) is not None
    )
    mark = marks.most_common(1)[0][0] if marks else ""
    read = read_amounts(pa.array(cells, pa.string()), mark or None, None)
    codes = Counter(c for c in read["currency"].to_pylist() if c)
    if codes:
        return mark, codes.most_common(1)[0][0]
    dollars = sum("$" in c for c in cells)
    return mark, "USD" if cells and dollars * 2 > len(cells) else ""
