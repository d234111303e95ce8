"""Sizes, weights and carats that titles and descriptions state, as numbers.

A piece may be told by its height, its width, both, or one number of which nobody knows the axis,
in inches or centimetres; `largest_cm`, the largest side told, is what all these have in common.
A size of a part ("dial 7 in", "frame 40 x 50 cm") is none of the whole, the same size told in two
units counts once, and where two sizes are told and neither can be known as that of the whole, none
is read: no size is better than a wrong one.

Whole columns are searched by Arrow; Python reads each distinct wording of a size once.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cache

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.terms.size_context import (
    AFTER,
    BEFORE,
    FRAMED,
    IMAGE,
    NUMBERED,
    OUTER,
    PART,
    PRECIOUS,
    QUOTED,
    SCALE,
    SMALL,
    STONES,
    WEIGHING,
    WHOLE,
    WORD,
    letters,
    letters_of_text,
)
from pipeline.terms.size_forms import EDGE, RUN, UNIT, fold_sizes, may_state_sizes
from pipeline.terms.size_runs import Run, Setting, Side, read_run

LARGEST, WEIGHT, CARATS = "largest_cm", "weight_g", "carats"
AXES = ("height", "width", "depth", "length", "diameter")
NAMES = (LARGEST, *(f"{axis}_cm" for axis in AXES), WEIGHT, CARATS)
SIZES_SCHEMA = pa.schema([(name, pa.float64()) for name in NAMES])
DECIMALS = 4  # a size is never told more finely; keeps 30 cm from becoming 30.000000000000004

_SIGN = "\x1f"
_OPENING = "#"  # of a text, so that a pattern can tell it from what follows a run
# Two tellings of one length lie apart by their rounding and so little; common practice, no source.
_NEAR = 0.015

Floats = npt.NDArray[np.float64]


def read_sizes(texts: pa.Array | pa.ChunkedArray) -> pa.Table:
    """The sizes that n texts state.

    Args:
        texts: titles or descriptions; null tells nothing.

    Returns:
        Table of n rows, `SIZES_SCHEMA`: lengths in cm, weight in grams, carats of 0.2 g; null where
        the text states none, or several of which none can be known as that of the whole.
    """
    column = texts.combine_chunks() if isinstance(texts, pa.ChunkedArray) else texts
    out = np.full((len(column), len(NAMES)), np.nan)
    rows = np.flatnonzero(may_state_sizes(column).to_numpy(zero_copy_only=False))
    if rows.size:
        coded = pc.dictionary_encode(column.take(pa.array(rows)))
        found = _of_distinct(fold_sizes(coded.dictionary.cast(pa.string())))
        out[rows] = found[coded.indices.to_numpy(zero_copy_only=False)]
    return pa.table(
        [pa.array(out[:, k], mask=np.isnan(out[:, k])) for k in range(len(NAMES))],
        schema=SIZES_SCHEMA,
    )


def _of_distinct(folded: pa.Array) -> Floats:
    """Numbers of m distinct folded texts, m x names, NaN for what is not told."""
    out = np.full((len(folded), len(NAMES)), np.nan)
    marked = pc.replace_substring_regex(folded, RUN, rf"{_SIGN}\0{_SIGN}")
    has_run = np.flatnonzero(pc.match_substring(marked, _SIGN).to_numpy(zero_copy_only=False))
    if not has_run.size:
        return out
    parts = pc.split_pattern(marked.take(pa.array(has_run)), _SIGN)
    keys = _wordings(parts, folded.take(pa.array(has_run)))
    coded = pc.dictionary_encode(keys)
    numbers = np.array([_numbers(key) for key in coded.dictionary.to_pylist()])
    out[has_run] = numbers[coded.indices.to_numpy(zero_copy_only=False)]
    return out


def _wordings(parts: pa.Array, texts: pa.Array) -> pa.Array:
    """Each text as its runs, with letters for what stands about them; equal ones mean the same."""
    pieces = pc.list_flatten(parts)
    row = pc.list_parent_indices(parts).to_numpy(zero_copy_only=False)
    first = np.concatenate(([True], row[1:] != row[:-1]))
    place = np.arange(row.size) - np.maximum.accumulate(np.where(first, np.arange(row.size), 0))
    at = np.flatnonzero(place % 2 == 1)
    runs = pc.replace_substring_regex(pieces.take(pa.array(at)), f"^{EDGE}", "")
    tells = pc.match_substring_regex(runs, UNIT).to_numpy(zero_copy_only=False)
    at, runs = at[tells], runs.filter(pa.array(tells))
    opening = pa.array(np.where(place[at] == 1, _OPENING, ""), pa.string())
    before = pc.binary_join_element_wise(opening, pieces.take(pa.array(at - 1)), "")
    around = letters(before, BEFORE)
    around = pc.binary_join_element_wise(around, letters(pieces.take(pa.array(at + 1)), AFTER), "|")
    told = pc.binary_join_element_wise(around, runs, ":")
    ends = np.cumsum(np.bincount(row[at], minlength=len(parts)))
    offsets = pa.array(np.concatenate(([0], ends)).astype(np.int32))
    lists = pa.ListArray.from_arrays(offsets, told)
    of_text = letters_of_text(texts, pc.binary_join(lists, " "))
    return pc.binary_join_element_wise(of_text, pc.binary_join(lists, _SIGN), _SIGN)


# ---------------------------------------------------------------------------------------------
# One wording


def _numbers(wording: str) -> list[float]:
    """The numbers of one wording, in the order of `NAMES`."""
    of_text, *told = wording.split(_SIGN)
    runs: list[tuple[str, Run]] = []
    for one in told:
        around, _, text = one.partition(":")
        before, _, after = around.partition("|")
        if SCALE in after:
            continue
        run = read_run(text, _setting(before, after, of_text))
        if PART in after and len(run.groups) > 1:
            run, after = replace(run, groups=run.groups[:-1]), ""  # "90 cm high, 45 cm to seat"
        runs.append((_standing(before, after), run))
    out = dict.fromkeys(NAMES, float("nan"))
    out |= _lengths(runs)
    grams = [grams for _, run in runs for grams in run.grams]
    if grams and max(grams) <= min(grams) * (1 + _NEAR):
        out[WEIGHT] = grams[0]
    out[CARATS] = _carats([run for _, run in runs])
    return [round(value, DECIMALS) for value in out.values()]


@cache
def _setting(before: str, after: str, of_text: str) -> Setting:
    return Setting(
        before_word=WORD in after,
        quoted=QUOTED in before,
        numbered=NUMBERED in before,
        precious=PRECIOUS in of_text,
        stones=STONES in of_text,
        small=SMALL in of_text,
        weighing=WEIGHING in of_text,
    )


@cache
def _standing(before: str, after: str) -> str:
    """The letter that says what a run is the size of; "" where nothing does."""
    for around in (before, after):
        for letter in (WHOLE, IMAGE, OUTER, FRAMED, PART):
            if letter in around:
                return letter
    return ""


def _carats(runs: list[Run]) -> float:
    if not any(run.carats for run in runs):
        return float("nan")
    carats = {c for run in runs for c in run.carats}
    totals = {c for run in runs if run.is_total for c in run.carats}
    chosen = totals if len(totals) == 1 else carats
    return chosen.pop() if len(chosen) == 1 else float("nan")


def _lengths(runs: list[tuple[str, Run]]) -> dict[str, float]:
    """Largest side and sides by axis; empty where two sizes are told and none is the whole's."""
    if not any(run.groups for _, run in runs):
        return {}
    for wanted in ((WHOLE,), ("", IMAGE), (FRAMED,)):
        chosen = [run for standing, run in runs if standing in wanted]
        if any(run.groups or run.is_doubtful for run in chosen):
            break
    else:
        return {}
    if any(run.is_doubtful for run in chosen):
        return {}
    groups = _once_each([group for run in chosen for group in run.groups])
    sides = _sides_of_one(groups)
    if sides is None:
        return {}
    found = {LARGEST: max(side.cm for side in sides)}
    for side in sides:
        if side.axis in AXES:
            found[f"{side.axis}_cm"] = side.cm
    return found


