"""Which kinds are worth stopping for, and which hold their price whatever their condition."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from pipeline.answers.hunt_order import HuntOrder
from pipeline.answers.query import connect
from pipeline.errors import NotEnoughSales, WorkspaceError
from pipeline.sql import run
from pipeline.workspace import Workspace

# Ranked by the cautious end of an interval: a wide one must not win by its luck.
_KEYS: dict[HuntOrder, tuple[str, bool]] = {
    HuntOrder.median: ("median_low", True),
    HuntOrder.evidence: ("n_sales", True),
    HuntOrder.spread: ("spread", False),
    HuntOrder.holds: ("fair_low", True),
    HuntOrder.sensitive: ("fair_high", False),
    HuntOrder.trend: ("year_low", True),
}
_OF_THE_MODEL = (HuntOrder.holds, HuntOrder.sensitive, HuntOrder.trend)


@dataclass(frozen=True)
class Hunt:
    """Kinds in their rank, each with the columns of sql/hunt.sql; n_kinds: before the limit."""

    kinds: list[dict[str, Any]]
    n_kinds: int
    order: HuntOrder
    within: str | None
    min_sales: int
    as_of: dt.date


def hunt(
    workspace: Workspace,
    *,
    order: HuntOrder = HuntOrder.median,
    within: str | None = None,
    min_sales: int = 12,
    limit: int = 20,
) -> Hunt:
    """Kinds of things by what they bring, one row a kind and attribution class.

    Args:
        order: median by the lower end of its 95 % interval; evidence by sales; spread by the
            ratio of the quartiles, least first; holds and sensitive by what a fair one brings of
            a good one; trend by the last year of its family's index.
        within: a family or kind in any known wording: only it and what is narrower.
        min_sales: single sales that a kind needs; limit: kinds at most.

    Raises:
        NotEnoughSales: no kind has as many.
        UsageError: `within` names no kind. WorkspaceError: nothing has been published, or the
            order needs the price model and there is none.
    """
    from pipeline.answers.lookup import concept_of

    con = connect(workspace)
    root = None if within is None else concept_of(workspace, within, "category")
    result = run(con, "hunt", root_id=root.id if root else None, min_sales=min_sales)
    names = [column[0] for column in result.description or []]
    rows = [dict(zip(names, row, strict=True)) for row in result.fetchall()]
    if not rows:
        place = f" within {root.label}" if root else ""
        raise NotEnoughSales(
            f"Not enough sales: no kind{place} has {min_sales} comparable single sales.",
            todo="Ask with a lower --min-sales, or add sales.",
        )
    key, falling = _KEYS[order]
    ranked = [row for row in rows if row[key] is not None]
    if not ranked and order in _OF_THE_MODEL:
        raise WorkspaceError(
            f"The order '{order}' needs the price model, and the published database holds none "
            "that says so: it is switched off, or its sales are too few.",
            where=workspace.database,
            todo="Set enabled = true under [model] in data/settings.toml, or add sales, and run "
            "`comparables refresh`.",
        )
    ranked.sort(
        key=lambda r: (-r[key] if falling else r[key], -r["n_sales"], r["category_id"],
                       r["attribution"])
    )  # fmt: skip
    left_out = [row for row in rows if row[key] is None]
    as_of = con.execute("SELECT max(as_of) FROM refreshes").fetchall()[0][0]
    kinds = [*ranked, *left_out]
    return Hunt(kinds[:limit], len(kinds), order, root.label if root else None, min_sales, as_of)
