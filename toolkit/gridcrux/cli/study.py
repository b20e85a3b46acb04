"""The command `study`: a row a puzzle."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

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
from gridcrux.cli.output import INTERRUPTED, console, plural, print_json, table, tell
from gridcrux.cli.prepare import prepare

if TYPE_CHECKING:
    from gridcrux.corpus.study import StudyRun


STUDY_LEVEL = "fish"
"""What a study uses unless it is told: the fastest by far."""


def study(
    out: ResultsFolder,
    files: PuzzleFiles = None,
    layout: LayoutName = None,
    level: Annotated[
        str | None,
        typer.Option(
            metavar="NAME",
            help="How much is known: fish if left out, as it is the fastest by far; "
            "'gridcrux techniques' tells of the others.",
            show_default=False,
        ),
    ] = None,
    without: Without = None,
    only: Only = None,
    widest: Widest = None,
    no_uniqueness: NoUniqueness = False,
    needs: Annotated[
        bool,
        typer.Option(
            "--needs",
            help="Also find the fewest hard steps, the least widths, the minimal sets of "
            "techniques and the narrow places: some tenths of a second a puzzle.",
        ),
    ] = False,
    above: Annotated[
        str | None,
        typer.Option(
            metavar="LEVEL",
            help="With --needs: all techniques of this level are easy; singles if left out.",
            show_default=False,
        ),
    ] = None,
    search_seconds: Annotated[
        float | None,
        typer.Option(
            metavar="S",
            help="With --needs: time for each of its searches in a puzzle; 2 if left out.",
            show_default=False,
        ),
    ] = None,
    widths: Annotated[
        bool,
        typer.Option(
            "--widths",
            help="Also find the bottleneck width: some hundredths of a second a puzzle.",
        ),
    ] = False,
    seconds: Annotated[
        float,
        typer.Option(
            metavar="S",
            help="Time for one puzzle; a row says if it was not enough, and keeps what is known.",
        ),
    ] = 60.0,
    workers: Workers = None,
    scheduler: Scheduler = None,
    as_json: AsJson = False,
) -> None:
    """Measure every puzzle of some files into a folder of Parquet tables.

    Lines that are no puzzle are set aside in rejects.csv. However a run ends, the same command
    goes on from there. Columns 'id', 'weight' and 'group' of a table are taken over.
    """
    each = layout_named(layout)
    if not prepare("study"):
        # In this thread, where Ctrl-C ends it at once.
        from gridcrux.corpus.study.run import compile_for
        from gridcrux.corpus.study.tasks import Asked

        compile_for(Asked())
    usual = None if only else STUDY_LEVEL
    repertoire = repertoire_of(without, only, widest, level or usual, not no_uniqueness)
    checked_seconds(seconds)
    from gridcrux.corpus.study import WorkersLost, study_files
    from gridcrux.corpus.study.needs import Needs

    settings: dict[str, Any] = {}
    if above is not None:
        level_named(above, "--above")
        settings["above"] = above
    if search_seconds is not None:
        settings["seconds"] = checked_seconds(search_seconds, "--search-seconds")
    if settings and not needs:
        raise BadInput("--above and --search-seconds say how --needs works; give --needs too")
    sources = files or ["-"]
    if "-" in sources:
        invite()
    try:
        run = study_files(
            sources,
            out,
            layout=each,
            repertoire=repertoire,
            seconds=seconds,
            needs=Needs(**settings) if needs else None,
            widths=widths,
            workers=workers,
            scheduler=scheduler,
        )
    except (ValueError, WorkersLost) as error:
        raise BadInput(error) from error
    except OSError as error:
        raise BadInput(f"{error.filename or out}: {error.strerror or error}") from error
    if as_json:
        print_json(
            {
                "puzzles": run.puzzles,
                "rejected": run.rejected,
                "resumed": run.resumed,
                "table": str(run.table),
                "rejects": str(run.rejects),
                "interrupted": run.interrupted,
                "seconds": round(run.seconds, 3),
            }
        )
    elif run.puzzles:
        _show_study(run)
    if run.interrupted:
        tell(
            f"interrupted; the {plural(run.puzzles, 'row')} so far are in {run.table}, "
            "and the same command goes on from there"
        )
        raise typer.Exit(INTERRUPTED)
    if not as_json:
        kept = f", {run.resumed:,} of them from before" if run.resumed else ""
        print(f"{plural(run.puzzles, 'row')} in {run.table}{kept}")
        if run.rejected:
            print(f"{plural(run.rejected, 'line')} set aside in {run.rejects}")
    if not run.puzzles:
        tell("no line is a puzzle")
        raise typer.Exit(1)


def _show_study(run: StudyRun) -> None:
    import pyarrow.parquet as parquet

    from gridcrux.corpus.statistics.rates import rates
    from gridcrux.figures.shares import percent
    from gridcrux.figures.studies import technique_table

    # A corpus may have millions of rows: its texts stay on disk.
    columns = parquet.ParquetDataset(run.table).schema.names
    frame = run.frame([name for name in columns if name not in ("id", "source", "puzzle")])
    one = (frame["solutions"] == 1) & frame["solutions_complete"]
    features = {"one solution": one, "solved by the techniques": frame["solved"]}
    out = console()
    done = run.puzzles - run.resumed
    rate = done / run.seconds if run.seconds else 0
    out.print(f"{plural(done, 'puzzle')} in {run.seconds:.1f} s ({rate:,.0f} a second)")
    for row in rates(frame, features).to_dict("records"):
        known = "" if row["puzzles"] == run.puzzles else f" of {row['puzzles']:,} known"
        out.print(f"{row['feature']}: {row['count']:,} ({percent(row['share'])}{known})")
    if frame["weight"].nunique() > 1:
        out.print("shares are by weight; 'gridcrux rates' has their intervals")
    stopped = int(frame["stopped_by"].notna().sum())
    if stopped:
        out.print(f"the time was up for {stopped:,} ({percent(stopped / run.puzzles)})")
    _show_needs(out, frame)
    right = {"justify": "right"}
    shares = table("technique", ("used in", right), ("essential in", right))
    for row in technique_table(frame).to_dict("records"):
        shares.add_row(
            row["technique"], percent(row["used_share"]), percent(row["essential_share"])
        )
    out.print(shares)


def _show_needs(out: Any, frame: Any) -> None:
    """What the slow columns say, where there are any."""
    from gridcrux.figures.shares import percent

    shown = {
        "fewest_hard_steps": "fewest hard steps",
        "least_widest_step": "least width of the widest step",
        "bottleneck_width": "bottleneck width",
    }
    for column, name in shown.items():
        if column in frame and frame[column].notna().any():
            shares = frame[column].value_counts(normalize=True).sort_index()
            told = ", ".join(f"{value}: {percent(share)}" for value, share in shares.items())
            out.print(f"{name}, of {plural(int(frame[column].count()), 'puzzle')}: {told}")
