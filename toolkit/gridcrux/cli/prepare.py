"""Compiled code is made once for a machine: say so before it takes long, and keep it.

numba keeps machine code beside the modules, or in the user's cache folder where that is not
writable, or in `NUMBA_CACHE_DIR`.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from gridcrux.cli.output import tell

COMPILED = {
    "count": ("gridcrux.engines.kernel.search", "count", 15),
    "joining bands": ("gridcrux.engines.bands.join", "add_up", 20),
    "backbone": ("gridcrux.engines.kernel.search", "support", 25),
    "route": ("gridcrux.techniques.compiled.driver", "run", 20),
    "crux": ("gridcrux.proofs.statuses", "judge_route", 50),
    "needs": ("gridcrux.proofs.hard.offers", "find_moves", 5),
    "prove": ("gridcrux.proofs.explain.hitting", "search", 10),
    "width": ("gridcrux.proofs.explain.narrow", "_narrow", 3),
    "sample": ("gridcrux.corpus.sample.deletion", "delete", 25),
    "sample --givens": ("gridcrux.corpus.sample.patterns", "_approach", 10),
    "sample --pattern": ("gridcrux.corpus.sample.fitting", "_change", 10),
    "sample --search rejection": ("gridcrux.corpus.sample.grading", "draw_each", 30),
    "sample --search near": ("gridcrux.corpus.sample.grading", "climb", 55),
    "shortlist": ("gridcrux.grids.canonical", "_search", 10),
    "describe": ("gridcrux.corpus.cards.survey", "_spare", 5),
    "study": ("gridcrux.corpus.study.measure", "_measure", 60),
    "contrast": ("gridcrux.corpus.contrast.ratings", "_rate", 10),
}
"""For each command the module and name of the last function to be compiled, and how many
seconds the compilation takes, measured on one core of a small server."""


def prepare(command: str) -> bool:
    """Load the compiled code of a command; tell on standard error if it has to be made.

    Returns
    -------
    Whether it was there.
    """
    module, name, seconds = COMPILED[command]
    with _without_blas():
        # What takes long is told here, with how long.
        import_module("gridcrux.grids.compiling").hush()
        function = getattr(_load(module), name)
        import_module("numba.np.arraymath")
    ready = is_ready(function)
    if not ready:
        tell(
            f"compiling the solver for this machine, once (about {seconds} s); "
            "later runs start at once"
        )
    return ready


def prepare_cover() -> None:
    """Tell on standard error if the cover solver will be compiled, which its import does."""
    spec = find_spec("xcover")
    if spec is None or spec.origin is None or "NUMBA_CACHE_DIR" in os.environ:
        return
    if not any((Path(spec.origin).parent / "__pycache__").glob("*.nbi")):
        tell("compiling the cover solver for this machine, once (about 15 s)")


def is_ready(function: Any) -> bool:
    """Whether a numba function has machine code of its present source, in memory or on disk."""
    if function.signatures:
        return True
    try:
        # numba tells by its index, which is empty where the source has changed; there is no
        # public way to ask.
        return bool(function._cache._cache_file._load_index())
    except (AttributeError, OSError, EOFError, ValueError):
        return False


@contextmanager
def _without_blas() -> Iterator[None]:
    """Hide scipy's linear algebra for a while.

    numba looks there for routines to multiply matrices with, which are not used here and take
    a fifth of the time in which a short command is done.
    """
    name = "scipy.linalg"
    if name in sys.modules:
        yield
        return
    sys.modules[name] = None  # type: ignore[assignment]
    try:
        yield
    finally:
        del sys.modules[name]


def _load(module: str) -> Any:
    try:
        return import_module(module)
    except RuntimeError:
        # What numba raises where it can write in none of its places.
        from numba import config

        folder = tempfile.mkdtemp(prefix="gridcrux-")
        tell(
            f"no folder to keep compiled code in, {folder} is used for now; "
            "set NUMBA_CACHE_DIR to a folder that lasts"
        )
        config.CACHE_DIR = folder
        return import_module(module)
