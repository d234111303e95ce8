"""Estimates: pieces are read, held against the price model, and answered with their evidence."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa

from pipeline.answers.estimate.columns import ESTIMATES
from pipeline.answers.estimate.grid import comparables_of, heaviest_first, sum_of
from pipeline.answers.estimate.pieces import Pieces, as_items, read_pieces
from pipeline.answers.lookup import vocabulary_of
from pipeline.answers.query import connect
from pipeline.errors import UsageError, WorkspaceError
from pipeline.sql import run
from pipeline.stages.model import kept_model
from pipeline.stages.normalise import TermReader
from pipeline.statistics.ranges import LEVELS
from pipeline.terms.decisions import read_term_decisions
from pipeline.terms.kept_lexicon import use_kept
from pipeline.versions import METHOD_VERSION
from pipeline.workspace import Workspace

_LOW, _MIDDLE, _HIGH = (LEVELS.index(level) for level in (0.1, 0.5, 0.9))
NO_FIGURE = "no figure: "
CLASS_WORDS = {
    "period": "of its period", "style": "later in the style", "reproduction": "a reproduction",
    "unknown": "nothing told of its time",
}  # fmt: skip
_NO_FIGURE_FLAGS = {
    "part_only": "a part, an empty box or the like, and bands are of whole pieces",
    "not_sold": "the words say that it was offered and not sold",
}


def estimate(
    workspace: Workspace | str | Path, items: pa.Table | list[dict[str, object]] | list[str]
) -> pa.Table:
    """What described pieces may bring, one row a piece, in their order.

    Args:
        workspace: the workspace, or its folder; it has been refreshed.
        items: descriptions, or rows with any of description, category, material, period,
            condition, attribution, maker, size, faults, market, quantity.

    Returns:
        Table with the columns of `ESTIMATES`; amounts are null where there are not enough sales.
        An estimate is no appraisal for tax, insurance or a court.

    Raises:
        UsageError: no piece is described, a field or a market is unknown.
        WorkspaceError: nothing has been published, or no price model.
    """
    return Estimator(workspace).estimate(items)


class Estimator:
    """A published database with its price model and vocabulary, opened once for many pieces.

    Raises:
        WorkspaceError: nothing has been published, or the database holds no price model.
    """

    def __init__(self, workspace: Workspace | str | Path) -> None:
        place = workspace if isinstance(workspace, Workspace) else Workspace.at(workspace)
        self.workspace = place
        self.settings = place.settings()
        self.con = connect(place)
        model = kept_model(self.con)
        if model is None:
            raise WorkspaceError(
                "The published database holds no price model: the model is switched off, or there "
                f"are fewer than {self.settings.model.least_sales} comparable sales.",
                where=place.database,
                todo="Set enabled = true under [model] in data/settings.toml, or add sales, and "
                "run `comparables refresh`.",
            )
        self.model = model
        row = self.con.execute(
            "SELECT refresh_id, currency, basis, refreshed_at FROM refreshes "
            "ORDER BY refreshed_at DESC LIMIT 1"
        ).fetchall()[0]
        self.refresh_id, self.currency, self.basis, self.refreshed_at = row
        self.markets = [
            market
            for market, _ in self.con.execute(
                "SELECT market, n_comparable FROM markets ORDER BY n_comparable DESC, market"
            ).fetchall()
        ]
        self._instead: dict[tuple[str, str], str] = {}
        vocabulary = vocabulary_of(place)
        use_kept(vocabulary, place.lexicon)
        self.reader = TermReader(
            vocabulary,
            read_term_decisions(place.decisions / "terms.csv", vocabulary),
            self.settings.terms,
        )

    @property
    def as_of(self) -> dt.date:
        """The day that prices are brought to: of the newest sale."""
        return self.model.as_of

    def label_of(self, kind: str, concept_id: str) -> str:
        """The preferred label of a concept; the id where the vocabulary does not know it."""
        vocabulary = self.reader.vocabulary
        if vocabulary.has(kind, concept_id):
            return vocabulary.concept(kind, concept_id).pref_label
        return concept_id

    def estimate(
        self, items: pa.Table | list[dict[str, object]] | list[str], *, with_sales: bool = True
    ) -> pa.Table:
        """See `estimate`.

        Args:
            with_sales: False leaves out what a figure rests on (sum and comparables), for many
                pieces at once.
        """
        given = as_items(items)
        pieces = read_pieces(given, self.reader, self.as_of, self.currency, self.label_of)
        markets = [self._market(text) for text in given["market"].to_pylist()]
        described = _for_model(pieces.terms, markets)
        found = self.model.predict(described, explain=with_sales, said_in_full=False)
        own = self._own_sales(pieces.terms)
        why = self._whether(pieces, found, own)
        rows = self._rows(pieces, described, found, why, own)
        for row, description in zip(rows, given["description"].to_pylist(), strict=True):
            row["description"] = description
        return pa.Table.from_pylist(rows, schema=ESTIMATES.schema())

    def _market(self, text: str | None) -> str | None:
        """The market that a piece is to be sold in; the one with most sales where none is told."""
        if not text or not text.strip():
            return self.markets[0] if self.markets else None
        wanted = text.strip().casefold()
        for market in self.markets:
            if market.casefold() == wanted:
                return market
        raise UsageError(
            f"No sales are known of a market '{text.strip()}'.",
            todo=f"The markets with sales are {', '.join(self.markets)}.",
        )

    def _whether(
        self, pieces: Pieces, found: pa.Table, own: dict[tuple[str, str], tuple[int, dt.date]]
    ) -> list[tuple[bool, str]]:
        """Whether each piece gets a figure, and why."""
        least = self.settings.estimate.least_sales
        out = []
        for i, row in enumerate(pieces.terms.to_pylist()):
            n, evidence = found["n_own"][i].as_py(), found["evidence"][i].as_py()
            stops = [flag for flag in row["term_flags"] if flag in _NO_FIGURE_FLAGS]
            if row["category_id"] is None:
                likely = ", ".join(pieces.candidates[i])
                out.append((False, "not clear what it is" + (
                    f": perhaps {likely}; name the kind" if likely
                    else "; name the kind in other words, or teach its label"
                )))  # fmt: skip
            elif stops:
                out.append((False, NO_FIGURE + _NO_FIGURE_FLAGS[stops[0]]))
            elif row["set_size"] == "bulk":
                out.append(
                    (False, NO_FIGURE + "a lot is no single piece or set, and has no like sales")
                )
            elif n < least or evidence in ("none", "family"):
                out.append((False, self._too_few(row, n, own)))
            else:
                share = found["own_share"][i].as_py()
                out.append((True, (
                    f"{evidence} evidence: {n} sales of {self._kind_of(row)}; {share:.0%} of the "
                    "level comes from them, the rest from like kinds"
                )))  # fmt: skip
        return out

    def _kind_of(self, row: dict[str, Any]) -> str:
        """A piece's category and class in words."""
        return f"{self.label_of('category', row['category_id'])}, {CLASS_WORDS[row['attribution']]}"

    def _too_few(
        self, row: dict[str, Any], n: int, own: dict[tuple[str, str], tuple[int, dt.date]]
    ) -> str:
        """Not enough sales, and where there are some: other classes, narrower kinds."""
        category, kind = row["category_id"], row["attribution"]
        told = (
            f"not enough sales: {n} of {self._kind_of(row)}; "
            f"{self.settings.estimate.least_sales} are needed"
        )
        others = [
            f"{m} {CLASS_WORDS[k]}" for (c, k), (m, _) in own.items() if c == category and k != kind
        ]
        if others:
            told += f". Others of it: {', '.join(others)}"
        if (category, kind) not in self._instead:
            self._instead[category, kind] = self._named_instead(category, kind)
        return told + self._instead[category, kind]

    def _named_instead(self, category: str, kind: str) -> str:
        """Kinds that do have sales: those below a category, else those near it."""
        kinds = run(self.con, "estimate_kinds", category=category).fetchall()
        if kinds:
            return ". Name a narrower kind: " + _counted(kinds)
        near = run(
            self.con, "estimate_near_kinds", category=category, attribution=kind,
            least=self.settings.estimate.least_sales,
        ).fetchall()  # fmt: skip
        return ". Kinds near it with sales: " + _counted(near) if near else ""

    def _own_sales(self, terms: pa.Table) -> dict[tuple[str, str], tuple[int, dt.date]]:
        """Count and newest day of the sales, by category and attribution class."""
        wanted = sorted({c for c in terms["category_id"].to_pylist() if c})
        rows = run(self.con, "estimate_own_sales", categories=wanted).fetchall()
        return {(category, kind): (n, day) for category, kind, n, day in rows}

    def _rows(
        self,
        pieces: Pieces,
        described: pa.Table,
        found: pa.Table,
        why: list[tuple[bool, str]],
        own: dict[tuple[str, str], tuple[int, dt.date]],
    ) -> list[dict[str, Any]]:
        terms, answers = pieces.terms.to_pylist(), found.to_pylist()
        asked = described.to_pylist()
        with_sales = "neighbours" in found.column_names
        sales = self._sales(answers, why) if with_sales else {}
        rows = []
        for i, (term, answer) in enumerate(zip(terms, answers, strict=True)):
            has_figure, reason = why[i]
            kind = (term["category_id"], term["attribution"])
            row = {
                **{name: term[name] for name in ESTIMATES.names if name in term},
                "category": term["category_id"] and self.label_of("category", term["category_id"]),
                "understood": pieces.understood[i],
                "not_understood": pieces.unread[i],
                "market": asked[i]["market"],
                "currency": self.currency,
                "basis": self.basis,
                "evidence": answer["evidence"] if term["category_id"] else "none",
                "n_sales": answer["n_own"],
                "newest_sold_on": own[kind][1] if kind in own else None,
                "own_share": answer["own_share"],
                "why": reason,
                "as_of": self.as_of,
                "refresh_id": self.refresh_id,
                "method_version": METHOD_VERSION,
            }
            if has_figure:
                prices = np.exp(answer["quantiles"])
                row |= {
                    "low_amount": float(prices[_LOW]),
                    "value_amount": float(prices[_MIDDLE]),
                    "high_amount": float(prices[_HIGH]),
                }
            if has_figure and with_sales:
                row |= {
                    "sum": sum_of(answer["contributions"]),
                    "comparables": comparables_of(
                        answer["neighbours"], sales, asked[i], self.as_of, self.label_of,
                        self.settings.estimate.comparables,
                    ),
                }  # fmt: skip
            rows.append(row)
        return rows

    def _sales(
        self,
        answers: list[dict[str, Any]],
        why: list[tuple[bool, str]],
    ) -> dict[str, dict[str, Any]]:
        """The sales that are named, by sale_id."""
        most = self.settings.estimate.comparables
        named: dict[str, str | None] = {}  # sales with their categories
        for answer, (has_figure, _) in zip(answers, why, strict=True):
            if has_figure:
                shown = heaviest_first(answer["neighbours"])[:most]
                named |= {one["sale_id"]: one["category_id"] for one in shown}
        if not named:
            return {}
        categories = sorted({category for category in named.values() if category})
        con = run(self.con, "estimate_sales", categories=categories, sale_ids=sorted(named))
        names = [column[0] for column in con.description or []]
        rows = (dict(zip(names, row, strict=True)) for row in con.fetchall())
        return {row["sale_id"]: row for row in rows}


def _counted(kinds: list[tuple[str, str, int]]) -> str:
    return ", ".join(f"{label} ({n})" for _, label, n in kinds)


def _for_model(terms: pa.Table, markets: list[str | None]) -> pa.Table:
    """The columns that the price model reads."""
    columns = {
        name: terms[name]
        for name in (
            "family_id", "category_id", "attribution", "condition", "material_id", "period_id",
            "faults", "title_text", "measures",
        )
    }  # fmt: skip
    columns["set_class"] = terms["set_size"]
    columns["market"] = pa.array(markets, pa.string())
    return pa.table(columns)
