"""How long work tells where it is, without knowing who listens."""

from __future__ import annotations

from typing import Protocol


class Progress(Protocol):
    """Told of stages and steps; a command draws them, a library call drops them."""

    def stage(self, name: str, n_steps: int | None = None) -> None:
        """A stage begins, of so many steps where that is known."""

    def step(self, n: int = 1) -> None:
        """So many steps of the stage are done."""


class Silent:
    """Nobody listens."""

    def stage(self, name: str, n_steps: int | None = None) -> None:
        """Drop it."""

    def step(self, n: int = 1) -> None:
        """Drop it."""
