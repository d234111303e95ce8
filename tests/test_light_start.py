"""What a short command does not load, and that all the rest of it works."""

from __future__ import annotations

import subprocess
import sys

SCRIPT = """
import sys
from pipeline.light_start import spare_fortran, spare_pandas
spare_pandas()
spare_fortran()
import pipeline.answers.estimate
loaded = [name for name in ("pandas", "numpy.f2py", "pipeline.money") if name in sys.modules]
assert not loaded, loaded
from scipy import linalg, sparse
assert (sparse.eye_array(2) @ linalg.inv([[2.0, 0], [0, 4]])).tolist() == [[0.5, 0], [0, 0.25]]
import numpy.f2py
assert numpy.f2py.__file__
"""


def test_an_estimate_loads_neither_frames_nor_fortran_nor_money():
    done = subprocess.run([sys.executable, "-c", SCRIPT], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
