"""A data card: what a file of puzzles, or the folder of a study, holds and how it was made."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pandas as pd
from tqdm import tqdm

from gridcrux.corpus.cards.sources import PuzzleFile, StudyTable
from gridcrux.corpus.cards.survey import SOLUTIONS, Sampled, Survey
from gridcrux.corpus.cards.text import card_text
from gridcrux.grids.layout import Layout

SAMPLE = 50_000
"""Puzzles of which the slow questions are asked, if there are more."""

GIVENS_COLUMNS = {
    "layout": "name of the layout",
    "givens": "number of givens",
    "puzzles": "puzzles with so many givens",
    "share": "their part of the puzzles of the layout",
    "weighted_share": "their part of the weight of the puzzles of the layout",
}
"""Meaning of the columns of `Card.frame()`."""


@dataclass(frozen=True)
class Card:
    """What is known of a file of puzzles; `str` and `markdown` write it out.

    Attributes
    ----------
    name, size, sha256 : of the file; of a study, of all its parts one after the other.
    is_study : whether it is the folder of a study.
    rejects : lines set aside; `some_rejects` shows the first ones.
    survey, sampled : what was counted of all puzzles, and of a sample.
    columns : the columns of the table with their meaning, '' if it is not known.
    made : how it was made, as the file beside it or the manifest of the study says; empty if
        nothing does.
    title, notes, licence, command : as the user wants them; command is what made the card.
    """

    name: str
    size: int
    sha256: str
    is_study: bool
    rejects: int
    some_rejects: tuple[str, ...]
    survey: Survey = field(repr=False)
    sampled: Sampled = field(repr=False)
    columns: Mapping[str, str] = field(repr=False)
    made: Mapping[str, Any] = field(repr=False)
    title: str
    notes: tuple[str, ...]
    licence: str
    command: str

    @property
    def layouts(self) -> dict[str, int]:
        """Puzzles by layout."""
        return _summed((layout, count) for (layout, _), count in self.survey.solutions.items())

    @property
    def solutions(self) -> dict[str, int]:
        """Puzzles by number of solutions: none, one, several, not found out."""
        found = dict.fromkeys(SOLUTIONS, 0)
        for (_, kind), count in self.survey.solutions.items():
            found[SOLUTIONS[kind]] += count
        return found

    @property
    def mean_givens(self) -> float:
        """Mean number of givens, each puzzle counting once."""
        total = sum(givens * entry[0] for (_, givens), entry in self.survey.givens.items())
        return total / self.survey.puzzles if self.survey.puzzles else float("nan")

    @property
    def weighted_mean_givens(self) -> float:
        """The same with the weights of the file."""
        survey = self.survey
        return survey.weighted_givens / survey.weight if survey.weight else float("nan")

    def frame(self) -> pd.DataFrame:
        """The distribution of givens, with the columns of `GIVENS_COLUMNS`."""
        puzzles = self.layouts
        weights = _summed((each, entry[1]) for (each, _), entry in self.survey.givens.items())
        order = list(puzzles)
        rows = [
            (layout, givens, count, count / puzzles[layout], weight / weights[layout])
            for (layout, givens), (count, weight) in sorted(
                self.survey.givens.items(), key=lambda item: (order.index(item[0][0]), item[0][1])
            )
        ]
        return pd.DataFrame(rows, columns=list(GIVENS_COLUMNS))

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        none, some, unknown = self.sampled.spare
        return {
            "name": self.name,
            "bytes": self.size,
            "sha256": self.sha256,
            "puzzles": self.survey.puzzles,
            "rejects": self.rejects,
            "mean_givens": self.mean_givens,
            "weighted_mean_givens": self.weighted_mean_givens,
            **{f"solutions_{kind.replace(' ', '_')}": n for kind, n in self.solutions.items()},
            "repeated": self.survey.repeated,
            "sampled": self.sampled.puzzles,
            "minimal": none,
            "not_minimal": some,
            "minimal_not_found_out": unknown,
            "compared": self.sampled.compared,
            "alike": self.sampled.alike,
            "with_automorphisms": self.sampled.symmetric,
        }

    def as_dict(self) -> dict[str, Any]:
        """Everything as JSON can hold it."""
        frame = self.frame()
        return {
            "title": self.title,
            **self.row(),
            "layouts": self.layouts,
            "givens": frame.to_dict("records"),
            "symmetries": {**self.survey.symmetries, "none": self.survey.asymmetric},
            "some_rejects": list(self.some_rejects),
            "not_compared": list(self.sampled.not_compared),
            "columns": dict(self.columns),
            "made": dict(self.made),
            "notes": list(self.notes),
            "licence": self.licence,
            "command": self.command,
        }

    @property
    def markdown(self) -> str:
        """The card as Markdown."""
        return card_text(self)

    def __str__(self) -> str:
        return self.markdown

    def _repr_markdown_(self) -> str:
        return self.markdown


def describe(
    source: str | os.PathLike[str],
    *,
    layout: Layout | None = None,
    title: str | None = None,
    notes: Sequence[str] = (),
    licence: str = "",
    command: str = "",
    sample: int = SAMPLE,
    seed: int = 0,
    progress: bool = False,
) -> Card:
    """Make the card of a file of puzzles, packed or not, or of the folder of a study.

    Parameters
    ----------
    layout : None to tell the layout of each puzzle from its number of cells.
    title, notes, licence, command : what the card shall say beside what it finds.
    sample, seed : how many puzzles are asked whether a given can be spared and which are alike
        up to symmetry, if there are more, and which.
    progress : show a progress bar on standard error, if that is a terminal.

    Raises
    ------
    PuzzleError : the file is missing, damaged, or holds no puzzle.
    NoStudy : the folder holds no study.
    """
    path = Path(source)
    reader = StudyTable(path) if path.is_dir() else PuzzleFile(path, layout)
    survey = Survey(sample, seed)
    with tqdm(unit="puzzle", leave=False, disable=None if progress else True) as bar:
        bar.set_description(path.name)
        for batch in reader.batches():
            survey.add(*batch)
            bar.update(len(batch.digits))
        bar.set_description(f"{path.name}: symmetry and spare givens")
        sampled = survey.sampled()
    return Card(
        path.name or str(path.resolve().name),
        sum(each.stat().st_size for each in reader.files),
        _sha256(reader.files),
        path.is_dir(),
        reader.rejects,
        tuple(reader.some_rejects),
        survey,
        sampled,
        reader.columns,
        reader.made,
        title or path.name,
        tuple(notes),
        licence,
        command,
    )


def _sha256(files: Iterable[Path]) -> str:
    digest = hashlib.sha256()
    for path in files:
        with path.open("rb") as stream:
            while block := stream.read(1 << 20):
                digest.update(block)
    return digest.hexdigest()


def _summed(pairs: Iterable[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, value in pairs:
        found[name] = found.get(name, 0) + value
    return found
