"""What the command `contrast` works out of its rows, and the files beside them that hold it."""

from __future__ import annotations

import json
from collections.abc import Hashable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

    from gridcrux.corpus.contrast import ContrastRun

RESAMPLES, CONFIDENCE = 1000, 0.95
"""Of the intervals of correlations."""

OUTLIERS = ("outliers.csv", "outliers.svg")
"""Files that are there if outliers can be told."""


@dataclass(frozen=True)
class Asked:
    """How outliers and intervals were asked for.

    Attributes
    ----------
    human, machine : the measures of the outliers; None for a usual one for a machine.
    top, apart : outliers of each kind at most, and how far their ranks are apart at least.
    seed : of what is resampled.
    """

    human: str
    machine: str | None
    top: int
    apart: float
    seed: int


@dataclass(frozen=True)
class Results:
    """Tables of a contrast.

    Attributes
    ----------
    measures, correlations, outliers : as in the files; no `outliers` if they cannot be told.
    pair : the row of `correlations` for the measures of the outliers.
    machines : the one of each engine that is told of in print.
    beyond : how many puzzles have ranks so far apart, by kind of outlier.
    left_out : puzzles without exactly one solution.
    reason : why nothing can be correlated, or "".
    no_outliers : why outliers cannot be told, or "".
    """

    measures: pd.DataFrame
    correlations: pd.DataFrame
    pair: dict[Hashable, Any]
    machines: list[str]
    left_out: int
    reason: str
    no_outliers: str
    outliers: pd.DataFrame | None = None
    beyond: dict[str, int] = field(default_factory=dict)

    @property
    def tables(self) -> dict[str, pd.DataFrame]:
        """The tables by name."""
        all_of_them = {"measures": self.measures, "correlations": self.correlations}
        return all_of_them if self.outliers is None else all_of_them | {"outliers": self.outliers}


def results(run: ContrastRun, asked: Asked) -> Results:
    """Work out the tables and write them beside the rows, with `contrast.json` to explain them."""
    from gridcrux.corpus.contrast import contrast_correlations, rank_residuals
    from gridcrux.corpus.contrast.measures import known_table
    from gridcrux.corpus.contrast.outliers import MACHINE, PERSON
    from gridcrux.corpus.files import moved
    from gridcrux.figures.contrast import outlier_table

    rows, engines = run.frame(), run.asked.engines
    known = known_table(rows, engines)
    machines = _machines(run, known)
    machine = asked.machine or machines[0]
    correlations = contrast_correlations(
        rows, engines, confidence=CONFIDENCE, resamples=RESAMPLES, seed=asked.seed
    )
    is_pair = (correlations["first"] == asked.human) & (correlations["second"] == machine)
    pair = correlations[is_pair].to_dict("records")[0]
    defined = pair["spearman"] == pair["spearman"]
    outliers, beyond = None, dict[str, int]()
    if defined:
        residuals = rank_residuals(rows, asked.human, machine, top=asked.top, apart=asked.apart)
        beyond = {kind: int((residuals["apart"] == kind).sum()) for kind in (PERSON, MACHINE)}
        outliers = outlier_table(residuals).assign(
            human_measure=asked.human, machine_measure=machine
        )
        _draw(residuals, pair, run.csv.with_name(OUTLIERS[1]))
    else:
        # Of a run that asked for other measures.
        for name in OUTLIERS:
            run.csv.with_name(name).unlink(missing_ok=True)
    found = Results(
        known,
        correlations,
        pair,
        machines,
        run.study.puzzles - int(known["puzzles"].max()),
        _reason(known, correlations),
        "" if defined else f"{asked.human} and {machine}: {pair['missing']}",
        outliers,
        beyond,
    )
    for name, each in found.tables.items():
        with moved(run.csv.with_name(f"{name}.csv")) as target:
            each.to_csv(target, index=False)
    with moved(run.csv.with_name("contrast.json")) as target:
        text = json.dumps(_note(run, asked, found), indent=2, ensure_ascii=False)
        target.write_text(text + "\n", encoding="utf-8")
    return found


