"""The other side of `apart.call`: a script that asks one library one question.

It reads the question as JSON from standard input and writes the answer, the last line, to standard
output.  It imports nothing of the package, so it is ready in milliseconds.
"""

from __future__ import annotations

import json
import signal
import sys
from typing import Any

_SECONDS_OF_GRACE = 1.0


def _end_with_parent() -> None:
    """On Linux: ask to be killed when the process that asked is gone, however it ended."""
    if sys.platform == "linux":
        import ctypes

        ctypes.CDLL(None).prctl(1, signal.SIGKILL)  # PR_SET_PDEATHSIG


def _end_in_time(seconds: float | None) -> None:
    """Elsewhere: at least do not outlive the limit.  No handler, as no Python code will run."""
    if seconds is not None and hasattr(signal, "setitimer"):
        signal.signal(signal.SIGALRM, signal.SIG_DFL)
        signal.setitimer(signal.ITIMER_REAL, seconds + _SECONDS_OF_GRACE)


def _ganak(request: dict[str, Any]) -> int:
    import pyganak

    counter = pyganak.Counter(seed=request["seed"])
    counter.new_vars(request["variables"])
    if request["projection"] is not None:
        counter.set_sampling_set(request["projection"])
    counter.add_clauses(request["clauses"])
    return int(counter.count())


def _approxmc(request: dict[str, Any]) -> tuple[int, int]:
    import pyapproxmc

    counter = pyapproxmc.Counter(
        seed=request["seed"], epsilon=request["epsilon"], delta=request["delta"]
    )
    counter.add_clauses(request["clauses"])
    cells, hashes = counter.count(request["projection"])
    return int(cells), int(hashes)


_LIBRARIES = {"pyganak": _ganak, "pyapproxmc": _approxmc}


def main() -> None:
    # Ctrl-C reaches this process too; what it means is for the caller to say.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _end_with_parent()
    request = json.load(sys.stdin)
    _end_in_time(request["seconds"])
    sys.path[:] = request["path"]
    print(f"\n{json.dumps(_LIBRARIES[request['library']](request))}")


if __name__ == "__main__":
    main()
