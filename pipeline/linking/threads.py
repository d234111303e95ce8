"""Work on slices side by side, with the results in the order of the slices."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

Slice = TypeVar("Slice")
Result = TypeVar("Result")

MOST_THREADS = 8


def in_threads(work: Callable[[Slice], Result], slices: Iterable[Slice]) -> Iterator[Result]:
    """The results of `work`, in order. Only a few slices are held at a time.

    `work` must not change anything that it shares; numpy lets other threads run while it
    computes.
    """
    n = min(os.cpu_count() or 1, MOST_THREADS)
    waiting: deque[Future[Result]] = deque()
    with ThreadPoolExecutor(n) as pool:
        for one in slices:
            waiting.append(pool.submit(work, one))
            if len(waiting) > 2 * n:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
