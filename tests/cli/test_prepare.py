"""Whether compiled code is there is told truly, and no place to keep it in is no end."""

from __future__ import annotations

import os
import subprocess
import sys
from importlib import import_module

import pytest

from gridcrux.cli.prepare import COMPILED, is_ready

MODULE = """
from numba import njit

@njit(cache=True)
def double(x):
    return 2 * x
"""

TRIAL = """
from gridcrux.cli import prepare
module = prepare._load("trial")
print(prepare.is_ready(module.double), module.double(21), prepare.is_ready(module.double))
"""


@pytest.fixture
def trial(tmp_path):
    """Run a fresh Python that loads a module with one compiled function."""
    (tmp_path / "trial.py").write_text(MODULE)

    places = os.pathsep.join(filter(None, [str(tmp_path), os.environ.get("PYTHONPATH")]))

    def call(**environment):
        return subprocess.run(
            [sys.executable, "-c", TRIAL],
            env={**os.environ, "PYTHONPATH": places, **environment},
            capture_output=True, text=True, check=True,
        )  # fmt: skip

    return call


def test_what_is_compiled_is_ready_until_its_source_changes(trial, tmp_path):
    cache = {"NUMBA_CACHE_DIR": str(tmp_path / "cache")}
    assert trial(**cache).stdout == "False 42 True\n"
    assert trial(**cache).stdout == "True 42 True\n"
    (tmp_path / "trial.py").write_text(MODULE.replace("2 *", "3 *"))
    later = (tmp_path / "trial.py").stat().st_mtime + 5
    os.utime(tmp_path / "trial.py", (later, later))
    assert trial(**cache).stdout == "False 63 True\n"


def test_without_a_place_for_compiled_code_a_temporary_one_is_told(trial, tmp_path):
    # Only the place of the variable counts, and the variable is empty: there is none.
    said = trial(
        NUMBA_CACHE_DIR="",
        NUMBA_CACHE_LOCATOR_CLASSES="UserProvidedCacheLocator",
        TMPDIR=str(tmp_path),
    )
    assert said.stdout == "False 42 True\n"
    (line,) = said.stderr.splitlines()
    assert "NUMBA_CACHE_DIR" in line
    assert list(tmp_path.glob("gridcrux-*/*/*.nbc"))


@pytest.mark.parametrize("command", COMPILED)
def test_every_command_names_a_compiled_function(command):
    module, name, seconds = COMPILED[command]
    assert isinstance(is_ready(getattr(import_module(module), name)), bool)
    assert seconds > 0
