"""The demo's export files: which rows stand in which file, how they are written, what is broken.

A row that stands in several files counts in the newest; the older ones are its duplicates, and
some of them tell what the newest puts right.
"""

from __future__ import annotations

import csv
import datetime as dt
import gzip
import io
from dataclasses import dataclass, field
from functools import cache

import numpy as np

from tests.demo import words
from tests.demo.market import Market, Row
from tests.demo.model import AUCTION, DEALER, ONLINE, kinds
from tests.demo.titles import Choice, Item, title

N_CORRECTED = 46
N_SAME_ROW_TWICE = (14, 16, 14)
N_LINE_BREAKS = 30


@dataclass(frozen=True)
class Window:
    """One export: the days that it covers."""

    name: str
    first: dt.date
    last: dt.date


def _w(name: str, first: str, last: str) -> Window:
    return Window(name, dt.date.fromisoformat(first), dt.date.fromisoformat(last))


# from the oldest to the newest
WINDOWS: tuple[tuple[Window, ...], ...] = (
    (
        _w("results-2022-11_2023-12.csv", "2022-10-01", "2023-12-31"),
        _w("results-2024.csv", "2023-12-14", "2024-12-31"),
        _w("results-2025.csv", "2024-12-12", "2025-12-31"),
        _w("results-2026-h1.csv", "2025-12-18", "2026-06-30"),
        _w("results-2026-q3.csv", "2026-06-18", "2026-09-30"),
        _w("results-2026-w42.csv", "2026-09-24", "2026-10-16"),
        _w("results-2026-w43.csv", "2026-10-08", "2026-10-25"),
    ),
    (
        _w("sold_2022-2023.csv.gz", "2022-08-01", "2023-12-31"),
        _w("sold_2024.csv", "2023-12-22", "2024-12-31"),
        _w("sold_2025.csv", "2024-12-20", "2025-12-31"),
        _w("sold_2026_01-07.csv", "2025-12-22", "2026-07-31"),
        _w("sold_2026_07-10.csv", "2026-07-20", "2026-10-25"),
    ),
    (
        _w("kassabuch_2023.csv", "2022-10-01", "2023-12-31"),
        _w("kassabuch_2024.csv", "2023-12-10", "2024-12-31"),
        _w("kassabuch_2025.csv", "2024-12-10", "2025-12-31"),
        _w("kassabuch_2026.csv", "2025-12-10", "2026-10-25"),
    ),
)
HEADERS: tuple[tuple[str, ...], ...] = (
    (
        "Lot ref",
        "Sale date",
        "Department",
        "Title",
        "Condition report",
        "H cm",
        "W cm",
        "Estimate",
        "Hammer price",
        "Result",
    ),
    (
        "listing_id",
        "title",
        "condition",
        "price",
        "currency",
        "shipping",
        "qty",
        "status",
        "listed",
        "ended",
        "seller",
    ),
    ("Datum", "Warengruppe", "Gegenstand", "Zustand", "Preis", "Status", "Bemerkung"),
)
PREAMBLE = (
    f"{words.HOUSE}: prices realised",
    "Hammer prices in GBP; the buyer's premium is charged apart",
    "",
)
ENCODINGS = ("utf-8", "utf-8-sig", "cp1252")
BAD_BYTES = (b"\xff\xfe", b"\xc3\x28", b"\x81\x8d")
DELIMITERS = (",", ",", ";")
# what is broken -> how often in each source
BROKEN: dict[str, tuple[int, int, int]] = {
    "too_few_cells": (9, 11, 8),
    "stray_quote": (2, 2, 1),
    "undecodable": (4, 5, 4),
    "impossible_date": (5, 6, 6),
    "future_date": (1, 1, 1),
    "repeated_header": (2, 2, 2),
    "blank": (5, 3, 8),
    "total": (0, 0, 0),
}


@dataclass
class Line:
    """One record of a file, or one thing that is none, with its truth."""

    file: str
    row: Row | None
    broken: str = ""
    cells: list[str] | None = None
    number: int = 0
    duplicate_of: Line | None = None
    duplicate_kind: str = ""
    wrong: str = ""


@dataclass
class Export:
    """A file of the demo: its bytes and its lines."""

    source: int
    name: str
    data: bytes = b""
    lines: list[Line] = field(default_factory=list)


