"""Keep a short command from loading what it never uses."""

from __future__ import annotations

import gc
import sys
from collections.abc import Sequence
from importlib.machinery import ModuleSpec
from types import ModuleType


class _NotHere:
    """Finds no module of a name, and says so as if it were not installed."""

    def __init__(self, name: str) -> None:
        self._name = name

    def find_spec(
        self, name: str, path: Sequence[str] | None = None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        if name == self._name:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)
        return None


def spare_pandas() -> None:
    """Have Arrow settle at once that it works without pandas, which it loads at its first array.

    That takes a sixth of a second, longer than an estimate. In this process no Arrow table can be
    made into a frame afterwards, so it is for commands that end with their answer, not for the
    library. Pandas itself can still be imported.
    """
    finder = _NotHere("pandas")
    if "pandas" in sys.modules:
        return
    sys.meta_path.insert(0, finder)
    try:
        import pyarrow as pa

        pa.array([0])
    finally:
        sys.meta_path.remove(finder)


def spare_fortran() -> None:
    """Load SciPy's sparse arrays without the wrappers of Fortran, which take longer than they.

    SciPy looks at every module that NumPy names, the one that reads Fortran among them. It is given
    an empty one to look at; the real one can still be imported afterwards.
    """
    import numpy as np

    if "f2py" in vars(np) or "scipy.sparse" in sys.modules:
        return
    np.f2py = ModuleType("numpy.f2py")
    try:
        import scipy.sparse  # noqa: F401
    finally:
        del np.f2py


def spare_collection() -> None:
    """Look for no cycles of garbage in this process, which ends before there could be much.

    While a command starts, all that is loaded is looked through again and again for nothing, a
    tenth of the time of an estimate.
    """
    gc.disable()
