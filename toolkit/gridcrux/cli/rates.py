"""The command `rates`: how rare, with an interval, and how two studies differ."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gridcrux.cli.inputs import AsJson, BadInput
from gridcrux.cli.output import console, plural, print_json, table

if TYPE_CHECKING:
    import pandas as pd

ONLY_WAY = "only way through: "


def rates(
    folder: Annotated[
        Path, typer.Argument(metavar="STUDY", help="Folder that 'gridcrux study' made.")
    ],
    features: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="FEATURE",
            help="'essential x-wing', 'used x-wing', or a condition on columns such as "
            "'hard_steps > 3 and solved'. If left out: for each technique, whether it is the only "
            "way through.",
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
    from gridcrux.corpus.statistics.comparison import compare_numbers, compare_shares
    from gridcrux.corpus.statistics.rates import means
    from gridcrux.corpus.statistics.rates import rates as rates_of

    try:
        first = _read(folder)
        asked = list(features) if features else _only_ways(first)
        shares = rates_of(first, asked, seed=seed)
        tables = {"shares": shares}
        if number:
            tables["numbers"] = means(first, number, seed=seed)
        if against is not None:
            second = _read(against)
            wanted = asked if features else _both_ways(first, second)
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
        print_json({name: _records(each) for name, each in tables.items()})
        return
    _show(tables, len(first))


def _read(folder: Path) -> pd.DataFrame:
    """A study without its long texts, which stay on disk."""
    from gridcrux.corpus.rows import Rows

    rows = Rows(folder)
    wanted = [name for name in rows.schema.names if name not in ("id", "source", "puzzle")]
    frame: pd.DataFrame = rows.frame(wanted)
    return frame


def _only_ways(study: pd.DataFrame) -> dict[str, Any]:
    """For each technique that is ever essential, whether it is the only way through."""
    from gridcrux.corpus.statistics.features import essential_flags

    flags = essential_flags(study, through=True)
    seen = [name for name in flags if flags[name].any()]
    if not seen:
        raise ValueError("no technique is the only way through any puzzle; name a FEATURE")
    return {f"{ONLY_WAY}{name}": flags[name] for name in seen}


def _both_ways(first: pd.DataFrame, second: pd.DataFrame) -> dict[str, Any]:
    """The same features as functions, for two studies."""
    from gridcrux.corpus.statistics.features import essential_flags

    names = dict.fromkeys([*_only_ways(first), *_only_ways(second)])
    known = [set(essential_flags(study)) for study in (first, second)]
    shared = [name for name in names if all(name.removeprefix(ONLY_WAY) in k for k in known)]

    def feature(name: str) -> Any:
        return lambda study: essential_flags(study, through=True)[name.removeprefix(ONLY_WAY)]

    return {name: feature(name) for name in shared}


def _draw(shares: pd.DataFrame, target: Path) -> None:
    from matplotlib.figure import Figure

    from gridcrux.figures.statistics.rates import plot_rates

    figure = Figure(figsize=(8.4, 1.0 + 0.34 * len(shares)), layout="constrained")
    plot_rates(shares, ax=figure.add_subplot())
    figure.savefig(target)


def _records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Rows as JSON can hold them, null where a value is missing."""
    return [
        {str(name): None if value != value else value for name, value in row.items()}
        for row in frame.astype(object).to_dict("records")
    ]


def _show(tables: dict[str, pd.DataFrame], puzzles: int) -> None:
    from gridcrux.figures.studies import percent

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
        columns.add_row(
            row["feature"], f"{row['count']:,}", percent(row["share"]), interval, one_in,
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
    for name, key, effect in (
        ("compared_shares", "feature", "cohen_h"),
        ("compared_numbers", "column", "hedges_g"),
    ):
        if name not in tables:
            continue
        compared = table(
            f"{key}, against", ("difference", right), ("95 %", right), (effect, right),
            ("p, corrected", right),
        )  # fmt: skip
        for row in tables[name].to_dict("records"):
            shown = percent if key == "feature" else "{:.3g}".format
            interval = f"{shown(row['difference_low'])} to {shown(row['difference_high'])}"
            compared.add_row(
                row[key], shown(row["difference"]), interval,
                f"{row[effect]:.2f}", f"{row['p_corrected']:.2g}",
            )  # fmt: skip
        out.print(compared)
