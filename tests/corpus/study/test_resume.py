"""A study that is ended at any moment goes on from there, and nothing is lost or doubled."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pandas as pd
import psutil
import pytest

from gridcrux.corpus import files
from gridcrux.corpus.sample import minimal
from gridcrux.corpus.study import StudyExists, study_files
from gridcrux.corpus.study import run as module
from samples import content

RUN = """
import sys
from gridcrux.corpus.study import run as study
study.PART, study.BATCH = 8, 4
study.study_files([sys.argv[1]], sys.argv[2], workers=int(sys.argv[3]), progress=False)
"""


@pytest.fixture(scope="module")
def source(tmp_path_factory):
    """Some thousand lines, one in ten of which is no puzzle, packed."""
    lines = [item.line for item in minimal(40, 8)] * 30
    for number in range(0, len(lines), 10):
        lines[number] = f"no puzzle {number}"
    path = tmp_path_factory.mktemp("source") / "lines.txt.gz"
    import gzip

    with gzip.open(path, "wt") as stream:
        stream.write("\n".join(lines) + "\n")
    return path


@pytest.fixture
def small(monkeypatch):
    monkeypatch.setattr(module, "PART", 8)
    monkeypatch.setattr(module, "BATCH", 4)


@pytest.fixture(scope="module")
def whole(source, tmp_path_factory):
    """The study of the source, made in one go."""
    out = tmp_path_factory.mktemp("whole") / "out"
    subprocess.run([sys.executable, "-c", RUN, str(source), str(out), "1"], check=True)
    found = content(out)
    assert len([name for name in found if name.endswith(".parquet")]) == 135
    return found


@pytest.mark.parametrize("workers", [1, 2])
def test_killed_at_random_moments_it_ends_the_same(source, whole, tmp_path, workers):
    chance = random.Random(workers)
    out = tmp_path / "out"
    command = [sys.executable, "-c", RUN, str(source), str(out), str(workers)]
    goals = sorted(chance.sample(range(1, 130), 3))
    for goal in goals:
        process = subprocess.Popen(command)
        until = time.monotonic() + 60
        while len(list(out.glob("table/part-*"))) < goal and time.monotonic() < until:
            time.sleep(chance.random() / 500)
        children = psutil.Process(process.pid).children(recursive=True)
        os.kill(process.pid, signal.SIGKILL)
        assert process.wait() == -signal.SIGKILL
        # Nobody is left who would work for a study that is no more.
        assert not psutil.wait_procs(children, timeout=20)[1]
    subprocess.run(command, check=True)
    assert content(out) == whole


class _Died(BaseException):
    pass


@pytest.mark.parametrize("moment", [0, 1, 2, 3, 7, 8])
@pytest.mark.parametrize("before", [False, True])
def test_death_beside_any_file_that_takes_its_place(tmp_path, monkeypatch, small, moment, before):
    """The moments in which a file is there and is not, one after the other."""
    source = tmp_path / "lines.txt"
    source.write_text("\n".join(f"no puzzle\n{item.line}" for item in minimal(40, 8)))
    study_files([str(source)], tmp_path / "whole", workers=1, progress=False)
    replace, done = os.replace, 0

    def mortal(*paths):
        nonlocal done
        done += 1
        if done == moment + 1 and before:
            raise _Died
        if done <= moment + 1:
            replace(*paths)
        if done >= moment + 1:
            raise _Died

    monkeypatch.setattr(files.os, "replace", mortal)
    with pytest.raises(_Died):
        study_files([str(source)], tmp_path / "out", workers=1, progress=False)
    monkeypatch.setattr(files.os, "replace", replace)
    run = study_files([str(source)], tmp_path / "out", workers=1, progress=False)
    assert content(tmp_path / "out") == content(tmp_path / "whole")
    assert (run.puzzles, run.rejected) == (40, 40)


def test_a_finished_study_is_only_read(source, tmp_path, monkeypatch, small):
    first = study_files([str(source)], tmp_path / "out", workers=1, progress=False)
    monkeypatch.setattr(module, "rows_of", pytest.fail)
    again = study_files([str(source)], tmp_path / "out", workers=1, progress=False)
    assert (first.resumed, again.resumed) == (0, first.puzzles)
    assert (again.puzzles, again.rejected) == (first.puzzles, first.rejected)


def test_a_source_that_changed_is_noticed(tmp_path, small):
    lines = [item.line for item in minimal(20, 3)]
    path = tmp_path / "lines.txt"
    path.write_text("\n".join(lines))
    study_files([str(path)], tmp_path / "out", progress=False)
    path.write_text("\n".join([*lines[:10], lines[0], *lines[11:]]))
    with pytest.raises(StudyExists, match="is not what"):
        study_files([str(path)], tmp_path / "out", progress=False)
    path.write_text("\n".join(lines[:16]))
    with pytest.raises(StudyExists, match="no longer in the sources"):
        study_files([str(path)], tmp_path / "out", progress=False)


def test_the_standard_input_is_cut_in_the_same_parts_however_it_comes(tmp_path, small, monkeypatch):
    lines = [item.line for item in minimal(30, 4)]
    text = ("\n".join(lines) + "\n").encode()

    def by_pieces(length):
        class Pipe:
            at = 0

            def read1(self, _):
                self.at += length
                return text[self.at - length : self.at]

            def __enter__(self):
                return self

            def __exit__(self, *error):
                pass

        return Pipe()

    found = []
    for length in (7, 1000, 10**6):
        monkeypatch.setattr(module, "open_source", lambda _, n=length: by_pieces(n))
        out = tmp_path / str(length)
        study_files(["-"], out, progress=False)
        found.append(content(out))
    assert found[0] == found[1] == found[2]


def test_sources_follow_each_other(tmp_path, small):
    lines = [item.line for item in minimal(25, 5)]
    (tmp_path / "a.txt").write_text("\n".join(lines[:11]))
    (tmp_path / "b.txt").write_text("\n".join(["no puzzle", *lines[11:]]))
    sources = [str(tmp_path / name) for name in ("a.txt", "b.txt")]
    run = study_files(sources, tmp_path / "out", workers=2, progress=False)
    table = run.frame()
    assert table["puzzle"].tolist() == lines
    assert table["source"].tolist() == [sources[0]] * 11 + [sources[1]] * 14
    assert table["line"].tolist() == [*range(1, 12), *range(2, 16)]
    assert pd.read_csv(run.rejects)["source"].tolist() == [sources[1]]
    assert Path(run.table).joinpath("part-00003.parquet").exists()
