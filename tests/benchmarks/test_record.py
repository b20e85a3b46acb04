"""The history of the suite."""

from __future__ import annotations

import json
from pathlib import Path

from cases.record import changes, history, keep, run_of
from cases.turns import Comparison


def run(ratio: float, items: int = 10):
    peer = tuple(ratio * each for each in (1.0, 1.02, 0.98))
    found = Comparison("uniqueness", "kernel", "cp", items, (1.0, 1.0, 1.0), peer)
    return run_of([found], {"uniqueness": 1.23}, 3)


def test_a_run_is_a_line_with_machine_and_rounds(tmp_path: Path) -> None:
    path = tmp_path / "new" / "runs.jsonl"
    assert history(path) == []
    keep(path, run(2.0))
    keep(path, run(3.0))
    assert len(path.read_text().splitlines()) == 2
    first, second = history(path)
    assert first == json.loads(json.dumps(run(2.0) | {"date": first["date"]}))
    assert first["machine"]["cores"] >= 1
    assert first["machine"]["libraries"]["numba"]
    (found,) = second["comparisons"]
    assert found["peer_seconds"] == [3.0, 3.06, 2.94]
    assert found["ratio"] == 3.0


def test_only_what_left_the_interval_is_a_change() -> None:
    assert changes(run(2.0), run(2.01)) == []
    (change,) = changes(run(2.0), run(3.0))
    assert change.startswith("uniqueness, cp against kernel: 3 (2.94 to 3.06) after 2 ")
    assert len(changes(run(3.0), run(2.0))) == 1
    # Another number of puzzles is another question.
    assert changes(run(2.0), run(3.0, items=11)) == []
