"""Compiling in silence is told late, by module and once; what is cached or announced is not."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from types import SimpleNamespace

import pytest

from gridcrux.grids import compiling

TRIAL = """
import numpy as np
from gridcrux.grids import compiling
from gridcrux.logic.slicing import needed
{first}
compiling.PATIENCE = 0
masks = np.zeros((1, 2), np.int64)
needed(masks, masks, masks[0, :1], masks[0], None)
"""


def stderr_of(tmp_path, first=""):
    return subprocess.run(
        [sys.executable, "-c", TRIAL.format(first=first)],
        env={**os.environ, "NUMBA_CACHE_DIR": str(tmp_path)},
        capture_output=True, text=True, check=True,
    ).stderr  # fmt: skip


def test_what_has_to_be_compiled_is_told_and_what_is_cached_is_not(tmp_path):
    assert stderr_of(tmp_path / "hushed", "compiling.hush()") == ""
    told = "compiling gridcrux.logic.slicing for this machine, once ...\n"
    assert stderr_of(tmp_path / "cache") == told
    assert stderr_of(tmp_path / "cache") == ""


def event(module):
    function = SimpleNamespace(__module__=module)
    return SimpleNamespace(data={"dispatcher": SimpleNamespace(py_func=function)})


@pytest.fixture
def notice(monkeypatch):
    monkeypatch.setattr(compiling, "PATIENCE", 0.05)
    fresh = compiling._Notice()
    monkeypatch.setattr(compiling, "_notice", fresh)
    return fresh


def compile_slowly(notice, *modules):
    for module in modules:
        notice.on_start(event(module))
    time.sleep(0.2)
    for module in modules:
        notice.on_end(event(module))


def test_each_module_is_told_once_and_what_it_calls_not_by_itself(notice, capsys):
    for _ in range(2):
        compile_slowly(notice, "gridcrux.one", "gridcrux.two")
    compile_slowly(notice, "elsewhere")
    assert capsys.readouterr().err == "compiling gridcrux.one for this machine, once ...\n"


def test_what_takes_no_time_is_not_told(notice, capsys):
    notice.on_start(event("gridcrux.one"))
    notice.on_end(event("gridcrux.one"))
    with compiling.announced("nothing"):
        pass
    time.sleep(0.2)
    assert capsys.readouterr().err == ""


def test_what_is_announced_is_told_by_that_name_alone(notice, capsys):
    with compiling.announced("the rest"):
        compile_slowly(notice, "gridcrux.one")
    assert capsys.readouterr().err == "compiling the rest for this machine, once ...\n"
    compile_slowly(notice, "gridcrux.two")
    assert "gridcrux.two" in capsys.readouterr().err
