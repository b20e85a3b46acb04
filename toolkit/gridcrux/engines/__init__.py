"""What decides and counts: every engine by name, imported only when it is asked for."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module

from gridcrux.engines.protocol import Engine


def _factory(module: str, name: str) -> Callable[[], Engine]:
    def make() -> Engine:
        engine: Engine = getattr(import_module(f"gridcrux.engines.{module}"), name)()
        return engine

    return make


ENGINES: dict[str, Callable[[], Engine]] = {
    "kernel": _factory("kernel", "KernelEngine"),
    "sat": _factory("sat", "SatEngine"),
    "cp": _factory("cp", "CpEngine"),
}
"""Every engine by its name, the fastest first; a value makes a new one."""


def get_engine(name: str) -> Engine:
    """A new engine of the given name.

    Raises
    ------
    ValueError : there is no engine of that name.
    """
    if name not in ENGINES:
        raise ValueError(f"no engine is called {name!r}; there are {', '.join(ENGINES)}")
    return ENGINES[name]()
