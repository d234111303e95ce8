"""Make the demo: `python -m tests.demo.generate OUTDIR`.

Writes OUTDIR/demo (what the package carries) and OUTDIR/truth (what only the tests see). The same
seed gives the same bytes; of a .gz file, the same bytes inside.
"""

from __future__ import annotations

import csv
import io
import sys
from pathlib import Path

import numpy as np

from tests.demo import settings_files
from tests.demo.files import Export, Line, export_all, packed
from tests.demo.market import Market
from tests.demo.model import (
    CLASSES,
    FIRST_DAY,
    FREE_SHIPPING_EFFECT,
    GRADE_EFFECT,
    GRADES,
    MAKER_EFFECT,
    MARKET_EFFECT,
    MARKETS,
    N_DAYS,
    PAIR_EFFECT,
    PERIODS,
    SET_EXPONENT,
    SIZED,
    SOURCES,
    TOLD_GRADES,
    draw_pieces,
    kinds,
    size_class,
    trend,
)
from tests.demo.trades import TRADES

SEED = 20261025
CELL_DRAWS = 40_000
EXPECTED_SALES_OF_A_CELL = 3.0

ROW_COLUMNS = (
    "key",
    "source",
    "file",
    "line",
    "listing_id",
    "event",
    "piece",
    "sold_on",
    "outcome",
    "broken",
    "category",
    "trade",
    "material",
    "material_told",
    "period",
    "period_told",
    "made_year",
    "class",
    "true_class",
    "rung",
    "condition",
    "true_condition",
    "faults",
    "faults_told_in",
    "merits",
    "maker",
    "lot_kind",
    "n_pieces",
    "part",
    "cautions",
    "false_alarm",
    "price_told",
    "currency",
    "basis_gbp",
    "basis_usd",
    "wild_factor",
    "duplicate_of",
    "duplicate_kind",
    "wrong",
    "relisting_of",
    "resale_of",
    "n_slips",
)


def main(arguments: list[str]) -> int:
    if len(arguments) != 1:
        sys.stderr.write("usage: python -m tests.demo.generate OUTDIR\n")
        return 2
    write(Path(arguments[0]))
    return 0


def write(out: Path) -> list[Export]:
    """Write the demo and its truth under a folder."""
    exports = export_all(Market(SEED).prepared())
    demo, truth = out / "demo", out / "truth"
    for export in exports:
        place = demo / "raw" / SOURCES[export.source] / export.name
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(packed(export))
    for source, text in settings_files.SOURCES.items():
        _text(demo / "raw" / source / "source.toml", text)
    _text(demo / "settings.toml", settings_files.SETTINGS)
    _text(demo / "README.txt", settings_files.README)
    _text(demo / "decisions" / "terms.csv", settings_files.terms_csv())
    _text(demo / "decisions" / "vocabulary" / "makers.csv", settings_files.makers_csv())
    _text(demo / "round.csv", settings_files.round_csv())
    # a checkout must not touch the ends of the lines: one source has its own
    _text(demo / ".gitattributes", "* -text\n")
    _text(truth / ".gitattributes", "* -text\n")
    _text(truth / "rows.csv", rows_csv(exports))
    _text(truth / "cells.csv", cells_csv())
    _text(truth / "effects.csv", effects_csv())
    return exports


def _text(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.encode("utf-8"))


