"""The command `sample`: random puzzles."""

from __future__ import annotations

import csv
import json
import shlex
import sys
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, closing, contextmanager
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gridcrux.cli.inputs import (
    AsJson,
    BadInput,
    LayoutName,
    LevelName,
    NoUniqueness,
    Only,
    Widest,
    Without,
    layout_named,
)
from gridcrux.cli.output import INTERRUPTED, plural, print_json, tell
from gridcrux.cli.prepare import prepare
from gridcrux.cli.recipes import asked_for, make_ready, option, recipe_of, refuse_nonsense

if TYPE_CHECKING:
    from gridcrux.corpus.sample.exchange import Outcome
    from gridcrux.corpus.sample.recipes import Recipe


def sample(
    context: typer.Context,
    count: Annotated[
        int,
        typer.Option(min=1, metavar="N", help="How many puzzles; with --weighted, groups of them."),
    ] = 1,
    seed: Annotated[
        int, typer.Option(min=0, metavar="S", help="Which puzzles: same seed, same puzzles.")
    ] = 1,
    layout: LayoutName = None,
    symmetry: Annotated[
        str, typer.Option(metavar="NAME", help="Symmetry of the pattern of givens.")
    ] = "none",
    givens: Annotated[
        int | None,
        typer.Option(min=0, metavar="G", help="Exactly so many givens.", show_default=False),
    ] = None,
    minimal: Annotated[
        bool,
        typer.Option("--minimal", help="With --givens: no given, or set of images, to spare."),
    ] = False,
    pattern: Annotated[
        str | None,
        typer.Option(
            metavar="PATTERN",
            help="Givens exactly where this text, or the file of this name, has a mark other "
            "than '.', row by row.",
            show_default=False,
        ),
    ] = None,
    weighted: Annotated[
        bool,
        typer.Option(
            "--weighted", help="Weights, so that weighted sums stand for all minimal puzzles."
        ),
    ] = False,
    essential: Annotated[
        str | None,
        typer.Option(
            metavar="TECHNIQUE",
            help="Solved by the techniques of --level, but not without this one.",
            show_default=False,
        ),
    ] = None,
    level: LevelName = None,
    without: Without = None,
    only: Only = None,
    widest: Widest = None,
    no_uniqueness: NoUniqueness = False,
    none_harder: Annotated[
        bool,
        typer.Option(
            "--none-harder",
            help="With --essential: no step of the route is harder than this technique.",
        ),
    ] = False,
    search: Annotated[
        str,
        typer.Option(
            metavar="NAME",
            help="With --essential: by 'rejection', unbiased but slow for what is rare, or from "
            "'near' misses, faster and biased.",
        ),
    ] = "rejection",
    attempts: Annotated[
        int | None,
        typer.Option(
            min=1,
            metavar="N",
            help="Give a puzzle up after so many grids, or with --essential so many puzzles.",
            show_default=False,
        ),
    ] = None,
    workers: Annotated[
        int, typer.Option(min=1, metavar="N", help="Processes; the puzzles are the same.")
    ] = 1,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE.csv",
            help="Write a CSV table to this file instead of printing lines, and beside it "
            "FILE.json, which tells how it was made and what the columns mean.",
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Make random puzzles with one solution, one a line.

    They are minimal ones, made by deletion from full grids, which prefers puzzles with few
    givens; with --weighted, --givens, --pattern or --essential others. FILE.json and --json
    tell what is drawn. The exit status is 1 if a puzzle was given up.
    """
    asked = asked_for(context)
    refuse_nonsense(set(asked))
    each = layout_named(layout or "3x3")
    assert each is not None
    if out is not None and out.suffix == ".json":
        raise BadInput(f"--out {out}: expected a name like {out.with_suffix('.csv')}")
    if out is not None and out.exists():
        raise BadInput(f"--out {out}: it exists; remove it, or name another file")
    prepare("sample")
    from gridcrux.corpus.sample.making import make
    from gridcrux.corpus.workers import WorkersLost

    recipe = recipe_of(each, context.params)
    make_ready(recipe)
    made = _Made(recipe, count)
    if sys.stderr.isatty():
        tell(f"drawn are {recipe.method}")
    # Closed, so that what is in work in other processes ends.
    with closing(make(recipe, count, workers, made.test)) as outcomes:
        try:
            if out is None and not as_json:
                for row in made.rows(outcomes):
                    print(row["puzzle"])
                    sys.stdout.flush()
            else:
                with made.shown():
                    made.write(outcomes, out)
        except (ValueError, WorkersLost) as error:
            raise BadInput(error) from error
    statement = {**_statement(recipe, count, asked), **made.end}
    if out is not None:
        _write_statement(out.with_suffix(".json"), statement)
    if as_json:
        print_json(
            {
                "puzzles": made.puzzles,
                "givens": made.givens,
                "layout": each.name,
                "symmetry": symmetry,
                "seed": seed,
                "made": statement,
            }
        )
    elif out is not None and not made.interrupted:
        print(f"{plural(len(made.puzzles), 'puzzle')} in {out}")
        from gridcrux.grids.layout import USUAL, usual

        if each.size not in USUAL or each != usual(each.size):
            print(f"a study of them needs --layout {layout}, as a file does not tell it")
    if made.interrupted:
        where = "" if out is None else f" in {out}"
        tell(f"interrupted; the {plural(len(made.puzzles), 'puzzle')} so far are kept{where}")
        raise typer.Exit(INTERRUPTED)
    made.tell_end()


class _Made:
    """What has been made so far.

    Attributes
    ----------
    puzzles, givens : of those that were found.
    given_up : items that were given up.
    interrupted : whether it was stopped before the end.
    """

    def __init__(self, recipe: Recipe, count: int) -> None:
        self.recipe, self.count = recipe, count
        self.puzzles: list[str] = []
        self.givens: list[int] = []
        self.given_up = self.tested = 0
        self.interrupted = False
        self.bar: Any = None

    def test(self, more: int) -> None:
        """Some more puzzles were tested."""
        self.tested += more
        if self.bar is not None:
            self.bar.set_postfix_str(f"{self.tested:,} tested")

    @contextmanager
    def shown(self) -> Iterator[None]:
        """Show a bar on a terminal meanwhile."""
        from tqdm import tqdm

        with tqdm(total=self.count, unit=self.recipe.unit, disable=None) as self.bar:
            yield
            if not self.interrupted:
                self.bar.update(self.count - self.bar.n)

    def rows(self, outcomes: Iterable[Outcome]) -> Iterator[dict[str, Any]]:
        """The rows of what is found, counted as they pass."""
        for outcome in outcomes:
            if self.bar is not None:
                self.bar.update(outcome.index + 1 - self.bar.n)
            if outcome.sampled is None:
                self.given_up += 1
                continue
            row = self.recipe.row(outcome)
            self.puzzles.append(row["puzzle"])
            self.givens.append(row["givens"])
            yield row

    def write(self, outcomes: Iterator[Outcome], out: Path | None) -> None:
        """Write what is found to a table, if there is to be one, as it comes; to an interrupt."""
        try:
            with ExitStack() as open_files:
                table = None
                if out is not None:
                    stream = open_files.enter_context(out.open("w", newline="", encoding="utf-8"))
                    table = csv.DictWriter(stream, list(self.recipe.columns), lineterminator="\n")
                    table.writeheader()
                for row in self.rows(outcomes):
                    if table is not None:
                        table.writerow(row)
        except KeyboardInterrupt:
            self.interrupted = True
            if out is not None:
                # It may have come between counting a row and writing it.
                with out.open(newline="", encoding="utf-8") as stream:
                    self.puzzles = [row["puzzle"] for row in csv.DictReader(stream)]
                self.givens = self.givens[: len(self.puzzles)]
        except OSError as error:
            raise BadInput(f"{out}: {error.strerror or error}") from error

    @property
    def end(self) -> dict[str, Any]:
        return {
            "puzzles": len(self.puzzles),
            "given_up": self.given_up,
            "interrupted": self.interrupted,
        }

    def tell_end(self) -> None:
        """Tell what was given up, and end with status 1 then."""
        repeated = 0
        if self.recipe.unit == "puzzle":
            repeated = self.count - len(self.puzzles) - self.given_up
        if repeated:
            tell(f"{plural(repeated, 'puzzle')} came up again and {_is(repeated)} left out")
        if self.given_up:
            tell(
                f"{plural(self.given_up, 'puzzle')} of {self.count:,} {_is(self.given_up)} given "
                "up, which does not say that there is none; --attempts tries longer"
            )
            raise typer.Exit(1)


def _is(number: int) -> str:
    return "is" if number == 1 else "are"


def _statement(recipe: Recipe, count: int, asked: dict[str, Any]) -> dict[str, Any]:
    """How a corpus is made, as a data card tells it."""
    command = ["gridcrux", "sample"]
    for name, value in asked.items():
        for each in value if isinstance(value, list | tuple) else [value]:
            command += [option(name)] if each is True else [option(name), str(each)]
    return {
        "method": recipe.method,
        "seed": recipe.seed,
        "settings": {"count": count, **recipe.settings},
        "version": f"gridcrux {version('gridcrux')}",
        "command": shlex.join(command),
        "bias": recipe.bias,
        "columns": recipe.columns,
    }


def _write_statement(path: Path, statement: dict[str, Any]) -> None:
    try:
        path.write_text(json.dumps(statement, indent=2) + "\n", encoding="utf-8")
    except OSError as error:
        raise BadInput(f"{path}: {error.strerror or error}") from error
