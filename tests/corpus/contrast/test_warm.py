"""After the warm-up nothing is compiled or loaded any more while time is kept."""

from __future__ import annotations

import subprocess
import sys

import numpy as np

from gridcrux.corpus.contrast import measures
from gridcrux.corpus.contrast.measures import Contrast
from gridcrux.corpus.study.tasks import Task
from gridcrux.grids.layout import usual
from gridcrux.techniques.repertoires import SINGLES

SCRIPT = """
import gc, sys
import numpy as np
from gridcrux.corpus.contrast.human import human_frame
from gridcrux.corpus.contrast.efforts import efforts_frame
from gridcrux.corpus.contrast.warm import warm_up
from gridcrux.corpus.study.needs import widths_frame
from gridcrux.grids.layout import NINE
from gridcrux.grids.text import read_puzzle
from gridcrux.techniques.repertoires import LEVELS
from numba.core.dispatcher import Dispatcher

ENGINES = ("cadical195/fresh", "cp", "cover")
LINES = (
    ".....618...3..5.9.9...1...2.8.6...1.1...3...839....4..62.....4....57...6.....2...",
    "8.1.537...9..6.54......1...7.........5627839.........8...6......75.3..8...379.4.5",
)


def ready():
    made = [each for each in gc.get_objects() if isinstance(each, Dispatcher)]
    compiled = {f"{each.py_func.__module__}.{each.__name__}": len(each.signatures) for each in made}
    ours = {name for name in sys.modules if name.split(".")[0] in ("gridcrux", "ortools", "pysat")}
    return {(name, count) for name, count in compiled.items() if count} | ours


puzzles = np.array([read_puzzle(line).puzzle for line in LINES], np.int8)
one, before = np.ones(2, np.int64), ready()
if "cold" not in sys.argv:
    warm_up(ENGINES)
    before = ready()
human_frame(puzzles, NINE, one == 1, LEVELS["chains"], "singles", 0.2)
widths_frame(puzzles, NINE, one, 0.2)
efforts_frame(puzzles, NINE, one == 1, ENGINES, 0.2)
print(len(ready() - before))
"""


def loaded(*arguments):
    """What is loaded in a process of its own after the warm-up, if there was one."""
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, *arguments], capture_output=True, text=True, check=True
    )
    return int(done.stdout)


def test_nothing_is_left_to_be_loaded():
    assert loaded() == 0
    assert loaded("cold") > 10


def test_it_comes_first_where_time_is_kept(monkeypatch):
    called = []
    monkeypatch.setattr(measures, "warm_up", lambda engines: called.append(engines))
    for name in ("human_frame", "widths_frame", "ratings", "efforts_frame"):
        whole = getattr(measures, name)

        def noted(*arguments, name=name, whole=whole):
            called.append(name)
            return whole(*arguments)

        monkeypatch.setattr(measures, name, noted)
    digits = np.array([[1, 2, 3, 4, 3, 4, 1, 2, 2, 1, 4, 3, 0, 0, 0, 0]], "int8")
    task = Task("memory", ["1"], [1], [1.0], [""], digits, usual(4))

    one = np.ones(1, "int64")
    Contrast(("kernel",), "singles", 0.1).frame(task, one, SINGLES)
    assert called[0] == ("kernel",)
    assert "human_frame" in called
    called.clear()
    Contrast(("kernel",), "singles", None).frame(task, one, SINGLES)
    assert called[0] == "human_frame"