def _csv(header: tuple[str, ...], rows: list[list[object]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(rows)
    return out.getvalue()


# ---------------------------------------------------------------------------------------------
# truth of the rows


def key_of(export_source: int, line: Line) -> str:
    return f"{SOURCES[export_source]}/{line.file}:{line.number}"


def rows_csv(exports: list[Export]) -> str:
    """One line a record of an export, or a line that is none."""
    places: dict[int, str] = {}
    final: dict[int, str] = {}
    for export in exports:
        for line in export.lines:
            places[id(line)] = key_of(export.source, line)
            if (
                line.row is not None
                and not line.broken
                and (line.duplicate_of is None or line.duplicate_kind == "same_event")
            ):
                final[id(line.row)] = places[id(line)]
    rows = [_row(export.source, line, places, final) for export in exports for line in export.lines]
    return _csv(ROW_COLUMNS, rows)


def _row(source: int, line: Line, places: dict[int, str], final: dict[int, str]) -> list[object]:
    row = line.row
    head: list[object] = [places[id(line)], SOURCES[source], line.file, line.number]
    if row is None or line.broken:
        return [*head, *[""] * 5, line.broken, *[""] * (len(ROW_COLUMNS) - 10)]
    item = row.item
    whole = row.lot_kind != "bulk" and not row.part
    twin = places[id(line.duplicate_of)] if line.duplicate_of else ""
    return [
        *head,
        row.listing,
        row.event,
        item.piece if whole else "",
        row.day.isoformat(),
        row.outcome,
        "",
        item.kind.id,
        item.kind.trade,
        item.material if whole else "",
        int(item.material_told),
        item.period.id if whole else "",
        int(item.period_told),
        item.year if whole else "",
        CLASSES[item.told_class] if whole else "",
        CLASSES[item.made] if whole else "",
        item.rung,
        item.told_grade,
        GRADES[item.grade] if whole else "",
        "|".join(item.faults),
        item.faults_told_in if item.faults else "",
        "|".join(item.merits),
        item.maker,
        row.lot_kind,
        "" if row.n_pieces is None else row.n_pieces,
        row.part,
        "|".join(dict.fromkeys(item.cautions)),
        item.false_alarm,
        "" if row.price is None else f"{row.price:.2f}",
        row.currency,
        "" if row.basis_gbp is None else f"{row.basis_gbp:.2f}",
        "" if row.basis_usd is None else f"{row.basis_usd:.2f}",
        "" if row.wild == 1 else f"{row.wild:g}",
        twin,
        line.duplicate_kind,
        line.wrong,
        final.get(id(row.relisting_of), "") if row.relisting_of else "",
        final.get(id(row.resale_of), "") if row.resale_of else "",
        item.n_slips or "",
    ]


# ---------------------------------------------------------------------------------------------
# truth of the cells and effects


def cells_csv() -> str:
    """The true median of every cell that a few sales can be expected in.

    A cell is what the text tells: category, class, condition and size of the set. Its median is
    taken over a large sample of the same market, in GBP, buyer's price before tax and shipping.
    """
    rows: list[list[object]] = []
    for kind in kinds():
        rng = np.random.Generator(
            np.random.PCG64(np.random.SeedSequence([SEED, *f"cells {kind.id}".encode()]))
        )
        drawn = draw_pieces(kind, CELL_DRAWS, rng)
        sizes = np.array([size_class(int(n)) for n in range(14)])[drawn.n_pieces]
        for told_class in np.unique(drawn.told_class):
            for size in sorted(set(sizes)):
                whole = (drawn.told_class == told_class) & (sizes == size)
                for grade in (-1, *np.unique(drawn.told_grade)):
                    cell = whole if grade < 0 else whole & (drawn.told_grade == grade)
                    share = float(cell.mean())
                    if share * kind.n_sales < EXPECTED_SALES_OF_A_CELL:
                        continue
                    prices = np.exp(drawn.log_price[cell])
                    name = "any" if grade < 0 else TOLD_GRADES[int(grade)]
                    low, middle, high = np.quantile(prices, [0.1, 0.5, 0.9])
                    rows.append(
                        [
                            kind.id,
                            kind.trade,
                            kind.family,
                            name,
                            CLASSES[int(told_class)],
                            size,
                            f"{share:.5f}",
                            int(cell.sum()),
                            f"{low:.2f}",
                            f"{middle:.2f}",
                            f"{high:.2f}",
                        ]
                    )
    header = (
        "category",
        "trade",
        "family",
        "condition",
        "class",
        "set_size",
        "share",
        "n_drawn",
        "p10",
        "median",
        "p90",
    )
    return _csv(header, rows)


def effects_csv() -> str:
    """Every effect on the log price: where it holds, its kind, its name, its size."""
    rows: list[list[object]] = []
    for name, trade in TRADES.items():
        rows.append([name, "class", "style", trade.style[1]])
        rows += [[name, "fault", fault, effect] for fault, (_, effect) in trade.faults.items()]
        rows += [[name, "merit", merit, effect] for merit, (_, effect) in trade.merits.items()]
        rows.append([name, "trend", "a year", trade.trend])
        days = np.array(
            [d for d in range(N_DAYS) if str(FIRST_DAY + np.timedelta64(d, "D")).endswith("-15")]
        )
        for day, effect in zip(days, trend(name, days), strict=True):
            month = str(FIRST_DAY + np.timedelta64(int(day), "D"))[:7]
            rows.append([name, "month", month, round(float(effect), 5)])
    for kind in kinds():
        rows += [[kind.id, "base", "", kind.base], [kind.id, "sigma", "", kind.sigma]]
        for grade, effect in zip(GRADES, GRADE_EFFECT, strict=True):
            rows.append([kind.id, "condition", grade, round(kind.sensitivity * float(effect), 5)])
        rows.append([kind.id, "class", "reproduction", kind.copy_effect])
        rows += [[kind.id, "material", name, effect] for name, _, effect in kind.materials]
        if kind.id in SIZED:
            rows.append([kind.id, "size", "exponent", SIZED[kind.id]])
    for group, periods in PERIODS.items():
        rows += [[group, "period", p.id or f"{p.first}-{p.last}", p.effect] for p in periods]
    rows += [["", "market", m, float(e)] for m, e in zip(MARKETS, MARKET_EFFECT, strict=True)]
    rows += [
        ["", "maker", "any", MAKER_EFFECT],
        ["", "shipping", "free", FREE_SHIPPING_EFFECT],
        ["", "set", "pair", round(PAIR_EFFECT, 5)],
        ["", "set", "exponent", SET_EXPONENT],
    ]
    return _csv(("where", "kind", "name", "effect"), rows)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