def export_all(market: Market) -> list[Export]:
    """Every export, with the line that each row stands on."""
    draw = Choice(market.stream("files"))
    exports = []
    for source in range(3):
        rows = [r for r in market.rows if r.source == source]
        found = [Export(source, w.name) for w in WINDOWS[source]]
        newest: dict[int, Line] = {}
        for export, window in zip(reversed(found), reversed(WINDOWS[source]), strict=True):
            for row in rows:
                if not window.first <= row.day <= window.last:
                    continue
                line = Line(export.name, row, cells=cells_of(row, market))
                kept = newest.setdefault(id(row), line)
                if kept is not line:
                    line.duplicate_of, line.duplicate_kind = kept, "same_listing"
                    if source == DEALER:
                        line.duplicate_kind = "same_row"
                    line.cells = list(kept.cells or ())
                export.lines.append(line)
        _correct(found, draw)
        _repeat(found, draw, N_SAME_ROW_TWICE[source])
        if source == AUCTION:
            _break_lines_in_cells(found, draw)
        _break(found, market, draw, source)
        for export in found:
            _write(export, draw)
        exports += found
    _same_events(exports)
    return exports


# ---------------------------------------------------------------------------------------------
# cells


DEPARTMENTS = {
    "furniture": "Furniture",
    "lighting": "Furnishings",
    "clocks-and-watches": "Clocks",
    "tableware-and-vessels": "Ceramics, glass & silver",
    "ceramics": "Ceramics, glass & silver",
    "glassware": "Ceramics, glass & silver",
    "metalware-and-silver": "Ceramics, glass & silver",
    "prints-and-paintings": "Pictures",
    "maps-and-globes": "Books & maps",
    "books-and-paper": "Books & maps",
    "textiles-and-rugs": "Rugs & textiles",
    "jewellery": "Jewellery",
    "toys-and-games": "Toys",
}
SIZED_IN_COLUMNS = ("furniture", "prints-and-paintings", "textiles-and-rugs", "maps-and-globes")


def cells_of(row: Row, market: Market) -> list[str]:
    """The cells of a row; the same row gives the same cells."""
    draw = Choice(market.stream(f"cells {row.event} {row.source}"))
    return (_auction_cells, _online_cells, _ledger_cells)[row.source](row, draw)


def _auction_cells(row: Row, draw: Choice) -> list[str]:
    item = row.item
    middle = float(np.exp(item.log_price)) / 1.28 * (1.15 if row.outcome != "sold" else 0.95)
    low = max(10, round(middle * 0.8 / 10) * 10)
    sized = item.kind.trade in SIZED_IN_COLUMNS and row.lot_kind != "bulk" and draw.chance(0.7)
    hammer = "" if row.price is None else _pounds(row.price)
    return [
        row.listing,
        f"{row.day.day} {row.day:%b} {row.day.year}",
        DEPARTMENTS.get(item.kind.trade, "Works of art & collectables"),
        row.title,
        row.condition,
        str(item.height) if sized else "",
        str(item.width) if sized else "",
        f"{low}-{round(low * 1.5 / 10) * 10}",
        hammer,
        {"sold": "Sold", "unsold": "Unsold", "withdrawn": "Withdrawn"}[row.outcome],
    ]


def _pounds(amount: float) -> str:
    return f"{amount:,.2f}" if amount != int(amount) else f"{int(amount):,}"


def _online_cells(row: Row, draw: Choice) -> list[str]:
    price = row.price if row.price is not None else 0.0
    text = f"{price:.2f}"
    if row.currency == "USD" and draw.chance(0.12):
        text = draw.one((f"US ${price:,.2f}", f"{price:,.2f} USD"))
    shipping = "0.00" if row.item.free_shipping else f"{5 + draw.whole(0, 40) + 0.95:.2f}"
    if row.item.free_shipping and draw.chance(0.4):
        shipping = "Free"
    status = {"sold": "Sold", "unsold": "Ended", "asking": "Active"}[row.outcome]
    if row.outcome == "asking" and draw.chance(0.4):
        text += draw.one((" OBO", " or best offer"))
    listed = row.day - dt.timedelta(days=draw.one((3, 5, 7, 7, 7, 10, 30)))
    seller = words.HOUSE.split(",")[0] if row.currency == "GBP" else draw.one(words.SELLERS)
    return [
        row.listing,
        row.title,
        row.condition,
        text,
        row.currency,
        shipping,
        "1",
        status,
        f"{listed:%m/%d/%Y}",
        f"{row.day:%m/%d/%Y}",
        seller,
    ]


