"""Studies of a large corpus: speed, memory, what a second process gains, and kill -9.

python benchmarks/study.py [--puzzles 1000000] [--scratch DIR] [--out benchmarks/README.md]

The list of puzzles with 17 givens is found through GRIDCRUX_CORPORA, else its row is left out.
"""

from __future__ import annotations

import argparse
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from contextlib import suppress
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import psutil
from loky import get_reusable_executor
from tqdm import tqdm

from gridcrux.corpus.sample import minimal
from report import replace_section

SEED = 4711
CHUNK = 5_000
SEVENTEEN = "clues17-first25000.txt"
KILLS = 20


def corpus(path: Path, count: int, seed: int) -> None:
    """Write minimal puzzles by top-down deletion, one a line."""
    starts = range(0, count, CHUNK)
    chunks = get_reusable_executor(2).map(partial(lines, seed), starts)
    with path.open("w") as stream:
        for text in tqdm(chunks, total=len(starts), desc="sample", unit_scale=CHUNK):
            stream.write(text)


def lines(seed: int, start: int) -> str:
    return "".join(item.line + "\n" for item in minimal(CHUNK, seed, start=start))


def started(source: Path, out: Path, *options: str) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "gridcrux.cli", "study", str(source), "--out", str(out)]
    return subprocess.Popen(
        [*command, *options], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )


def family(process: subprocess.Popen[bytes]) -> list[psutil.Process]:
    parent = psutil.Process(process.pid)
    return [parent, *parent.children(recursive=True)]


def timed(source: Path, out: Path, *options: str) -> tuple[float, float]:
    """Seconds that a study takes, and the most memory (MB) that one of its processes had."""
    began = time.perf_counter()
    process = started(source, out, *options)
    most = 0
    while process.poll() is None:
        with suppress(psutil.NoSuchProcess):
            most = max([most, *(each.memory_info().rss for each in family(process))])
        time.sleep(0.2)
    if process.returncode:
        raise SystemExit(f"the study of {source} ended with status {process.returncode}")
    return time.perf_counter() - began, most / 1e6


def content(folder: Path) -> dict[str, bytes]:
    """All that a study leaves, to the bit."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.name.startswith(".")
    }


def killed(source: Path, out: Path, seconds: float, seed: int) -> int:
    """Kill a study and all its processes at random moments, start it again, let it end.

    Returns
    -------
    How often it was still at work when it was killed.
    """
    chance, hits = random.Random(seed), 0
    for _ in range(KILLS):
        process = started(source, out, "--workers", "2")
        # It takes some seconds to start, in which there is little to lose.
        time.sleep(2 + chance.random() * 1.5 * seconds / KILLS)
        if process.poll() is None:
            hits += 1
            for each in reversed(family(process)):
                os.kill(each.pid, signal.SIGKILL)
        process.wait()
    timed(source, out, "--workers", "2")
    return hits


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--puzzles", type=int, default=1_000_000)
    parser.add_argument("--part", type=int, default=200_000, help="puzzles for the comparisons")
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--scratch", type=Path, help="folder whose corpus is made once and kept")
    parser.add_argument("--out", type=Path, help="file whose marked table is replaced")
    options = parser.parse_args(arguments)
    with TemporaryDirectory() as temporary:
        scratch = options.scratch or Path(temporary)
        source = scratch / f"minimal-{options.seed}-{options.puzzles}.txt"
        if not source.exists():
            corpus(source, options.puzzles, options.seed)
        part = Path(temporary) / "part.txt"
        with source.open() as stream, part.open("w") as target:
            target.writelines(line for line, _ in zip(stream, range(options.part), strict=False))
        folder = Path(temporary)
        rows = []
        seconds, memory = timed(source, folder / "all")
        rows.append(
            f"| {options.puzzles:,} minimal puzzles, default columns | {seconds / 60:.1f} min, "
            f"{options.puzzles / seconds:,.0f} a second; largest process {memory:,.0f} MB | "
            "20 min, 2,000 MB |"
        )
        corpora = os.environ.get("GRIDCRUX_CORPORA")
        if corpora:
            for level, bar in (("almost-locked-sets", "5 min"), ("fish", "")):
                name = folder / f"seventeen-{level}"
                seconds, _ = timed(Path(corpora) / SEVENTEEN, name, "--level", level)
                rows.append(
                    f"| 25,000 puzzles with 17 givens, level {level}, with the status of every "
                    f"step and technique | {seconds:.0f} s | {bar} |"
                )
        ratios = []
        for turn in range(3):
            one, _ = timed(part, folder / f"one-{turn}", "--workers", "1")
            two, _ = timed(part, folder / f"two-{turn}", "--workers", "2")
            ratios.append(one / two)
        same = content(folder / "one-0") == content(folder / "two-0")
        rows.append(
            f"| {options.part:,} puzzles, 2 processes against 1, start included | "
            f"{np.median(ratios):.2f} times as fast ({min(ratios):.2f} to {max(ratios):.2f}); "
            f"{'the same' if same else 'NOT the same'} to the bit | 1.8 |"
        )
        hits = killed(part, folder / "killed", two, options.seed)
        same = content(folder / "two-0") == content(folder / "killed")
        rows.append(
            f"| kill -9 of all processes at {hits} random moments of one study of them | "
            f"{'the same' if same else 'NOT the same'} to the bit as without | nothing lost |"
        )
    text = "\n".join(["| what | figure | bar |", "|---|---|---|", *rows])
    print(text)
    if options.out:
        replace_section(options.out, "study", text)


if __name__ == "__main__":
    main()
