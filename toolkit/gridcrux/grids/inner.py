"""The decorator of compiled functions that only compiled functions call.

Two things make these compile in a third of the time.  They have no ways in from Python and C;
whoever wants to try one from Python calls it through a function of their own.  And a constant
as an argument does not make numba compile a variant for just this constant.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from numba import njit, types


def inner(function: Callable[..., Any]) -> Any:
    """Compile a function for other compiled functions, once for each type of its arguments."""
    compiled = njit(cache=True, no_cpython_wrapper=True, no_cfunc_wrapper=True)(function)
    resolve = compiled.get_call_template

    def without_literals(args: tuple[Any, ...], kws: dict[str, Any]) -> Any:
        return resolve(
            tuple(types.unliteral(arg) for arg in args),
            {name: types.unliteral(arg) for name, arg in kws.items()},
        )

    compiled.get_call_template = without_literals
    return compiled
