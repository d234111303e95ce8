"""The judge of a contract: Great Expectations, asked each question once for all tables.

An expectation costs the judge some hundredths of a second whatever it is asked of, and a contract
makes hundreds of them, most alike ("every row has a value"). So the values of all columns that
must pass the same expectation are laid under one another in one tall frame, each beside the check
that asks and the key of its row.
"""

from __future__ import annotations

import os
from typing import Any

import pandas as pd

ASKED_BY, ROW_KEY, VALUE = "asked_by", "row_key", "value"
SHOWN = 20
# the judge copies its arguments dozens of times; a longer list is looked up before, and the judge
# sees what came of it
_LONGEST_LIST = 100

Expectation = tuple[str, dict[str, Any]]
NOT_NULL: Expectation = ("ExpectColumnValuesToNotBeNull", {})
TRUE: Expectation = ("ExpectColumnValuesToBeInSet", {"value_set": [True]})
ONCE: Expectation = ("ExpectColumnValuesToBeUnique", {})


def between(**limit: float) -> Expectation:
    """Values lie within `min_value` or `max_value`, both inclusive; nulls are not judged."""
    return "ExpectColumnValuesToBeBetween", dict(limit)


def one_of(values: list[str]) -> Expectation:
    """Values stand in a closed list; nulls are not judged."""
    return "ExpectColumnValuesToBeInSet", {"value_set": values}


class Judge:
    """Questions are put with `ask` and answered together; the judge reports to nobody."""

    def __init__(self) -> None:
        os.environ["GX_ANALYTICS_ENABLED"] = "false"
        import great_expectations as gx
        from great_expectations.data_context.types.base import ProgressBarsConfig

        self._gx = gx
        context = gx.get_context(mode="ephemeral")
        context.variables.progress_bars = ProgressBarsConfig(globally=False)
        source = context.data_sources.add_pandas("tables")
        self._batch = source.add_dataframe_asset("frame").add_batch_definition_whole_dataframe(
            "all"
        )
        self._asked: dict[str, tuple[Expectation, list[pd.DataFrame]]] = {}
        self._n_suites = 0

    def ask(
        self, expectation: Expectation, asked_by: int, keys: pd.Series, values: pd.Series
    ) -> None:
        """Whether each value is as expected. Nothing is judged before `answers`.

        Args:
            expectation: one of this module's: NOT_NULL, TRUE, ONCE, `between`, `one_of`.
            asked_by: number of the check, by which `answers` tells of it.
            keys: n names of rows, for the report.
            values: n values, in the order of `keys`.
        """
        if not len(values):
            return
        frame = pd.DataFrame({ASKED_BY: asked_by, ROW_KEY: keys, VALUE: values})
        listed = expectation[1].get("value_set", ())
        if len(listed) > _LONGEST_LIST:
            known = frame[VALUE].isin(listed) | frame[VALUE].isna()
            expectation, frame[VALUE] = TRUE, known
        _, frames = self._asked.setdefault(repr(expectation), (expectation, []))
        frames.append(frame)

    def answers(self) -> dict[int, list[str]]:
        """For each check that found a fault, the keys of rows at fault, `SHOWN` at most.

        A check that could not be made counts as one that found a fault, with the reason for a
        key. What was asked is forgotten then.
        """
        at_fault: dict[int, list[str]] = {}
        for (kind, arguments), frames in self._asked.values():
            if kind == NOT_NULL[0]:
                frames = [one.astype({VALUE: "object"}) for one in frames]
            frame = pd.concat(frames, ignore_index=True)
            make = getattr(self._gx.expectations, kind)
            result = self._put(frame, make(column=VALUE, **arguments))
            if result.success:
                continue
            listed = result.result.get("unexpected_index_list")
            if not listed:
                raised = result.exception_info.get("exception_message")
                for one in frame[ASKED_BY].unique().tolist():
                    at_fault[one] = [f"the check itself failed: {raised}"]
                continue
            for item in listed:
                keys = at_fault.setdefault(int(item[ASKED_BY]), [])
                key = str(item[ROW_KEY])
                if len(keys) < SHOWN and key not in keys:
                    keys.append(key)
        self._asked.clear()
        return at_fault

    def is_empty(self, frame: pd.DataFrame) -> bool:
        """Whether a frame has no row."""
        make = self._gx.expectations.ExpectTableRowCountToEqual
        return bool(self._put(frame, make(value=0)).success)

    def _put(self, frame: pd.DataFrame, expectation: Any) -> Any:
        self._n_suites += 1
        suite = self._gx.ExpectationSuite(name=f"contract {self._n_suites}")
        suite.add_expectation(expectation)
        batch = self._batch.get_batch(batch_parameters={"dataframe": frame})
        form = {
            "result_format": "COMPLETE",
            "unexpected_index_column_names": [ASKED_BY, ROW_KEY],
        }
        return batch.validate(suite, result_format=form).results[0]
