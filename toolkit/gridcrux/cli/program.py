"""The commands in one program, and what becomes of errors: one line and an exit status.

Exit status: 0 fine, 1 the answer is no, 2 bad input, 130 interrupted, 141 nobody reads on.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from gridcrux.cli.claims import prove
from gridcrux.cli.contrast import contrast
from gridcrux.cli.crux import crux
from gridcrux.cli.describe import describe
from gridcrux.cli.givens import givens
from gridcrux.cli.inputs import BadInput
from gridcrux.cli.output import INTERRUPTED, UNREAD, tell, tell_interrupted
from gridcrux.cli.questions import backbone, count
from gridcrux.cli.rates import rates
from gridcrux.cli.reasons import route
from gridcrux.cli.repertoires import techniques
from gridcrux.cli.sample import sample
from gridcrux.cli.shortlist import shortlist
from gridcrux.cli.storyboard import storyboard
from gridcrux.cli.study import study
from gridcrux.cli.widths import width

_UsageError: Any = typer.BadParameter.__base__
_CommandError: Any = _UsageError.__base__
"""The classes that typer raises for a wrong command line; their module differs by version."""


class Program(TyperGroup):
    """The command group; it tells errors in one line each and leaves no traceback of them."""

    def invoke(self, ctx: Any) -> Any:
        try:
            result = super().invoke(ctx)
            sys.stdout.flush()
            return result
        except BadInput as error:
            tell(str(error))
            raise typer.Exit(2) from error
        except KeyboardInterrupt as error:
            tell_interrupted(error)
            raise typer.Exit(INTERRUPTED) from None
        except BrokenPipeError:
            # What is still in the buffer goes nowhere, instead of failing at exit.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            raise typer.Exit(UNREAD) from None

    def main(  # type: ignore[override]
        self, args: Sequence[str] | None = None, prog_name: str | None = None, **rest: Any
    ) -> Any:
        rest["standalone_mode"] = False
        try:
            status = super().main(args, prog_name, **rest)
        except _CommandError as error:
            path = error.ctx.command_path if getattr(error, "ctx", None) else "gridcrux"
            message = error.format_message().rstrip(".")
            tell(f"{message}; {path} --help shows what it takes")
            status = error.exit_code
        sys.exit(status if isinstance(status, int) else 0)


program = typer.Typer(
    cls=Program,
    name="gridcrux",
    help="Which deductions of a number-place puzzle are essential, and which redundant.",
    add_completion=False,
    pretty_exceptions_enable=False,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"]},
)


@program.callback()
def start(
    ctx: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False,
) -> None:
    if version:
        from importlib.metadata import version as installed

        typer.echo(f"gridcrux {installed('gridcrux')}")
        raise typer.Exit
    if ctx.invoked_subcommand is None:
        typer.echo(ctx.get_help())


for command in (
    count,
    backbone,
    route,
    crux,
    givens,
    prove,
    width,
    storyboard,
    techniques,
    sample,
    describe,
    study,
    rates,
    contrast,
    shortlist,
):
    program.command()(command)
