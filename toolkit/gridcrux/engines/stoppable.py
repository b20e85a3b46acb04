"""CP-SAT in a thread of its own, so that Ctrl-C ends the program and not only the search.

CP-SAT answers to the signal itself and returns as if its time were up; without that, Python would
hear of it only when the search is over.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Any


def solve(solver: Any, model: Any, listener: Any = None) -> int:
    """The status of a search by CP-SAT; as ``solver.solve``.

    Raises
    ------
    KeyboardInterrupt : Ctrl-C, after the search was stopped.
    """
    solver.parameters.catch_sigint_signal = False
    with ThreadPoolExecutor(1) as pool:
        search = pool.submit(solver.solve, model, listener)
        try:
            status: int = search.result()
        except KeyboardInterrupt:
            solver.stop_search()
            raise
    return status
