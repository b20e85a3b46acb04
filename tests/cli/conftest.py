"""The command line in this process, and what it said."""

from __future__ import annotations

import pytest
from typer.testing import CliRunner

from gridcrux.cli.program import program


@pytest.fixture
def run():
    """Call a command; the result has exit_code, stdout and stderr."""

    def call(*arguments, stdin=None):
        result = CliRunner().invoke(program, [str(each) for each in arguments], input=stdin)
        assert result.exception is None or isinstance(result.exception, SystemExit)
        return result

    return call
