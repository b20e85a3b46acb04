"""The history of the suite: one line of JSON a run, with the machine and every round."""

from __future__ import annotations

import json
import os
import platform
import subprocess
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from cases.turns import Comparison

LIBRARIES = ("numba", "numpy", "ortools", "pyganak", "python-sat", "scipy", "xcover")


def machine() -> dict[str, Any]:
    """Processor, cores, and the versions of what does the work."""
    return {
        "processor": _processor(),
        "cores": os.cpu_count(),
        "system": platform.system(),
        "python": platform.python_version(),
        "libraries": {name: _version(name) for name in LIBRARIES},
    }


def _version(name: str) -> str | None:
    try:
        return version(name)
    except PackageNotFoundError:
        return None


def _processor() -> str:
    """The model, where the system tells it."""
    path = Path("/proc/cpuinfo")
    names = path.read_text().splitlines() if path.exists() else []
    models = (line.partition(":")[2].strip() for line in names if line.startswith("model name"))
    return next(models, platform.processor() or platform.machine())


def commit() -> str | None:
    """The commit of the working tree, with ``-dirty`` if it was changed; None outside of one."""
    try:
        found = subprocess.run(
            ["git", "describe", "--always", "--dirty", "--abbrev=12", "--match="],
            cwd=Path(__file__).parent,
            capture_output=True,
            text=True,
            check=True,
        )
    except (OSError, subprocess.CalledProcessError):
        return None
    return found.stdout.strip()


def run_of(
    comparisons: Iterable[Comparison], seconds: Mapping[str, float], rounds: int
) -> dict[str, Any]:
    """What is kept of a run; `seconds` are those that each case took."""
    return {
        "date": datetime.now(UTC).isoformat(timespec="seconds"),
        "commit": commit(),
        "machine": machine(),
        "rounds": rounds,
        "seconds": {name: round(each, 1) for name, each in seconds.items()},
        "comparisons": [each.row() for each in comparisons],
    }


def keep(path: Path, run: Mapping[str, Any]) -> None:
    """Add a run to a history."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("a") as stream:
        stream.write(json.dumps(run, separators=(",", ":")) + "\n")


def history(path: Path) -> list[dict[str, Any]]:
    """The runs of a history, the oldest first."""
    return [json.loads(line) for line in path.read_text().splitlines()] if path.exists() else []


def changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[str]:
    """Ratios whose interval has left that of an earlier run, as sentences."""

    def key(each: Mapping[str, Any]) -> tuple[str, str, str, int]:
        return each["case"], each["ours"], each["peer"], each["items"]

    earlier = {key(each): each for each in before["comparisons"] if each["interval"]}
    found = []
    for each in after["comparisons"]:
        old = earlier.get(key(each))
        if old is None or not each["interval"]:
            continue
        (low, high), (old_low, old_high) = each["interval"], old["interval"]
        if low > old_high or high < old_low:
            found.append(
                f"{each['case']}, {each['peer']} against {each['ours']}: {each['ratio']:.3g} "
                f"({low:.3g} to {high:.3g}) after {old['ratio']:.3g} "
                f"({old_low:.3g} to {old_high:.3g})"
            )
    return found
