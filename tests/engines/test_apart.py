"""A library in a process of its own ends with its time, with Ctrl-C and with whoever asked."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time

import psutil
import pytest

from gridcrux.engines.apart import CallFailed, call
from gridcrux.engines.limits import Deadline

pytest.importorskip("pyganak", reason="there is no pyganak for Windows")

ENDLESS = (
    "import signal\n"
    "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
    "from gridcrux.engines.model_counter import GanakCounter\n"
    "from gridcrux.grids.state import State\n"
    "print('ready', flush=True)\n"
    "GanakCounter().count(State.empty(), 1)\n"
)


def counting(process: int) -> list[psutil.Process]:
    """The children that are at work, once there are any."""
    for _ in range(200):
        found = [
            child
            for child in psutil.Process(process).children()
            if any(word.endswith("apart_child.py") for word in child.cmdline())
        ]
        if found:
            return found
        time.sleep(0.05)
    raise AssertionError("no child was started")


def assert_gone(processes: list[psutil.Process]) -> None:
    _, alive = psutil.wait_procs(processes, timeout=5)
    assert not [each for each in alive if each.status() != psutil.STATUS_ZOMBIE]


def request(**changes: object) -> dict[str, object]:
    return {"clauses": [[1, 2]], "variables": 2, "projection": None, "seed": 0, **changes}


def test_an_answer_comes_back() -> None:
    assert call("pyganak", request(), Deadline(None)) == 3
    assert call("pyganak", request(projection=[1]), Deadline(30)) == 2


def test_no_child_is_left_when_the_time_is_up() -> None:
    pigeons, holes = range(15), range(14)
    clauses = [[p * 14 + h + 1 for h in holes] + [300] for p in pigeons]
    clauses += [
        [-(p * 14 + h + 1), -(q * 14 + h + 1)] for h in holes for p in pigeons for q in range(p)
    ]
    # Other tests of this process may have left workers that end later.
    before = {child.pid for child in psutil.Process().children()}
    begin = time.monotonic()
    endless = request(clauses=clauses, variables=300)
    assert call("pyganak", endless, Deadline(0.4)) is None
    assert time.monotonic() - begin < 3.0
    assert not {child.pid for child in psutil.Process().children()} - before


def test_failure_says_what_happened() -> None:
    with pytest.raises(CallFailed, match=r"pyganak gave no answer: .*0"):
        call("pyganak", request(clauses=[[0]]), Deadline(None))
    with pytest.raises(CallFailed, match="KeyError: 'nothing'"):
        call("nothing", request(), Deadline(None))


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells a child of such an end")
@pytest.mark.parametrize("end", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_child_ends_with_whoever_asked(end: signal.Signals) -> None:
    """Without a time limit, by Ctrl-C and by ends that Python never hears of."""
    asking = subprocess.Popen(
        [sys.executable, "-c", ENDLESS], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    children = counting(asking.pid)
    time.sleep(0.3)
    os.kill(asking.pid, end)
    _, errors = asking.communicate(timeout=10)
    assert asking.returncode != 0
    assert ("KeyboardInterrupt" in errors) is (end is signal.SIGINT)
    assert_gone(children)


@pytest.mark.skipif(sys.platform == "win32", reason="no process groups")
def test_ctrl_c_of_a_terminal_reaches_the_child_too_and_is_still_an_interruption() -> None:
    asking = subprocess.Popen(
        [sys.executable, "-c", ENDLESS],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    children = counting(asking.pid)
    time.sleep(0.3)
    os.killpg(asking.pid, signal.SIGINT)
    _, errors = asking.communicate(timeout=10)
    assert "KeyboardInterrupt" in errors
    assert "CallFailed" not in errors
    assert_gone(children)
