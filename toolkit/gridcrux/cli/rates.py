"""The command `rates`: how rare, with an interval, and how two studies differ."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gridcrux.cli.inputs import AsJson, BadInput
from gridcrux.cli.output import console, plural, print_json, table, tell

if TYPE_CHECKING:
    import pandas as pd

ONLY = "only "

LONG = {"id", "puzzle"}
"""Columns of texts that are different in every row."""

FEW_GROUPS = 50
"""With fewer groups intervals come out too narrow."""


def rates(
    folder: Annotated[
        Path, typer.Argument(metavar="STUDY", help="Folder that 'gridcrux study' made.")
    ],
    features: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="FEATURE",
            help="'only x-wing': solved, but not without it; 'essential x-wing': the end, solved "
            "or stuck, is not reached without it; 'used x-wing'; or a condition on columns such as "
            "'hard_steps > 3 and solved'. If left out: 'only' for each technique.",
            show_default=False,
        ),
    ] = None,
    number: Annotated[
        list[str] | None,
        typer.Option(
            metavar="COLUMN",
            help="Also the mean and the median of a column, or of a formula such as "
            "'log10(nodes)'; may be repeated.",
        ),
    ] = None,
    against: Annotated[
        Path | None,
        typer.Option(
            metavar="STUDY",
            help="Compare with this study: difference, effect size, and a test that is corrected "
            "for the number of features.",
            show_default=False,
        ),
    ] = None,
    figure: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="Also draw the shares: .png, .svg or .pdf.", show_default=False
        ),
    ] = None,
    seed: Annotated[int, typer.Option(min=0, metavar="S", help="Of what is resampled.")] = 0,
    as_json: AsJson = False,
) -> None:
    """Tell how many puzzles of a study have a feature, with intervals of 95 %.

    Puzzles count by the column 'weight', and those of a 'group' count as depending on each other,
    so that shares of a sample made with --weighted are shares of all minimal puzzles.
    """
    from gridcrux.corpus.rows import records_of
    from gridcrux.corpus.statistics.comparison import compare_numbers, compare_shares
    from gridcrux.corpus.statistics.rates import means
    from gridcrux.corpus.statistics.rates import rates as rates_of

    try:
        named = set(re.findall(r"\w+", " ".join([*(features or []), *(number or [])])))
        first = _read(folder, named)
        asked = list(features) if features else _only_ways(first)
        shares = rates_of(first, asked, seed=seed)
        tables = {"shares": shares}
        if number:
            tables["numbers"] = means(first, number, seed=seed)
        if against is not None:
            second = _read(against, named)
            wanted = asked if features else _only_ways(first, second)
            tables["compared_shares"] = compare_shares(first, second, wanted, seed=seed)
            if number:
                tables["compared_numbers"] = compare_numbers(first, second, number, seed=seed)
        if figure is not None:
            _draw(shares, figure)
    except ValueError as error:
        raise BadInput(error) from error
    except OSError as error:
        raise BadInput(f"{error.filename or figure}: {error.strerror or error}") from error
    if as_json:
        print_json({name: records_of(each) for name, each in tables.items()})
        return
    _show(tables, len(first))


def _read(folder: Path, named: set[str]) -> pd.DataFrame:
    """A study; tells what makes its shares doubtful.  Long texts not named stay on disk."""
    from gridcrux.corpus.rows import Rows

    rows = Rows(folder)
    wanted = [name for name in rows.schema.names if name not in LONG - named]
    frame = rows.frame(wanted)
    if frame.empty:
        raise ValueError(f"{folder}: the study has no puzzles")
    for caution in _cautions(rows.manifest, frame):
        tell(f"{folder}: {caution}")
    return frame


def _only_ways(*studies: pd.DataFrame) -> list[str]:
    """For each technique that all studies know and one cannot do without, whether that is so."""
    from gridcrux.corpus.statistics.features import essential_flags

    flags = [essential_flags(study, through=True) for study in studies]
    shared = [name for name in flags[0] if all(name in each for each in flags)]
    seen = [f"{ONLY}{name}" for name in shared if any(each[name].any() for each in flags)]
    if not seen:
        raise ValueError("no technique is the only way through any puzzle; name a FEATURE")
    return seen


def _cautions(manifest: dict[str, Any], study: pd.DataFrame) -> Iterator[str]:
    """What one should know before one believes a share."""
    from gridcrux.corpus.statistics.weighting import Weighting

    if manifest.get("finished") is False:
        yield "the study is not finished; shares are those of the rows so far"
    weighting = Weighting.of(study, "weight", "group", 0)
    if not weighting.plain and weighting.groups < FEW_GROUPS:
        yield (
            f"{plural(weighting.groups, 'group')} of puzzles; with fewer than {FEW_GROUPS} "
            "intervals are too narrow"
        )
    if "source" in study and "weight" in study:
        plain = study["weight"].eq(1).groupby(study["source"], observed=True).all()
        if plain.any() and not plain.all():
            names = ", ".join(map(str, plain.index[plain]))
            yield (
                f"{names} has no weights, other sources have; each of its puzzles counts as one "
                "of the many that theirs stand for"
            )


def _draw(shares: pd.DataFrame, target: Path) -> None:
    from matplotlib.figure import Figure

    from gridcrux.figures.statistics.rates import plot_rates

    figure = Figure(figsize=(8.4, 1.0 + 0.34 * len(shares)), layout="constrained")
    plot_rates(shares, ax=figure.add_subplot())
    figure.savefig(target)


def _show(tables: dict[str, pd.DataFrame], puzzles: int) -> None:
    from gridcrux.figures.shares import percent

    out = console()
    right = {"justify": "right"}
    shares = tables["shares"]
    plain = bool((shares["effective"] == shares["puzzles"]).all())
    out.print(plural(puzzles, "puzzle"))
    worth = [] if plain else [("worth", right)]
    columns = table(
        "feature", ("puzzles", right), ("share", right), ("95 %", right), ("one in", right), *worth
    )
    for row in shares.to_dict("records"):
        one_in = f"{1 / row['share']:,.0f}" if row["share"] > 0 else ""
        interval = f"{percent(row['low'])} to {percent(row['high'])}"
        puzzles_with = f"{row['count']:,} of {row['puzzles']:,}"
        columns.add_row(
            row["feature"], puzzles_with, percent(row["share"]), interval, one_in,
            *([] if plain else [f"{row['effective']:,.0f}"]),
        )  # fmt: skip
    out.print(columns)
    if not plain:
        out.print("worth: so many independent puzzles of equal weight say as much of the share")
    if "numbers" in tables:
        middle = table("number", ("mean", right), ("95 %", right), ("median", right))
        for row in tables["numbers"].to_dict("records"):
            interval = f"{row['mean_low']:.4g} to {row['mean_high']:.4g}"
            middle.add_row(row["column"], f"{row['mean']:.5g}", interval, f"{row['median']:g}")
        out.print(middle)
    for name, key, effect, what in (
        ("compared_shares", "feature", "cohen_h", "share"),
        ("compared_numbers", "column", "hedges_g", "mean"),
    ):
        if name not in tables:
            continue
        compared = table(
            key, ("this", right), ("other", right), ("other - this", right), ("95 %", right),
            (effect, right), ("p, corrected", right),
        )  # fmt: skip
        for row in tables[name].to_dict("records"):
            shown = percent if key == "feature" else "{:.4g}".format
            interval = f"{shown(row['difference_low'])} to {shown(row['difference_high'])}"
            compared.add_row(
                row[key], shown(row[f"first_{what}"]), shown(row[f"second_{what}"]),
                shown(row["difference"]), interval, f"{row[effect]:.2f}",
                f"{row['p_corrected']:.2g}",
            )  # fmt: skip
        out.print(compared)