@cache
def german(kind_id: str) -> str:
    """What the ledger calls a group of goods: the word before the comma, where it has one."""
    nouns = next(k.dealer_nouns for k in kinds() if k.id == kind_id)
    told = [n.split(",")[0] for n in nouns if "," in n and n.split(",")[0] != n.split(", ")[1]]
    return told[0] if told else ""


def _ledger_cells(row: Row, draw: Choice) -> list[str]:
    price = row.price
    if row.outcome == "poa":
        text = draw.one(("auf Anfrage", "POA", "Preis auf Anfrage", "prix sur demande"))
    else:
        plain = f"{price or 0:,.2f}".replace(",", " ").replace(".", ",").replace(" ", ".")
        text = draw.one((plain, plain, plain, f"{plain} €", f"€ {plain}"))
        if price is not None and price == int(price) and price < 1000 and draw.chance(0.25):
            text = f"{int(price)},-"
    group = german(row.item.kind.id) if draw.chance(0.6) and row.lot_kind != "bulk" else ""
    if row.part:
        group = "Teile"
    status = {"sold": "verkauft", "unsold": "zurück", "poa": "offen"}[row.outcome]
    note = row.remark
    return [f"{row.day:%d.%m.%Y}", group, row.title, row.condition, text, status, note]


# ---------------------------------------------------------------------------------------------
# the same row in several files


