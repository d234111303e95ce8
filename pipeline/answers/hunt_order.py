"""The orders of `hunt`; apart from the ranking, so that the command starts quickly."""

from __future__ import annotations

from enum import StrEnum


class HuntOrder(StrEnum):
    """By what kinds are ranked, the most wanted first."""

    median = "median"
    evidence = "evidence"
    spread = "spread"
    holds = "holds"
    sensitive = "sensitive"
    trend = "trend"
