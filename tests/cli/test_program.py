"""The command as a process: quick to start, quiet when nobody listens, plain when no terminal."""

from __future__ import annotations

import signal
import subprocess
import sys
import time

import pytest

PUZZLE = "......1...3.41.5....9.3.6..........14..8......762.49.36....7..2...54.....2......."
COMMAND = [sys.executable, "-m", "gridcrux.cli"]


def start(*arguments, **streams):
    """A command in a process of its own, which an interrupt reaches even in a background job."""
    return subprocess.Popen(
        [*COMMAND, *arguments],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL), **streams,
    )  # fmt: skip


LOADED = """
import sys
from gridcrux.cli import main
sys.argv[0] = "gridcrux"
try:
    main()
finally:
    print(*sorted(set(sys.modules)), file=sys.stderr)
"""


@pytest.mark.parametrize(
    ("arguments", "absent"),
    [
        (["--help"], {"numpy", "numba"}),
        (["count", "--help"], {"numpy", "numba"}),
        (["count", PUZZLE], {"pandas", "matplotlib", "ortools", "pysat", "scipy.linalg", "rich"}),
        (["crux", PUZZLE], {"pandas", "matplotlib", "ortools", "pysat", "scipy.linalg"}),
    ],
)
def test_nothing_is_loaded_that_is_not_needed(arguments, absent):
    done = subprocess.run(
        [sys.executable, "-c", LOADED, *arguments], capture_output=True, text=True, check=False
    )
    loaded = set(done.stderr.split())
    assert "typer" in loaded
    assert not loaded & absent


@pytest.mark.parametrize("module", ["gridcrux", "gridcrux.cli"])
def test_the_package_is_a_command_when_run_and_not_when_imported(module):
    run = [sys.executable, "-m", module, "count", "1234 3412 2143 4321"]
    done = subprocess.run(run, capture_output=True, text=True, check=True)
    assert done.stdout.startswith("exactly one solution")
    load = [sys.executable, "-c", f"import {module}.__main__", "count", "1"]
    done = subprocess.run(load, capture_output=True, text=True, check=True)
    assert done.stdout == done.stderr == ""


def test_without_a_command_help_is_printed(run):
    assert run().exit_code == 0
    assert run().stdout == run("--help").stdout
    for name in ("count", "backbone", "route", "crux", "study", "sample"):
        assert f" {name} " in run().stdout


def test_version(run):
    assert run("--version").stdout.startswith("gridcrux ")


def test_output_that_nobody_reads_leaves_no_traceback():
    process = start("sample", "--count", "100000")
    assert len(process.stdout.readline()) == 82
    process.stdout.close()
    told = process.stderr.read()
    process.stdin.close()
    assert process.wait(timeout=60) == 141
    assert told == ""


def test_an_interrupt_is_told_in_a_line():
    process = start("count")
    # A pipe holds 64 kB: when all this is written, the command is there and reads.
    process.stdin.write("\n" * 300_000)
    process.stdin.flush()
    process.send_signal(signal.SIGINT)
    assert process.communicate(timeout=60) == ("", "gridcrux: interrupted\n")
    assert process.returncode == 130


def test_an_interrupt_while_modules_load_is_no_traceback():
    process = start("count", "." * 81, "--limit", str(10**12))
    time.sleep(0.2)
    process.send_signal(signal.SIGINT)
    out, told = process.communicate(timeout=60)
    # -SIGINT is what is left of it before the first line of ours runs.
    assert process.returncode in (130, -signal.SIGINT)
    assert out == ""
    assert "gridcrux" not in told.replace("gridcrux: interrupted", "")


def test_no_terminal_gets_plain_text_and_whole_lines():
    done = subprocess.run([*COMMAND, "crux", PUZZLE], capture_output=True, check=False)
    text = done.stdout.decode()
    assert "\x1b" not in text
    assert "─" in text
    assert sum("has one place left: " in line and line.rstrip().endswith(".")
               for line in text.splitlines()) == text.count("has one place left: ")  # fmt: skip


def test_frames_become_ascii_where_nothing_else_can_be_written(monkeypatch):
    monkeypatch.setenv("PYTHONIOENCODING", "ascii")
    done = subprocess.run([*COMMAND, "route", PUZZLE], capture_output=True, check=False)
    assert done.stderr == b""
    assert "+---------+" in done.stdout.decode("ascii")
