"""How the pipeline reads the demo, against the truth: `python -m tests.demo.compare [WORKSPACE]`.

Without a workspace a temporary one is made from pipeline/demo and refreshed. Figures only; what
must hold for good is asserted in test_demo.py.
"""

from __future__ import annotations

import csv
import math
import shutil
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations
from pathlib import Path
from typing import Any

import duckdb

DEMO = Path(__file__).parents[2] / "pipeline" / "demo"
TRUTH = Path(__file__).with_name("truth")
RESALE = ("resale",)


def make_workspace(folder: Path) -> Path:
    """A workspace with the demo's exports, settings and decisions."""
    shutil.copytree(DEMO / "raw", folder / "data" / "raw")
    shutil.copytree(DEMO / "decisions", folder / "data" / "decisions")
    shutil.copy(DEMO / "settings.toml", folder / "data" / "settings.toml")
    return folder


def read_truth(name: str) -> list[dict[str, str]]:
    with (TRUTH / f"{name}.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@dataclass(frozen=True)
class Rates:
    """Right, wrong and missed of one question."""

    right: int
    told: int
    true: int

    @property
    def precision(self) -> float:
        return self.right / self.told if self.told else 1.0

    @property
    def recall(self) -> float:
        return self.right / self.true if self.true else 1.0

    def __str__(self) -> str:
        return (
            f"precision {self.precision:.4f} ({self.right} of {self.told}), "
            f"recall {self.recall:.4f} ({self.right} of {self.true})"
        )


@dataclass
class Comparison:
    """Rows of the published tables by the place they came from, beside the truth of the place."""

    database: Path
    truth: list[dict[str, str]] = field(default_factory=lambda: read_truth("rows"))

    @cached_property
    def sales(self) -> dict[str, dict[str, Any]]:
        """Published sales by "source/file:line"."""
        return self._by_place(
            "SELECT s.*, split_part(f.path, '/', -1) AS file FROM sales AS s "
            "INNER JOIN refresh_files AS f USING (file_id)"
        )

    @cached_property
    def set_aside(self) -> dict[str, dict[str, Any]]:
        return self._by_place(
            "SELECT s.*, split_part(f.path, '/', -1) AS file FROM set_aside AS s "
            "INNER JOIN refresh_files AS f USING (file_id)"
        )

    @cached_property
    def links(self) -> list[dict[str, Any]]:
        """Links with the places of both rows."""
        found = self._by_place(
            "SELECT d.*, f.source_id, split_part(f.path, '/', -1) AS file FROM duplicates AS d "
            "INNER JOIN refresh_files AS f USING (file_id)",
            several=True,
        )
        home = {sale["sale_id"]: place for place, sale in self.sales.items()}
        rows = [
            {**r, "place": place, "kept": home.get(r["sale_id"])}
            for place, listed in found.items()
            for r in listed
        ]
        return [r for r in rows if r["kept"]]

    def _by_place(self, query: str, *, several: bool = False) -> dict[str, Any]:
        with duckdb.connect(str(self.database), read_only=True) as con:
            rows = con.sql(query).to_arrow_table().to_pylist()
        found: dict[str, Any] = {}
        for row in rows:
            place = f"{row['source_id']}/{row['file']}:{row['line_number']}"
            if several:
                found.setdefault(place, []).append(row)
            else:
                found[place] = row
        return found

    @cached_property
    def pairs(self) -> list[tuple[dict[str, str], dict[str, Any]]]:
        """Truth and published row of every row that was read as a sale or an offer."""
        return [
            (t, self.sales[t["key"]])
            for t in self.truth
            if t["key"] in self.sales and not t["broken"]
        ]

    @cached_property
    def ancestors(self) -> dict[str, set[str]]:
        with duckdb.connect(str(self.database), read_only=True) as con:
            up = dict(
                con.execute(
                    "SELECT kind || ' ' || concept_id, broader_id FROM concepts "
                    "WHERE broader_id IS NOT NULL"
                ).fetchall()
            )
        found: dict[str, set[str]] = {}
        for key in up:
            kind, _, start = key.partition(" ")
            seen: set[str] = set()
            at: str | None = start
            while at is not None and at not in seen:
                seen.add(at)
                at = up.get(f"{kind} {at}")
            found[key] = seen - {start}
        return found

    def near(self, kind: str, told: str | None, true: str) -> bool:
        """The concept itself, one above it or one below."""
        return told is not None and (
            told == true
            or told in self.ancestors.get(f"{kind} {true}", set())
            or true in self.ancestors.get(f"{kind} {told}", set())
        )

    # -----------------------------------------------------------------------------------------

    def single_things(self) -> list[tuple[dict[str, str], dict[str, Any]]]:
        """Rows of whole things, parts and bulk lots apart."""
        return [(t, s) for t, s in self.pairs if t["lot_kind"] != "bulk" and not t["part"]]

    def category(self) -> dict[str, float]:
        """Shares of the rows: accepted, of the accepted right, right or near, wrong."""
        rows = self.single_things()
        taken = [(t, s) for t, s in rows if s["category_id"]]
        exact = sum(s["category_id"] == t["category"] for t, s in taken)
        near = sum(self.near("category", s["category_id"], t["category"]) for t, s in taken)
        return {
            "accepted": len(taken) / len(rows),
            "right_of_accepted": exact / len(taken),
            "near_of_accepted": near / len(taken),
            "wrong_of_accepted": 1 - near / len(taken),
        }

    def wrong_categories(self, most: int = 40) -> list[tuple[tuple[str, str | None], int, str]]:
        """(true, told) with how often, and one title."""
        count: Counter[tuple[str, str | None]] = Counter()
        title: dict[tuple[str, str | None], str] = {}
        for t, s in self.single_things():
            if s["category_id"] != t["category"]:
                pair = (t["category"], s["category_id"])
                count[pair] += 1
                title.setdefault(pair, s["title_text"])
        return [(pair, n, title[pair]) for pair, n in count.most_common(most)]

    def terms(self) -> dict[str, float]:
        """Shares right of what the text tells."""
        rows = self.single_things()
        material = [(t, s) for t, s in rows if t["material_told"] == "1"]
        period = [(t, s) for t, s in rows if t["period_told"] == "1" and t["period"]]
        told = [(t, s) for t, s in rows if t["condition"] not in ("unknown", "")]
        silent = [(t, s) for t, s in rows if t["condition"] == "unknown"]
        dated = [(t, s) for t, s in rows if t["class"] == "period" and s["made_from_year"]]
        return {
            "material": _share(
                self.near("material", s["material_id"], t["material"]) for t, s in material
            ),
            "period": _share(self.near("period", s["period_id"], t["period"]) for t, s in period),
            "condition_told": _share(s["condition"] == t["condition"] for t, s in told),
            "condition_silent": _share(s["condition"] == "unknown" for t, s in silent),
            "class": _share(s["attribution"] == t["class"] for t, s in rows),
            "date_holds_year": _share(
                s["made_from_year"] - 12 <= int(t["made_year"]) <= (s["made_to_year"] or 9999) + 12
                for t, s in dated
            ),
        }

    def faults(self) -> Rates:
        """Faults that the text tells, wherever it tells them."""
        right = told = true = 0
        for t, s in self.single_things():
            wanted = {f for f in t["faults"].split("|") if f}
            found = set(s["faults"] or ())
            with_merits = wanted | {f for f in t["merits"].split("|") if f}
            right += len(wanted & found)
            true += len(wanted)
            told += len([f for f in found if f in with_merits]) - len(with_merits - wanted & found)
        return Rates(right, max(told, right), true)

    def lots(self) -> dict[str, Rates]:
        """Each kind of lot: told against true."""
        figures = {}
        for kind in ("pair", "set", "bulk"):
            of_kind = [t for t, s in self.pairs if s["lot_kind"] == kind]
            figures[kind] = Rates(
                sum(t["lot_kind"] == kind for t in of_kind),
                len(of_kind),
                sum(t["lot_kind"] == kind for t, _ in self.pairs),
            )
        several = [(t, s) for t, s in self.pairs if t["lot_kind"] != "single"]
        told = [(t, s) for t, s in self.pairs if s["lot_kind"] != "single"]
        figures["any lot"] = Rates(
            sum(s["lot_kind"] != "single" for _, s in several), len(told), len(several)
        )
        part = [(t, s) for t, s in self.pairs if "part_only" in s["flags"]]
        figures["part or empty box"] = Rates(
            sum(bool(t["part"]) for t, _ in part),
            len(part),
            sum(bool(t["part"]) for t, _ in self.pairs),
        )
        counted = [(t, s) for t, s in several if t["lot_kind"] != "bulk"]
        figures["pieces counted"] = Rates(
            sum(str(s["n_pieces"]) == t["n_pieces"] for t, s in counted), len(counted), len(counted)
        )
        return figures

    def lot_misses(self, most: int = 25) -> list[tuple[str, str, str]]:
        return [
            (t["lot_kind"], s["lot_kind"], s["title_text"])
            for t, s in self.pairs
            if t["lot_kind"] != s["lot_kind"]
        ][:most]

    # -----------------------------------------------------------------------------------------

    def duplicates(self) -> dict[str, Rates]:
        """Pairs of rows that tell of one event, and pairs of rows of one piece."""
        event: dict[str, list[str]] = {}
        for t in self.truth:
            if t["event"]:
                event.setdefault(t["event"], []).append(t["key"])
        true = {frozenset(p) for keys in event.values() for p in combinations(keys, 2)}
        groups: dict[str, set[str]] = {}
        for link in self.links:
            if link["is_dropped"]:
                groups.setdefault(link["kept"], {link["kept"]}).add(link["place"])
        told = {frozenset(p) for keys in groups.values() for p in combinations(sorted(keys), 2)}
        figures = {"one row per sale": Rates(len(true & told), len(told), len(true))}
        by_kind: dict[str, set[frozenset[str]]] = {}
        for t in self.truth:
            if t["duplicate_of"]:
                by_kind.setdefault(t["duplicate_kind"], set()).add(
                    frozenset((t["key"], t["duplicate_of"]))
                )
        for kind, wanted in sorted(by_kind.items()):
            figures[f"  {kind}"] = Rates(len(wanted & told), len(wanted & told), len(wanted))
        place_of_event = {t["key"]: t["event"] for t in self.truth if t["event"]}
        for kind, column in (("relisted", "relisting_of"), ("resale", "resale_of")):
            wanted_events = {
                frozenset((t["event"], place_of_event.get(t[column], "")))
                for t in self.truth
                if t[column]
            }
            told_events = {
                frozenset(
                    (place_of_event.get(link["kept"], ""), place_of_event.get(link["place"], ""))
                )
                for link in self.links
                if link["reason"] == kind
            }
            told_events |= self._resales_in_sales(place_of_event) if kind == "resale" else set()
            figures[kind] = Rates(
                len(wanted_events & told_events), len(told_events), len(wanted_events)
            )
        return figures

    def _resales_in_sales(self, events: dict[str, str]) -> set[frozenset[str]]:
        home = {s["sale_id"]: place for place, s in self.sales.items()}
        return {
            frozenset((events.get(place, ""), events.get(home[s["resale_of_sale_id"]], "")))
            for place, s in self.sales.items()
            if s["resale_of_sale_id"] in home
        }

    # -----------------------------------------------------------------------------------------

    def prices(self) -> dict[str, float]:
        """Basis prices against the truth, of rows whose price is told as it was."""
        rows = [
            (t, s)
            for t, s in self.pairs
            if t["outcome"] == "sold" and not t["wild_factor"] and not t["wrong"]
        ]
        close = sum(
            s["basis_amount"] is not None
            and abs(float(s["basis_amount"]) / float(t["basis_gbp"]) - 1) < 0.005
            for t, s in rows
        )
        unsold = [(t, s) for t, s in self.pairs if t["outcome"] != "sold"]
        return {
            "basis_right": close / len(rows),
            "offers_kept_from_bands": _share(not s["is_comparable"] for _, s in unsold),
        }

    def wild(self) -> dict[str, float]:
        """Slipped prices that were flagged, and clean comparable sales that were flagged."""
        flags = {
            "price_out_of_line_low", "price_out_of_line_high", "price_unlike_terms_low",
            "price_unlike_terms_high", "price_out_of_bounds",
        }  # fmt: skip
        eligible = [
            (t, s)
            for t, s in self.single_things()
            if t["outcome"] == "sold" and not (set(s["flags"]) - flags)
        ]
        slipped = [(t, s) for t, s in eligible if t["wild_factor"]]
        clean = [(t, s) for t, s in eligible if not t["wild_factor"] and not t["wrong"]]
        return {
            "n_slipped": float(len(slipped)),
            "found": _share(bool(flags & set(s["flags"])) for _, s in slipped),
            "n_clean": float(len(clean)),
            "clean_flagged": _share(bool(flags & set(s["flags"])) for _, s in clean),
        }

    def bands(self, least: int = 12) -> dict[str, float]:
        """Bands of kinds against the true medians of their cells, where `least` sales stand."""
        truth = {
            (c["category"], c["condition"], c["class"], c["set_size"]): float(c["median"])
            for c in read_truth("cells")
        }
        with duckdb.connect(str(self.database), read_only=True) as con:
            rows = con.execute(
                "SELECT category_id, condition, attribution, set_size, n_sales, median, "
                "median_low, median_high FROM price_bands WHERE median_low IS NOT NULL "
                "AND n_sales >= ? AND n_own = n_sales",
                [least],
            ).fetchall()
        held, ratio = [], []
        for category, condition, attribution, size, _, median, low, high in rows:
            true = truth.get((category, condition, attribution, size))
            if true is None:
                continue
            held.append(low <= true <= high)
            ratio.append(median / true)
        ratio.sort()
        return {
            "cells": float(len(held)),
            "interval_holds_truth": _share(held),
            "median_ratio": ratio[len(ratio) // 2] if ratio else 0.0,
            "ratio_p10": ratio[len(ratio) // 10] if ratio else 0.0,
            "ratio_p90": ratio[len(ratio) * 9 // 10] if ratio else 0.0,
        }

    def adjustments(self) -> dict[str, tuple[float, int]]:
        """By scope and kind: the share of published 95 % intervals that hold the true effect.

        The truth of a term is that of its category, else of its family, else of all.
        """
        truth = {
            (e["where"], e["kind"], e["name"]): float(e["effect"]) for e in read_truth("effects")
        }
        with duckdb.connect(str(self.database), read_only=True) as con:
            told = con.sql("FROM price_adjustments").to_arrow_table().to_pylist()
        held: dict[str, list[bool]] = {}
        for row in told:
            for where in (row["category_id"], row["family_id"], ""):
                true = truth.get((where, row["kind"], row["term"]))
                usual = truth.get((where, row["kind"], row["reference"]))
                if true is not None and (usual is not None or row["kind"] == "fault"):
                    percent = 100 * math.expm1(true - (usual or 0.0))
                    holds = row["low_percent"] <= percent <= row["high_percent"]
                    held.setdefault(f"{row['scope']}, {row['kind']}", []).append(holds)
                    break
        held["all"] = [holds for some in held.values() for holds in some]
        return {name: (_share(some), len(some)) for name, some in held.items()}

    def broken(self) -> dict[str, tuple[int, int]]:
        """What was broken: set aside at its place, of how many; and good rows set aside."""
        figures: dict[str, tuple[int, int]] = {}
        for t in self.truth:
            aside = t["key"] in self.set_aside
            name = t["broken"] or ("no price told" if t["outcome"] == "poa" else "good rows")
            n, of = figures.get(name, (0, 0))
            figures[name] = (n + aside, of + 1)
        return dict(sorted(figures.items()))

    def cautions(self) -> dict[str, float]:
        """Rows that call for a caution and got one; rows of a false alarm that got none."""
        called = [(t, s) for t, s in self.single_things() if t["cautions"]]
        alarm = [(t, s) for t, s in self.single_things() if t["false_alarm"] and not t["cautions"]]
        return {
            "n_called": float(len(called)),
            "got_one": _share(bool(s["cautions"]) for _, s in called),
            "n_false_alarms": float(len(alarm)),
            "alarm_not_raised": _share(not s["cautions"] for _, s in alarm),
        }

    def report(self) -> str:
        """Every figure, a line each."""
        lines: list[str] = []

        def tell(name: str, figures: dict[str, Any]) -> None:
            lines.append(name)
            for key, value in figures.items():
                said = f"{value:.4f}" if isinstance(value, float) else str(value)
                lines.append(f"  {key:<24} {said}")

        tell(
            "rows",
            {
                "of truth": len(self.truth),
                "published": len(self.sales),
                "set aside": len(self.set_aside),
                "links": len(self.links),
            },
        )
        tell("category", self.category())
        tell("terms", self.terms())
        tell("faults", {"told": self.faults()})
        tell("lots", self.lots())
        tell("duplicates", self.duplicates())
        tell("prices", self.prices())
        tell("slipped prices", self.wild())
        tell("bands (12 sales and more)", self.bands())
        tell(
            "effects whose 95 % interval holds the truth",
            {name: f"{share:.4f} of {n}" for name, (share, n) in self.adjustments().items()},
        )
        tell("broken lines set aside (n, of)", self.broken())
        tell("cautions", self.cautions())
        return "\n".join(lines) + "\n"


def _share(flags: Any) -> float:
    told = list(flags)
    return sum(told) / len(told) if told else 1.0


def main(arguments: list[str]) -> int:
    if arguments:
        _tell(Path(arguments[0]) / "data" / "curated" / "comparables.duckdb")
        return 0
    from pipeline.refresh import refresh

    with tempfile.TemporaryDirectory() as folder:
        place = make_workspace(Path(folder))
        refresh(place)
        _tell(place / "data" / "curated" / "comparables.duckdb")
    return 0


def _tell(database: Path) -> None:
    found = Comparison(database)
    sys.stdout.write(found.report())
    sys.stdout.write("categories read otherwise (true, told), how often, one title\n")
    for pair, n, title in found.wrong_categories():
        sys.stdout.write(f"  {n:>4} {pair[0]} -> {pair[1]}: {title}\n")
    sys.stdout.write("lots read otherwise (true, told)\n")
    for true, told, title in found.lot_misses():
        sys.stdout.write(f"  {true} -> {told}: {title}\n")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
