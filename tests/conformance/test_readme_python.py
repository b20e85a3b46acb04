"""The Python of the README runs, and says what the comments beside it say."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

README = Path("README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```python\n(.*?)```", README, re.S)
REASONING = [block for block in BLOCKS if "study_files" not in block and "storyboard" not in block]


def test_what_is_shown_of_one_puzzle_is_so(capsys: pytest.CaptureFixture[str]) -> None:
    known: dict[str, Any] = {}
    for block in REASONING:
        exec(block, known)
    printed = " ".join(capsys.readouterr().out.split())
    shown = " ".join(re.sub(r"^# ", "", line) for line in README.splitlines())

    state, crux, fish = known["state"], known["crux"], known["fish"]
    assert known["found"].essential == ("x-wing",)
    assert (known["fewest"].lower, known["fewest"].upper) == (3, 3)
    assert known["crux_profile"](known["fewest"].route).crux == (13, 14)
    sets = known["technique_sets"](state, fish, always=known["placements"](fish))
    assert str(sets.sufficient) in shown
    assert {"twins", "x-wing"} <= set(crux(state, known["mine"]).essential)
    told = re.search(r"step \d+ \(careless\) does not follow.*? the state is [.\d]{16}", printed)
    assert told is not None
    assert told[0] in shown
    assert known["proof"].explanation.lower == 3
    assert str(known["proof"].explanation.premise_names) in shown
    assert known["bottleneck"](state).width == 2
    assert known["total"](state).value == 1
    assert known["weakest_level"](state) == "failed-literals"
    assert "not r5c4=2 and r5c5=2: pointing" in printed
    counts = known["way"].counts()
    assert counts["turbot-chain"] == counts["xy-wing"] == counts["w-wing"] == 1
