"""The command `contrast`: what is hard for a person beside what is hard for a machine."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from gridcrux.cli.contrast_report import show, show_json
from gridcrux.cli.contrast_results import Asked, results
from gridcrux.cli.inputs import (
    AsJson,
    BadInput,
    LayoutName,
    NoUniqueness,
    Only,
    PuzzleFiles,
    ResultsFolder,
    Scheduler,
    Widest,
    Without,
    Workers,
    checked_seconds,
    invite,
    layout_named,
    level_named,
    repertoire_of,
)
from gridcrux.cli.output import INTERRUPTED, plural, tell
from gridcrux.cli.prepare import prepare
from gridcrux.cli.rates import FEW_GROUPS

if TYPE_CHECKING:
    from gridcrux.corpus.contrast import ContrastRun

HUMAN = "refutation_sum"
"""The human measure of the outliers: it orders most puzzles, where others have many ties."""

MOST_NAMES = 1000


def contrast(
    out: ResultsFolder,
    files: PuzzleFiles = None,
    layout: LayoutName = None,
    engine: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME",
            help="Ask this engine; may be repeated. Solvers are named with encoding and use: "
            "'cadical195/minimal/fresh'. If left out, some of each kind.",
            show_default=False,
        ),
    ] = None,
    level: Annotated[
        str | None,
        typer.Option(
            metavar="NAME",
            help="How much the person knows: chains if left out; 'gridcrux techniques' tells of "
            "the others.",
            show_default=False,
        ),
    ] = None,
    without: Without = None,
    only: Only = None,
    widest: Widest = None,
    no_uniqueness: NoUniqueness = False,
    above: Annotated[
        str, typer.Option(metavar="LEVEL", help="All techniques of this level are easy.")
    ] = "singles",
    seconds: Annotated[
        float,
        typer.Option(
            metavar="S",
            help="Time for each search in a puzzle, a person's or a machine's; what is not found "
            "by then is missing, so it depends on the speed of the machine and on its load. 0 for "
            "as long as it takes. Routes themselves have no limit: with last resorts one may take "
            "seconds.",
        ),
    ] = 0.1,
    human: Annotated[
        str,
        typer.Option(metavar="COLUMN", help="Outliers are told of this measure for a person,"),
    ] = HUMAN,
    machine: Annotated[
        str | None,
        typer.Option(
            metavar="COLUMN",
            help="and this one for a machine; if left out that of the first engine which differs "
            "from puzzle to puzzle.",
            show_default=False,
        ),
    ] = None,
    top: Annotated[
        int, typer.Option(min=1, max=MOST_NAMES, metavar="N", help="Outliers of each kind.")
    ] = 5,
    apart: Annotated[
        float,
        typer.Option(
            min=0,
            max=1,
            metavar="X",
            help="Ranks of outliers are so far apart at least; 0.2 is a fifth of the puzzles.",
        ),
    ] = 0.2,
    seed: Annotated[int, typer.Option(min=0, metavar="S", help="Of what is resampled.")] = 0,
    workers: Workers = None,
    scheduler: Scheduler = None,
    as_json: AsJson = False,
) -> None:
    """Tell how what is hard for a person relates to what is hard for a machine.

    A row a puzzle is written to contrast.csv and contrast.parquet, Spearman correlations with
    intervals of 95 % to correlations.csv, and the puzzles that are much harder for one than for the
    other to outliers.csv and outliers.svg; manifest.json and contrast.json say how all this came
    about. However a run ends, the same command goes on from there. Columns 'weight' and 'group' of
    a table are respected.
    """
    each = layout_named(layout)
    for command in ("study", "contrast"):
        prepare(command)
    from gridcrux.corpus.contrast import ENGINES, contrast_files
    from gridcrux.corpus.contrast.efforts import EnginesDisagree
    from gridcrux.corpus.contrast.run import LEVEL
    from gridcrux.corpus.study import WorkersLost

    usual = None if only else LEVEL
    repertoire = repertoire_of(without, only, widest, level or usual, not no_uniqueness)
    level_named(above, "--above")
    limit = checked_seconds(seconds) if seconds else None
    sources = files or ["-"]
    if "-" in sources:
        invite()
    outliers = Asked(human, machine, top, apart, seed)
    try:
        # What is asked wrongly is told before all is measured, not after.
        _check_engines(engine or ENGINES)
        _check_measures(human, machine, engine or ENGINES)
        run = contrast_files(
            sources,
            out,
            engines=engine or ENGINES,
            repertoire=repertoire,
            above=above,
            seconds=limit,
            layout=each,
            workers=workers,
            scheduler=scheduler,
        )
        _warn_of_few_groups(run)
        found = results(run, outliers) if run.study.puzzles else None
    except (ValueError, WorkersLost, EnginesDisagree) as error:
        raise BadInput(error) from error
    except OSError as error:
        raise BadInput(f"{error.filename or out}: {error.strerror or error}") from error
    if as_json:
        show_json(run, found)
    elif found is not None:
        show(run, found, outliers)
    if run.study.interrupted:
        tell(
            f"interrupted; what is told is of the {plural(run.study.puzzles, 'row')} so far, "
            "and the same command goes on from there"
        )
        raise typer.Exit(INTERRUPTED)
    if not run.study.puzzles:
        tell("no line is a puzzle")
        raise typer.Exit(1)


def _check_engines(names: Sequence[str]) -> None:
    """Make sure that engines decide.

    Raises
    ------
    ValueError : one only counts; or as `names_of` raises it.
    """
    from gridcrux.corpus.contrast.efforts import names_of
    from gridcrux.engines import COUNTERS, ENGINES

    for name in names:
        first = name.partition("/")[0]
        if first in COUNTERS and first not in ENGINES:
            raise ValueError(
                f"--engine {name}: it only counts solutions; name an engine that decides: "
                f"{', '.join(ENGINES)}, or another of python-sat's solvers"
            )
    names_of(names)


def _check_measures(human: str, machine: str | None, engines: Sequence[str]) -> None:
    """Make sure that the measures of the outliers are measured, each of its side.

    Raises
    ------
    ValueError : there is none of that name, or it is of the other side.
    """
    from gridcrux.corpus.contrast import DIRECTIONS
    from gridcrux.corpus.contrast.efforts import names_of
    from gridcrux.corpus.contrast.measures import machine_columns
    from gridcrux.corpus.statistics.features import UnknownName

    of_person, of_machine = list(DIRECTIONS), machine_columns(names_of(engines))
    for option, name, whose, others, right, wrong in (
        ("--human", human, "a person", "a machine", of_person, of_machine),
        ("--machine", machine, "a machine", "a person", of_machine, of_person),
    ):
        if name is None or name in right:
            continue
        if name in wrong:
            raise ValueError(
                f"{option} {name}: that is a measure for {others}; for {whose} there are "
                f"{', '.join(right)}"
            )
        raise UnknownName(name, right, f"measure for {whose}")


def _warn_of_few_groups(run: ContrastRun) -> None:
    from gridcrux.corpus.statistics.weighting import Weighting

    if not run.study.puzzles:
        return
    weighting = Weighting.of(run.frame(), "weight", "group", 0)
    if not weighting.plain and weighting.groups < FEW_GROUPS:
        tell(
            f"{plural(weighting.groups, 'group')} of puzzles; with fewer than {FEW_GROUPS} "
            "intervals are too narrow"
        )
