"""The decorator of compiled functions that only compiled functions call.

Without the two ways in from Python and C a function compiles in two thirds of the time.
Whoever wants to try one from Python calls it through a function of their own.
"""

from __future__ import annotations

from numba import njit

inner = njit(cache=True, no_cpython_wrapper=True, no_cfunc_wrapper=True)
