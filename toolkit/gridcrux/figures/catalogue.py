"""The catalogue of techniques: theorem, reason, source, width, and an example drawn.

The page is made of the docstrings of the techniques and of deductions found in a corpus::

    python -m gridcrux.figures.catalogue datasets/lantern_quay.csv docs

writes `docs/techniques.md` and a picture a technique beside it.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from inspect import cleandoc
from pathlib import Path

import pandas as pd
from tqdm import tqdm

from gridcrux.corpus.sample import minimal
from gridcrux.figures.legend import Entry, legend_of
from gridcrux.figures.scene import board_scene
from gridcrux.figures.svg import board_svg, scene_svg
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.technique import Technique
from gridcrux.techniques.reading import read_chain
from gridcrux.techniques.repertoires import DEFAULT, EVERYTHING, LEVELS
from gridcrux.techniques.solve import available, first, route

PAGE = "techniques.md"
PICTURES = "techniques"

SAMPLED = 4000
"""Minimal puzzles that are looked at for what a corpus does not show."""


@dataclass(frozen=True)
class Example:
    """A deduction by a technique: where it was found, the state before it, and the step."""

    source: str
    state: State
    step: Deduction


def examples(
    puzzles: Iterable[tuple[str, State]], repertoire: Repertoire = EVERYTHING
) -> dict[str, Example]:
    """For each technique the first deduction by it in the given puzzles.

    A step of a route is preferred to a deduction that is only available on it, and states in
    which no digit can be written are preferred to others.

    Parameters
    ----------
    puzzles : names, and puzzles with one solution each.
    """
    seen: list[tuple[str, State]] = []
    found = _on_routes(puzzles, repertoire, seen)
    for name, start in seen:
        missing = [technique for technique in repertoire if technique.name not in found]
        if not missing:
            break
        for state in route(start, DEFAULT).states():
            for technique in missing:
                step = None if technique.name in found else first(state, technique)
                if step is not None:
                    found[technique.name] = Example(name, state, step)
    return found


def _on_routes(
    puzzles: Iterable[tuple[str, State]], repertoire: Repertoire, seen: list[tuple[str, State]]
) -> dict[str, Example]:
    """Examples where no digit can be written; `seen` takes the puzzles that were looked at."""
    used: dict[str, Example] = {}
    offered: dict[str, Example] = {}
    for name, start in puzzles:
        wanted = [t for t in repertoire if t.name not in used]
        if not wanted:
            break
        seen.append((name, start))
        way = route(start, DEFAULT)
        for state, step in zip(way.states(), way, strict=False):
            used.setdefault(step.technique, Example(name, state, step))
            if step.places is not None:
                continue
            for technique in wanted:
                if technique.name in offered or technique.name in used:
                    continue
                other = first(state, technique)
                if other is not None and "loop" in technique.name:
                    other = _telling_loop(state, technique)
                if other is not None:
                    offered[technique.name] = Example(name, state, other)
    return offered | {name: example for name, example in used.items() if name in repertoire}


def _telling_loop(state: State, technique: Technique) -> Deduction | None:
    """The loop of a technique that excludes most, if that is enough to show what a loop does."""
    loops = available(state, Repertoire((technique,)))
    found = max(loops, key=lambda step: step.eliminates.bit_count())
    chain = read_chain(state.layout, state.open, found.premises, found.eliminates)
    return found if chain is not None and chain.closed and found.width > 2 else None


def page(found: dict[str, Example], repertoire: Repertoire = EVERYTHING) -> str:
    """The catalogue as Markdown; pictures are expected in the folder `PICTURES`."""
    return "\n".join(_lines(found, repertoire)) + "\n"


def _lines(found: dict[str, Example], repertoire: Repertoire) -> Iterator[str]:
    yield "# The techniques"
    yield ""
    yield (
        "Made by `python -m gridcrux.figures.catalogue`; do not edit. The *width* of a deduction "
        "is the number of its premises: of rules in which one has to look up that a candidate of "
        "them is true."
    )
    yield ""
    yield from _levels()
    yield from _marks(found)
    modules: dict[str, list[Technique]] = {}
    for technique in repertoire:
        modules.setdefault(technique.__module__, []).append(technique)
    for module, techniques in modules.items():
        heading, *theorem = cleandoc(sys.modules[module].__doc__ or "").split("\n\n")
        yield f"## {' '.join(heading.split()).rstrip('.')}"
        yield ""
        for part in theorem:
            yield " ".join(part.split())
            yield ""
        for technique in techniques:
            yield from _entry(technique, found.get(technique.name))


def _levels() -> Iterator[str]:
    yield "| level | what is in it |"
    yield "|---|---|"
    before: dict[str, Repertoire] = {}
    for name, repertoire in LEVELS.items():
        # The largest of the levels before it that it has in it.
        base = [n for n, each in before.items() if set(each.names) <= set(repertoire.names)]
        known = before[base[-1]].names if base else ()
        new = ", ".join(each for each in repertoire.names if each not in known)
        yield f"| `{name}` | {f'{base[-1]} and: ' if base else ''}{new} |"
        before[name] = repertoire
    yield ""


def _marks(found: dict[str, Example]) -> Iterator[str]:
    """What the marks in the pictures mean."""
    yield "| in the pictures | |"
    yield "|---|---|"
    for entry in _legend(found):
        yield f"| ![]({PICTURES}/{_picture_of(entry)}) | {entry.words} |"
    yield ""


def _legend(found: dict[str, Example]) -> list[Entry]:
    return legend_of(board_scene(each.state, each.step) for each in found.values())


def _picture_of(entry: Entry) -> str:
    return f"mark-{entry.role}.svg"


def _entry(technique: Technique, example: Example | None) -> Iterator[str]:
    width = f"{technique.width} or more" if technique.any_length else str(technique.width)
    yield f"### {technique.name}"
    yield ""
    unique = " *Assumes that the puzzle has one solution.*" if technique.assumes_unique else ""
    yield f"{technique.fact} Width: {width}.{unique}"
    yield ""
    yield technique.reason
    yield ""
    if example is not None:
        yield f"![{technique.name} in {example.source}]({PICTURES}/{technique.name}.svg)"
        yield ""
        premises = "; ".join(example.step.premise_names)
        yield f"{example.source}: {example.step.sentence} Premises: {premises}."
        yield ""


def corpus_puzzles(corpus: pd.DataFrame, sampled: int = SAMPLED) -> Iterator[tuple[str, State]]:
    """The puzzles of a corpus with the columns `id` and `puzzle`, then some sampled ones."""
    for name, puzzle in zip(corpus["id"], corpus["puzzle"], strict=True):
        yield f"Puzzle {name}", read_puzzle(puzzle)
    for item in minimal(sampled, seed=77):
        yield f"Minimal puzzle {item.index} of seed 77", State.from_digits(item.puzzle.tolist())


def main(source: str, target: str, sampled: int = SAMPLED) -> None:
    corpus = pd.read_csv(source, dtype={"puzzle": str})
    found = examples(tqdm(corpus_puzzles(corpus, sampled), unit="puzzle"))
    pictures = Path(target) / PICTURES
    pictures.mkdir(parents=True, exist_ok=True)
    for picture in pictures.glob("*.svg"):
        picture.unlink()
    for name, example in found.items():
        (pictures / f"{name}.svg").write_text(board_svg(example.state, example.step) + "\n")
    for entry in _legend(found):
        (pictures / _picture_of(entry)).write_text(scene_svg(entry.scene) + "\n")
    (Path(target) / PAGE).write_text(page(found))


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])
