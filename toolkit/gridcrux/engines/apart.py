"""A library that cannot be interrupted works in a process of its own, which never outlives its use.

The libraries that count models have neither a time limit nor a way to stop, and Python does not
hear of Ctrl-C before they return.  So each call gets a process; it is ended when its time is up,
when the caller is interrupted, and when the caller dies.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from gridcrux.engines.limits import Deadline

_CHILD = Path(__file__).with_name("apart_child.py")


class CallFailed(RuntimeError):
    """The process ended without an answer, for instance for lack of memory."""


def require(library: str) -> None:
    """Make sure that a library is there.

    Raises
    ------
    ModuleNotFoundError : it is not; the message says how to get it.
    """
    if find_spec(library) is None:
        raise ModuleNotFoundError(
            f"{library} is not installed: pip install {library} (there is none for Windows)",
            name=library,
        )


def call(library: str, request: Mapping[str, Any], deadline: Deadline) -> Any:
    """What a library answers, or None if the time is up first.

    Parameters
    ----------
    library : one that `apart_child` knows how to ask.
    request : what it is asked, as JSON can say it.

    Raises
    ------
    CallFailed : there is no answer.
    """
    if deadline.passed:
        return None
    seconds = None if deadline.never else deadline.remaining
    message = {"library": library, "path": sys.path, "seconds": seconds, **request}
    child = subprocess.Popen(
        # Isolated, so that neither the environment nor the folder of the script is searched.
        [sys.executable, "-I", str(_CHILD)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        out, errors = child.communicate(json.dumps(message), timeout=seconds)
    except subprocess.TimeoutExpired:
        return None
    finally:
        child.kill()
        child.wait()
        for stream in (child.stdin, child.stdout, child.stderr):
            if stream is not None:
                stream.close()
    lines = out.splitlines()
    if child.returncode != 0 or not lines:
        last = (errors.strip() or f"exit status {child.returncode}").splitlines()[-1]
        raise CallFailed(f"{library} gave no answer: {last}")
    return json.loads(lines[-1])
