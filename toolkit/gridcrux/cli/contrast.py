"""The command `contrast`: what is hard for a person beside what is hard for a machine."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gridcrux.cli.inputs import (
    AsJson,
    BadInput,
    LayoutName,
    NoUniqueness,
    Only,
    Widest,
    Without,
    checked_seconds,
    invite,
    layout_named,
    level_named,
    repertoire_of,
)
from gridcrux.cli.output import console, plural, print_json, table, tell
from gridcrux.cli.prepare import prepare
from gridcrux.cli.rates import FEW_GROUPS
from gridcrux.cli.study import INTERRUPTED

if TYPE_CHECKING:
    import pandas as pd

    from gridcrux.corpus.contrast import ContrastRun

HUMAN = "refutation_sum"
"""The human measure of the outliers: it orders most puzzles, where others have many ties."""

MOST_NAMES = 1000


def contrast(
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Folder for the results.")],
    files: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="FILE",
            help="Files of puzzles, one a line or as a table with a column 'puzzle', packed or "
            "not; '-' (also if left out) for standard input.",
            show_default=False,
        ),
    ] = None,
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
            "by then is missing.",
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
    seed: Annotated[int, typer.Option(min=0, metavar="S", help="Of what is resampled.")] = 0,
    workers: Annotated[
        int | None,
        typer.Option(
            min=1,
            metavar="N",
            help="Processes; if left out one a core, or none but this one for a few puzzles.",
            show_default=False,
        ),
    ] = None,
    scheduler: Annotated[
        str | None,
        typer.Option(
            metavar="ADDRESS",
            help="Measure on the cluster of this Dask scheduler instead, as tcp://host:8786.",
            show_default=False,
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Tell how what is hard for a person relates to what is hard for a machine.

    A row a puzzle is written to contrast.csv and contrast.parquet, Spearman correlations with
    intervals of 95 % to correlations.csv, and the puzzles that are hard for one and easy for the
    other to outliers.csv and outliers.svg. However a run ends, the same command goes on from there.
    Columns 'weight' and 'group' of a table are respected.
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
    checked_seconds(seconds)
    sources = files or ["-"]
    if "-" in sources:
        invite()
    try:
        # What is asked wrongly is told before all is measured, not after.
        _check_columns(human, machine, engine or ENGINES)
        run = contrast_files(
            sources,
            out,
            engines=engine or ENGINES,
            repertoire=repertoire,
            above=above,
            seconds=seconds,
            layout=each,
            workers=workers,
            scheduler=scheduler,
        )
        tables = _tables(run, human, machine, top, seed) if run.study.puzzles else {}
    except (ValueError, WorkersLost, EnginesDisagree) as error:
        raise BadInput(error) from error
    except OSError as error:
        raise BadInput(f"{error.filename or out}: {error.strerror or error}") from error
    if as_json:
        _print_json(run, tables)
    elif tables:
        _show(run, tables)
    if run.study.interrupted:
        tell(
            f"interrupted; what is told is of the {plural(run.study.puzzles, 'row')} so far, "
            "and the same command goes on from there"
        )
        raise typer.Exit(INTERRUPTED)
    if not run.study.puzzles:
        tell("no line is a puzzle")
        raise typer.Exit(1)


def _check_columns(human: str, machine: str | None, engines: Sequence[str]) -> None:
    """Make sure that the measures of the outliers are measured."""
    from gridcrux.corpus.contrast import DIRECTIONS
    from gridcrux.corpus.contrast.efforts import names_of
    from gridcrux.corpus.contrast.measures import machine_columns
    from gridcrux.corpus.rows import UnknownColumn

    if human not in DIRECTIONS:
        raise UnknownColumn(human, DIRECTIONS)
    machines = machine_columns(names_of(engines))
    if machine is not None and machine not in machines:
        raise UnknownColumn(machine, machines)


def _tables(
    run: ContrastRun, human: str, machine: str | None, top: int, seed: int
) -> dict[str, pd.DataFrame]:
    """The correlations, the outliers and how often measures are known, written beside the rows."""
    from gridcrux.corpus.contrast import contrast_correlations, rank_residuals
    from gridcrux.corpus.contrast.efforts import main_column
    from gridcrux.corpus.contrast.measures import known_table
    from gridcrux.corpus.files import moved
    from gridcrux.corpus.statistics.weighting import Weighting
    from gridcrux.figures.contrast import outlier_table

    rows = run.frame()
    weighting = Weighting.of(rows, "weight", "group", 0)
    if not weighting.plain and weighting.groups < FEW_GROUPS:
        tell(
            f"{plural(weighting.groups, 'group')} of puzzles; with fewer than {FEW_GROUPS} "
            "intervals are too narrow"
        )
    known = known_table(rows, run.asked.engines)
    main = [main_column(name) for name in run.asked.engines]
    if machine is None:
        values = known.set_index("measure")["values"]
        machine = next((name for name in main if values[name] > 1), main[0])
    found = {
        "measures": known,
        "correlations": contrast_correlations(rows, run.asked.engines, seed=seed),
    }
    if known["puzzles"].max() > 0:
        residuals = rank_residuals(rows, human, machine, top=top)
        found["outliers"] = outlier_table(residuals).assign(
            human_measure=human, machine_measure=machine
        )
        _draw(residuals, human, machine, run.csv.with_name("outliers.svg"))
    for name, each in found.items():
        with moved(run.csv.with_name(f"{name}.csv")) as target:
            each.to_csv(target, index=False)
    return found


def _draw(residuals: pd.DataFrame, human: str, machine: str, target: Path) -> None:
    from matplotlib.figure import Figure

    from gridcrux.figures.contrast import plot_contrast

    figure = Figure(figsize=(7.2, 6.4), layout="constrained")
    plot_contrast(residuals, human=human, machine=machine, ax=figure.add_subplot())
    figure.savefig(target)


def _print_json(run: ContrastRun, tables: dict[str, pd.DataFrame]) -> None:
    from gridcrux.corpus.contrast import CAUTIONS
    from gridcrux.corpus.rows import records_of

    print_json(
        {
            "puzzles": run.study.puzzles,
            "rejected": run.study.rejected,
            "resumed": run.study.resumed,
            "csv": str(run.csv),
            "parquet": str(run.parquet),
            "rejects": str(run.study.rejects),
            "interrupted": run.study.interrupted,
            "seconds": round(run.study.seconds, 3),
            **{name: records_of(each) for name, each in tables.items()},
            "cautions": list(CAUTIONS),
        }
    )


def _show(run: ContrastRun, tables: dict[str, pd.DataFrame]) -> None:
    from gridcrux.corpus.contrast import CAUTIONS
    from gridcrux.corpus.contrast.efforts import main_column

    out, study = console(), run.study
    kept = f", {study.resumed:,} of them from before" if study.resumed else ""
    out.print(f"{plural(study.puzzles, 'row')} in {run.csv} and {run.parquet.name}{kept}")
    if study.rejected:
        out.print(f"{plural(study.rejected, 'line')} set aside in {study.rejects}")
    known = tables["measures"].set_index("measure")
    one = known["puzzles"].max()
    if one < study.puzzles:
        out.print(f"{plural(study.puzzles - one, 'puzzle')} without exactly one solution left out")
    constant = list(map(str, known.index[known["values"] <= 1]))
    if constant:
        out.print(f"the same in all puzzles, and so without ranks: {', '.join(constant)}")
    machines = [name for name in map(main_column, run.asked.engines) if name not in constant]
    correlations = {
        (row["first"], row["second"]): row for row in tables["correlations"].to_dict("records")
    }
    right: dict[str, Any] = {"justify": "right"}
    shown = table("", ("known", right), ("values", right), *((name, right) for name in machines))
    for row in tables["measures"].to_dict("records"):
        if row["side"] == "human" and row["measure"] not in constant:
            cells = [_cell(correlations[row["measure"], machine]) for machine in machines]
            shown.add_row(row["measure"], f"{row['puzzles']:,}", f"{row['values']:,}", *cells)
    out.print("\nSpearman correlations, with intervals of 95 %")
    out.print(shown)
    out.print("known: puzzles of which the measure is known; values: different ones among them")
    if "outliers" in tables:
        _show_outliers(out, tables["outliers"])
    out.print("")
    for caution in CAUTIONS:
        out.print(f"Note: {caution}.")


def _cell(row: dict[Hashable, Any]) -> str:
    """A correlation with its interval, or nothing."""
    if row["spearman"] != row["spearman"]:
        return ""
    if row["low"] != row["low"]:
        return f"{row['spearman']:.2f}"
    return f"{row['spearman']:.2f} ({row['low']:.2f} to {row['high']:.2f})"


def _show_outliers(out: Any, outliers: pd.DataFrame) -> None:
    right: dict[str, Any] = {"justify": "right"}
    if outliers.empty:
        out.print("no puzzle is harder for one than for the other")
        return
    human, machine = map(str, outliers.loc[0, ["human_measure", "machine_measure"]])
    shown = table("", "puzzle", (human, right), ("rank", right), (machine, right), ("rank", right))
    # Line numbers say which puzzle is meant within one file only.
    several = outliers["source"].nunique() > 1
    before = ""
    for row in outliers.to_dict("records"):
        kind = row["outlier"] if row["outlier"] != before else ""
        before = row["outlier"]
        ranks = [f"{row[name]:.0%}" for name in ("human_rank", "machine_rank")]
        shown.add_row(
            kind,
            f"{row['source']}: {row['id']}" if several else str(row["id"]),
            f"{row['human']:g}",
            ranks[0],
            f"{row['machine']:g}",
            ranks[1],
        )
    out.print(shown)
    out.print("rank: share of puzzles that are easier, ties by half")
