"""How the command `contrast` tells what it has found."""

from __future__ import annotations

from collections.abc import Hashable
from typing import TYPE_CHECKING, Any

from gridcrux.cli.output import console, plural, print_json, table

if TYPE_CHECKING:
    from gridcrux.cli.contrast_results import Asked, Results
    from gridcrux.corpus.contrast import ContrastRun

RIGHT: dict[str, Any] = {"justify": "right"}


def show_json(run: ContrastRun, found: Results | None) -> None:
    from gridcrux.corpus.contrast import CAUTIONS
    from gridcrux.corpus.rows import records_of

    said: dict[str, Any] = {
        "puzzles": run.study.puzzles,
        "rejected": run.study.rejected,
        "resumed": run.study.resumed,
        "csv": str(run.csv),
        "parquet": str(run.parquet),
        "rejects": str(run.study.rejects),
        "interrupted": run.study.interrupted,
        "seconds": round(run.study.seconds, 3),
    }
    if found is not None:
        said |= {
            "explained_in": str(run.csv.with_name("contrast.json")),
            "left_out": found.left_out,
            "no_correlations": found.reason or None,
            "no_outliers": found.no_outliers or None,
            "beyond": found.beyond,
            **{name: records_of(each) for name, each in found.tables.items()},
        }
    print_json(said | {"cautions": list(CAUTIONS)})


def show(run: ContrastRun, found: Results, asked: Asked) -> None:
    """Print what there is to know of a contrast."""
    from gridcrux.corpus.contrast import CAUTIONS

    out, study = console(), run.study
    kept = f", {study.resumed:,} of them from before" if study.resumed else ""
    out.print(f"{plural(study.puzzles, 'row')} in {run.csv} and {run.parquet.name}{kept}")
    if study.rejected:
        out.print(f"{plural(study.rejected, 'line')} set aside in {study.rejects}")
    if found.left_out:
        out.print(f"{plural(found.left_out, 'puzzle')} without exactly one solution left out")
    if found.reason:
        out.print(f"nothing can be correlated: {found.reason}")
    else:
        _show_correlations(out, found)
        _show_outliers(out, found, asked)
    out.print("")
    for caution in CAUTIONS:
        out.print(f"Note: {caution}.")


def _show_correlations(out: Any, found: Results) -> None:
    machines, rows = found.machines, found.measures.to_dict("records")
    constant = [
        str(row["measure"]) for row in rows if row["side"] == "machine" and row["values"] <= 1
    ]
    if constant:
        out.print(f"the same in all puzzles, and so without ranks: {', '.join(constant)}")
    correlations = {
        (row["first"], row["second"]): row for row in found.correlations.to_dict("records")
    }
    right = ((name, RIGHT) for name in ("known", "values", *machines))
    shown = table("", "harder", *right)
    for row in rows:
        if row["side"] == "human":
            cells = [_cell(correlations[row["measure"], machine]) for machine in machines]
            counts = f"{row['puzzles']:,}", f"{row['values']:,}"
            shown.add_row(row["measure"], row["harder"], *counts, *cells)
    out.print("\nSpearman correlations, with intervals of 95 %")
    out.print(shown)
    out.print(
        "harder: whether more or fewer of it is harder, where for a machine more always is; a "
        "correlation below 0 says of what is harder the fewer it is that both find the same hard"
    )
    out.print("known: puzzles of which the measure is known; values: different ones among them")
    for row in rows:
        if row["measure"] in machines:
            out.print(f"{row['measure']}: {_engine(row)}")


def _engine(row: dict[Hashable, Any]) -> str:
    """Which engine a measure is of, and how that is used."""
    manner = ", ".join(
        text
        for text in (
            row["encoding"] and f"encoding {row['encoding']}",
            row["use"] and f"used {row['use']}",
        )
        if text
    )
    return f"engine {row['engine']}" + (f" ({manner})" if manner else "")


def _cell(row: dict[Hashable, Any]) -> str:
    """A correlation with its interval, or why there is none."""
    if row["spearman"] != row["spearman"]:
        return str(row["missing"])
    if row["low"] != row["low"]:
        return f"{row['spearman']:.2f}"
    return f"{row['spearman']:.2f} ({row['low']:.2f} to {row['high']:.2f})"


def _show_outliers(out: Any, found: Results, asked: Asked) -> None:
    out.print("")
    if found.outliers is None:
        out.print(f"no outliers can be told of {found.no_outliers}")
        return
    for kind, count in found.beyond.items():
        verb = "is" if count == 1 else "are"
        some = "farthest is" if asked.top == 1 else f"farthest {asked.top} are"
        named = f"; the {some} named" if count > asked.top else ""
        out.print(
            f"{plural(count, 'puzzle')} {verb} {kind}, with ranks at least {asked.apart * 100:g} % "
            f"apart{named}"
        )
    if found.outliers.empty:
        return
    outliers = found.outliers
    right = ((str(name), RIGHT) for name in (asked.human, "rank", found.pair["second"], "rank"))
    shown = table("", "puzzle", *right)
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
