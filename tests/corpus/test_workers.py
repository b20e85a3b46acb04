"""It does not show who measured: this process, others, or a cluster, and whether some died."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
import time

import psutil
import pytest

from gridcrux.corpus import workers
from gridcrux.corpus.sample import minimal
from gridcrux.corpus.study import WorkersLost, study_files
from gridcrux.corpus.study import run as module
from samples import content


@pytest.fixture
def source(tmp_path):
    path = tmp_path / "lines.txt"
    path.write_text("\n".join([item.line for item in minimal(40, 9)] * 50))
    return str(path)


@pytest.fixture
def small(monkeypatch):
    monkeypatch.setattr(module, "PART", 64)
    monkeypatch.setattr(module, "BATCH", 16)


def started(*command):
    return subprocess.Popen([sys.executable, "-m", *command], stderr=subprocess.DEVNULL)


@pytest.fixture
def cluster(tmp_path):
    """The address of a scheduler with two workers, and the processes of these."""
    file = tmp_path / "scheduler.json"
    options = ("--scheduler-file", str(file))
    scheduler = started(
        "distributed.cli.dask_scheduler", *options, "--port", "0", "--no-dashboard",
        "--host", "127.0.0.1",
    )  # fmt: skip
    helpers = [
        started(
            "distributed.cli.dask_worker", *options, "--nthreads", "1", "--no-nanny",
            "--no-dashboard", "--host", "127.0.0.1",
        )
        for _ in range(2)
    ]  # fmt: skip
    try:
        until = time.monotonic() + 60
        while not file.exists() and time.monotonic() < until:
            time.sleep(0.05)
        yield json.loads(file.read_text())["address"], helpers
    finally:
        for process in (*helpers, scheduler):
            process.kill()
            process.wait()


def when_parts_are_there(folder, count, act):
    """Do something in the middle of a study."""

    def wait():
        until = time.monotonic() + 60
        while len(list(folder.glob("table/part-*"))) < count and time.monotonic() < until:
            time.sleep(0.005)
        act()

    thread = threading.Thread(target=wait)
    thread.start()
    return thread


def test_a_cluster_of_which_a_worker_is_killed_finds_the_same(source, tmp_path, small, cluster):
    address, helpers = cluster
    study_files([source], tmp_path / "here", workers=1, progress=False)
    killed = when_parts_are_there(tmp_path / "there", 5, helpers[0].kill)
    run = study_files([source], tmp_path / "there", scheduler=address, progress=False)
    killed.join()
    assert helpers[0].wait(10) == -signal.SIGKILL
    assert run.puzzles == 2000
    assert content(tmp_path / "there") == content(tmp_path / "here")


def test_a_process_that_is_killed_is_replaced(source, tmp_path, small):
    study_files([source], tmp_path / "here", workers=1, progress=False)

    def kill_one():
        mine = psutil.Process().children(recursive=True)
        loky = [p for p in mine if any("loky" in word for word in p.cmdline())]
        os.kill(max(loky, key=lambda p: p.cpu_times().user).pid, signal.SIGKILL)

    killed = when_parts_are_there(tmp_path / "there", 3, kill_one)
    study_files([source], tmp_path / "there", workers=2, progress=False)
    killed.join()
    assert content(tmp_path / "there") == content(tmp_path / "here")


def die(task, asked):
    # The first task is done by the process that starts the others.
    if task.source != "memory":
        os.kill(os.getpid(), signal.SIGKILL)


def test_processes_that_die_again_and_again_are_told(source, tmp_path, small, monkeypatch):
    monkeypatch.setattr(module, "rows_of", die)
    with pytest.raises(WorkersLost, match=r"lines 1 to 16 of .*lines.txt died 3 times"):
        study_files([source], tmp_path / "out", workers=2, progress=False)


def test_a_cluster_that_is_not_there_is_told(source, tmp_path):
    with pytest.raises(WorkersLost, match=r"no Dask scheduler answers at 'tcp://127.0.0.1:9'"):
        study_files([source], tmp_path / "out", scheduler="tcp://127.0.0.1:9", progress=False)
    assert not (tmp_path / "out").exists()


def test_a_cluster_with_another_version_is_refused(source, tmp_path, cluster, monkeypatch):
    monkeypatch.setattr(workers, "version", lambda name: "99.0")
    with pytest.raises(WorkersLost, match=r"this is 99.0; install the same"):
        study_files([source], tmp_path / "out", scheduler=cluster[0], progress=False)