def _correct(found: list[Export], draw: Choice) -> None:
    """Older exports tell some rows otherwise than the newest, which puts them right."""
    if found[0].source == DEALER:
        return
    usable = [
        line
        for export in found
        for line in export.lines
        if line.duplicate_of and line.row and line.row.outcome == "sold" and line.row.wild == 1
    ]
    price, text, state = (3, 1, 2) if found[0].source == ONLINE else (8, 3, 4)
    for line in draw.some(usable, N_CORRECTED // 2):
        line.duplicate_kind = "corrected_listing"
        line.wrong = draw.one(("price", "price", "title", "condition"))
        cells, row = line.cells, line.row
        if cells is None or row is None:
            continue
        if line.wrong == "price" and row.price:
            wrong = row.price * draw.one((0.9, 1.1, 1.25, 0.5))
            cells[price] = f"{wrong:.2f}" if row.source == ONLINE else _pounds(round(wrong) + 1)
        elif line.wrong == "condition" or row.lot_kind == "bulk" or row.part:
            line.wrong = "condition"
            cells[state] = "to follow" if row.source == AUCTION else "see photos"
        else:
            cells[text] = title(_silent(row.item), draw)
            if cells[text] == row.title:
                cells[text] = row.title + " "


def _silent(item: Item) -> Item:
    """A copy, so that another wording changes nothing of what is known of the first."""
    return Item(**vars(item))


def _repeat(found: list[Export], draw: Choice, n: int) -> None:
    """The same cells twice in one file."""
    for _ in range(n):
        export = draw.one(found)
        at = draw.whole(0, len(export.lines) - 1)
        first = export.lines[at]
        if first.row is None or first.duplicate_of:
            continue
        again = Line(export.name, first.row, cells=list(first.cells or ()))
        # the later line counts
        kind = "same_row" if export.source == DEALER else "same_listing"
        first.duplicate_of, first.duplicate_kind = again, kind
        for other in found:
            for line in other.lines:
                if line.duplicate_of is first:
                    line.duplicate_of = again
        export.lines.insert(at + draw.one((1, 1, 3)), again)


def _same_events(exports: list[Export]) -> None:
    """A row that tells of another row's event is its duplicate."""
    kept: dict[int, Line] = {}
    for export in exports:
        for line in export.lines:
            if line.row is not None and not line.duplicate_of and not line.broken:
                kept[id(line.row)] = line
    for line in list(kept.values()):
        if line.row and line.row.same_event_as is not None:
            line.duplicate_of = kept[id(line.row.same_event_as)]
            line.duplicate_kind = "same_event"


def _break_lines_in_cells(found: list[Export], draw: Choice) -> None:
    """Some condition reports hold a line break."""
    wanted = [
        line
        for export in found
        for line in export.lines
        if line.cells and ". " in line.cells[4] and line.row and not line.duplicate_of
    ]
    for line in draw.some(wanted, N_LINE_BREAKS):
        if line.cells and not any(o.duplicate_of is line for e in found for o in e.lines):
            line.cells[4] = line.cells[4].replace(". ", ".\n", 1)


# ---------------------------------------------------------------------------------------------
# what is broken


def _break(found: list[Export], market: Market, draw: Choice, source: int) -> None:
    rng = market.stream(f"broken {source}")
    usable = [k for k in kinds() if k.markets[source] > 0.2]
    for what, counts in BROKEN.items():
        for _ in range(counts[source]):
            export = draw.one(found)
            line = Line(export.name, None, broken=what)
            if what not in ("blank", "repeated_header"):
                row = market.offer(draw.one(usable), source, rng, draw)
                row.outcome, row.event = "sold", 0
                row.day = next(o.row.day for o in export.lines if o.row)
                row.listing = (
                    f"OS{600 - draw.whole(0, 9)}-{draw.whole(1, 999)}"
                    if source == AUCTION
                    else str(draw.whole(100, 999) * 1000 + 7)
                )
                row.price = row.price or 40.0
                line.row = row
                line.cells = cells_of(row, market)
            export.lines.insert(draw.whole(5, len(export.lines) - 5), line)


def _cells_broken(line: Line, source: int, draw: Choice) -> list[str]:
    cells = list(line.cells or ())
    at = {AUCTION: 1, ONLINE: 9, DEALER: 0}[source]
    if line.broken == "too_few_cells":
        return cells[: draw.whole(2, len(cells) - 2)]
    if line.broken == "impossible_date":
        cells[at] = {AUCTION: "31 Jun 2025", ONLINE: "02/30/2024", DEALER: "31.02.2025"}[source]
    if line.broken == "future_date":
        cells[at] = {AUCTION: "12 Oct 2062", ONLINE: "10/12/2062", DEALER: "12.10.2062"}[source]
    return cells


def _write(export: Export, draw: Choice) -> None:
    source = export.source
    delimiter = DELIMITERS[source]
    encoding = ENCODINGS[source]
    body = bytearray()
    number = 0

    def put(text: str, bad: bytes = b"") -> None:
        nonlocal number
        number += text.count("\n") + 1
        raw = text.encode("utf-8" if encoding == "utf-8-sig" else encoding)
        middle = len(raw) // 2
        while raw[middle : middle + 1] >= b"\x80":
            middle += 1
        body.extend(raw[:middle] + bad + raw[middle:] if bad else raw)
        body.extend(b"\r\n" if source == DEALER else b"\n")

    if encoding == "utf-8-sig":
        body.extend(b"\xef\xbb\xbf")
    if source == AUCTION:
        for text in PREAMBLE:
            put(text)
    put(delimiter.join(HEADERS[source]))
    total = 0.0
    for line in export.lines:
        line.number = number + 1
        if line.broken == "blank":
            put("" if draw.chance(0.5) else delimiter * (len(HEADERS[source]) - 1))
        elif line.broken == "repeated_header":
            put(delimiter.join(HEADERS[source]))
        elif line.broken == "stray_quote":
            cells = list(line.cells or ())
            text_at = {AUCTION: 3, ONLINE: 1, DEALER: 2}[source]
            parts = [c.replace('"', "").replace(delimiter, " ") for c in cells]
            parts[text_at] = '"' + parts[text_at]
            put(delimiter.join(parts))
        else:
            cells = _cells_broken(line, source, draw) if line.broken else list(line.cells or ())
            bad = BAD_BYTES[source] if line.broken == "undecodable" else b""
            put(_record(cells, delimiter), bad)
        if line.row and line.row.price and not line.broken:
            total += line.row.price
    if source == DEALER:
        for told in (
            "",
            f"Summe;;;;{total:,.2f};;".replace(",", " ").replace(".", ",").replace(" ", "."),
        ):
            export.lines.append(
                Line(export.name, None, "total" if told else "blank", number=number + 1)
            )
            put(told)
    if source == AUCTION:
        export.lines.append(Line(export.name, None, "total", number=number + 1))
        put(f"Total,,{len(export.lines)} lots" + "," * 7)
    export.data = bytes(body)


def _record(cells: list[str], delimiter: str) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="\n").writerow(cells)
    return out.getvalue()[:-1]


def packed(export: Export) -> bytes:
    """The bytes of the file as it lies on disk."""
    if export.name.endswith(".gz"):
        return gzip.compress(export.data, compresslevel=9, mtime=0)
    return export.data


__all__ = ["Export", "Line", "export_all", "packed"]
