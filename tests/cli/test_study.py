"""`study`: rows, rejects, and what is kept when the run is interrupted."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time

import pandas as pd
import psutil

PUZZLE = "......1...3.41.5....9.3.6..........14..8......762.49.36....7..2...54.....2......."


def test_study_counts_rows_and_rejects(run, tmp_path):
    (tmp_path / "in.txt").write_text(f"{PUZZLE}\nno puzzle\n{PUZZLE}\n")
    result = run("study", tmp_path / "in.txt", "--out", tmp_path / "out", "--json")
    said = json.loads(result.stdout)
    assert (result.exit_code, said["puzzles"], said["rejected"]) == (0, 2, 1)
    assert pd.read_parquet(said["table"])["puzzle"].tolist() == [PUZZLE, PUZZLE]
    text = run("study", "-", "--out", tmp_path / "two", stdin=PUZZLE + "\n")
    assert "1 row in" in text.stdout


def test_junk_is_set_aside_without_a_traceback(run, tmp_path):
    (tmp_path / "junk").write_bytes(random.Random(1).randbytes(2 << 20))
    result = run("study", tmp_path / "junk", "--out", tmp_path / "out", "--json")
    said = json.loads(result.stdout)
    assert (result.exit_code, said["puzzles"]) == (1, 0)
    assert said["rejected"] > 1000
    assert "Traceback" not in result.stderr


def test_an_interrupt_keeps_the_rows_so_far(tmp_path):
    # More lines than can be measured while the first of several parts is waited for.
    (tmp_path / "in.txt").write_text(f"{PUZZLE}\n" * 200_000)
    # A background job starts with SIGINT ignored, and so would its children be.
    process = subprocess.Popen(
        [sys.executable, "-m", "gridcrux.cli", "study", "in.txt", "--out", "out"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=tmp_path,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )  # fmt: skip
    try:
        until = time.monotonic() + 120
        while not list(tmp_path.glob("out/table/part-*")) and time.monotonic() < until:
            time.sleep(0.01)
        # As a terminal does: the other processes hear of it too.
        for each in [*psutil.Process(process.pid).children(recursive=True), process]:
            os.kill(each.pid, signal.SIGINT)
        _, told = process.communicate(timeout=60)
    finally:
        process.kill()
    rows = len(pd.read_parquet(tmp_path / "out" / "table"))
    assert process.returncode == 130
    assert 16_384 <= rows < 200_000
    last = told.decode().splitlines()[-1]
    assert f"{rows:,} rows so far are in out" in last
    assert "Traceback" not in told.decode()