def _once_each(groups: list[tuple[Side, ...]]) -> list[tuple[Side, ...]]:
    """Without those that tell again what another tells, in other units or rounded."""
    if len(groups) < 2:
        return groups
    kept: list[tuple[Side, ...]] = []
    for group in groups:
        k = next((k for k, other in enumerate(kept) if _same(group, other)), None)
        if k is None:
            kept.append(group)
        else:
            kept[k] = _finer(group, kept[k])
    return kept


def _same(one: tuple[Side, ...], other: tuple[Side, ...]) -> bool:
    """Whether two groups may be one size; axes that both tell must be the same."""
    if len(one) != len(other):
        return False
    return all(
        _near(a, b) and (a.axis == b.axis or not a.axis or not b.axis)
        for a, b in zip(one, other, strict=True)
    )


def _near(one: Side, other: Side) -> bool:
    return abs(one.cm - other.cm) <= one.error + other.error + _NEAR * max(one.cm, other.cm)


def _finer(one: tuple[Side, ...], other: tuple[Side, ...]) -> tuple[Side, ...]:
    """The more finely told of two tellings with the axes of both; the earlier of equals."""
    first, second = (
        (one, other) if sum(s.error for s in one) < sum(s.error for s in other) else (other, one)
    )
    return tuple(Side(a.cm, a.error, a.axis or b.axis) for a, b in zip(first, second, strict=True))


def _sides_of_one(groups: Iterable[tuple[Side, ...]]) -> list[Side] | None:
    """The sides of one piece; None where they cannot all be of one.

    Sides with axes go together; one without an axis is told again by a side with one, or stands
    alone. Two groups without axes are two pieces, or a piece and a part.
    """
    axes: dict[str, Side] = {}
    loose: list[tuple[Side, ...]] = []
    for group in groups:
        if all(side.axis for side in group):
            for side in group:
                told = axes.get(side.axis)
                if told is not None and not _near(told, side):
                    return None
                axes.setdefault(side.axis, side)
        else:
            loose.append(group)
    known = list(axes.values())
    loose = [g for g in loose if not (len(g) == 1 and any(_near(g[0], k) for k in known))]
    if len(loose) > 1 or (known and any(len(group) == 1 for group in loose)):
        return None
    sides = known + [side for group in loose for side in group]
    return [side for side in sides if side.axis != "thickness"] or None