def _machines(run: ContrastRun, known: pd.DataFrame) -> list[str]:
    """What tells most of each engine's effort, where it differs from puzzle to puzzle.

    If none of these does, whatever else does; if nothing does, that of the first engine.
    """
    from gridcrux.corpus.contrast.efforts import main_column

    values = known.set_index("measure")["values"]
    main = [main_column(name) for name in run.asked.engines]
    others = known.loc[known["side"] == "machine", "measure"].tolist()
    varied = [name for name in main if values[name] > 1]
    return varied or [name for name in others if values[name] > 1] or main[:1]


def _reason(known: pd.DataFrame, correlations: pd.DataFrame) -> str:
    """Why there is no correlation at all, or ""."""
    from gridcrux.corpus.statistics.correlation import LEAST

    if correlations["spearman"].notna().any():
        return ""
    one = int(known["puzzles"].max())
    if one < LEAST:
        puzzles = f"{one or 'no'} puzzle{'s' * (one > 1)}"
        return f"{puzzles} with exactly one solution, and a correlation takes {LEAST}"
    for side, whose in (("human", "a person"), ("machine", "a machine")):
        if (known.loc[known["side"] == side, "values"] <= 1).all():
            return f"all measures for {whose} are the same in all puzzles"
    return f"no two measures are known of the same {LEAST} puzzles and differ among these"


def _note(run: ContrastRun, asked: Asked, found: Results) -> dict[str, Any]:
    """How the files beside the rows came about, as JSON can hold it."""
    from importlib.metadata import version

    from gridcrux.corpus.contrast import CAUTIONS
    from gridcrux.corpus.contrast.measures import KNOWN_COLUMNS
    from gridcrux.corpus.contrast.outliers import RESIDUAL_COLUMNS
    from gridcrux.corpus.contrast.run import CORRELATION_COLUMNS

    whose = {"human_measure": "the human measure", "machine_measure": "the machine measure"}
    counts = {"puzzles": run.study.puzzles - found.left_out, "left_out": found.left_out}
    files: dict[str, Any] = {
        "contrast.csv": {"rows": run.study.puzzles, "columns": "see manifest.json"},
        "contrast.parquet": {"rows": run.study.puzzles, "columns": "see manifest.json"},
        "measures.csv": counts | {"columns": KNOWN_COLUMNS},
        "correlations.csv": {
            **counts,
            "seed": asked.seed,
            "resamples": RESAMPLES,
            "confidence": CONFIDENCE,
            "columns": CORRELATION_COLUMNS,
        },
    }
    if found.outliers is not None:
        outliers = {
            "human": asked.human,
            "machine": found.pair["second"],
            "top": asked.top,
            "apart": asked.apart,
            "beyond": found.beyond,
            "puzzles": found.pair["puzzles"],
            "left_out": found.pair["unknown"],
        }
        files[OUTLIERS[0]] = outliers | {"columns": RESIDUAL_COLUMNS | whose}
        files[OUTLIERS[1]] = outliers | {
            "seed": asked.seed,
            "resamples": RESAMPLES,
            "confidence": CONFIDENCE,
        }
    packages = ("gridcrux", "numpy", "numba", "pandas", "pyarrow", "scipy", "matplotlib")
    versions = {name: version(name) for name in (*packages, *run.asked.packages)}
    return {"files": files, "versions": versions, "cautions": list(CAUTIONS)}


def _draw(residuals: pd.DataFrame, pair: dict[Hashable, Any], target: Path) -> None:
    """Draw the outliers; the same puzzles give the same file to the bit."""
    import matplotlib
    from matplotlib.figure import Figure

    from gridcrux.corpus.files import moved
    from gridcrux.figures.contrast import plot_contrast

    figure = Figure(figsize=(7.2, 6.8), layout="constrained")
    axes = figure.add_subplot()
    human, machine = str(pair["first"]), str(pair["second"])
    plot_contrast(residuals, human=human, machine=machine, correlation=pair, ax=axes)
    with moved(target) as path, matplotlib.rc_context({"svg.hashsalt": "gridcrux"}):
        figure.savefig(path, format="svg", metadata={"Date": None})
