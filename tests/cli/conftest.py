"""The command line in this process, and what it said."""

from __future__ import annotations

import pytest
from typer.testing import CliRunner

from gridcrux.cli.program import program


@pytest.fixture(scope="session", autouse=True)
def compiled(tmp_path_factory):
    """Compile what the commands need, so that no test meets the notice of a first run."""
    puzzle = tmp_path_factory.mktemp("compiled") / "puzzle"
    puzzle.write_text("." * 81)
    folder = puzzle.parent / "out"
    CliRunner().invoke(program, ["count", str(puzzle), "--limit", "2"])
    for command in ("backbone", "route", "crux"):
        CliRunner().invoke(program, [command, str(puzzle)])
    CliRunner().invoke(program, ["sample"])
    CliRunner().invoke(program, ["study", str(puzzle), "--out", str(folder)])


@pytest.fixture
def run():
    """Call a command; the result has exit_code, stdout and stderr."""

    def call(*arguments, stdin=None):
        result = CliRunner().invoke(program, [str(each) for each in arguments], input=stdin)
        assert result.exception is None or isinstance(result.exception, SystemExit)
        return result

    return call
