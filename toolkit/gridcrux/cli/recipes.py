"""The options of `sample`, turned into a recipe, and what makes no sense among them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from gridcrux.cli.inputs import BadInput, repertoire_of
from gridcrux.cli.prepare import prepare

if TYPE_CHECKING:
    from gridcrux.corpus.sample.recipes import Recipe
    from gridcrux.grids.layout import Layout
    from gridcrux.logic.repertoire import Repertoire

_WITH = {
    "minimal": ("givens",),
    "attempts": ("givens", "pattern", "essential"),
    **dict.fromkeys(
        ("level", "without", "only", "widest", "no_uniqueness", "none_harder", "search"),
        ("essential",),
    ),
}
"""Options that need one of some others."""

_NOT_WITH = {
    ("pattern", "symmetry"): "the pattern says which cells are given",
    ("pattern", "givens"): "the pattern says how many cells are given",
    ("pattern", "essential"): "no search heeds both",
    ("minimal", "essential"): "no search heeds both",
    ("weighted", "symmetry"): "weights are for all minimal puzzles",
    ("weighted", "givens"): "weights are for all minimal puzzles; the table has their givens",
    ("weighted", "pattern"): "weights are for all minimal puzzles",
    ("weighted", "essential"): "weights are for all minimal puzzles; a study of them tells",
}
"""Options that exclude each other, and why."""


def asked_for(context: typer.Context) -> dict[str, Any]:
    """The options of the command line with their values."""
    return {
        name: value
        for name, value in context.params.items()
        if (source := context.get_parameter_source(name)) and source.name == "COMMANDLINE"
    }


def refuse_nonsense(asked: set[str]) -> None:
    for name, others in _WITH.items():
        if name in asked and not asked.intersection(others):
            raise BadInput(f"{option(name)} needs {' or '.join(map(option, others))}")
    for (first, second), reason in _NOT_WITH.items():
        if {first, second} <= asked:
            raise BadInput(f"{option(first)} and {option(second)} exclude each other: {reason}")


def option(name: str) -> str:
    return "--json" if name == "as_json" else f"--{name.replace('_', '-')}"


def recipe_of(layout: Layout, options: dict[str, Any]) -> Recipe:
    """What the options ask for."""
    from gridcrux.corpus.sample import SYMMETRIES
    from gridcrux.corpus.sample.recipes import ByDeletion, ByFeature, ByGivens, ByPattern, ByWeight

    seed, symmetry, givens = options["seed"], options["symmetry"], options["givens"]
    if symmetry not in SYMMETRIES:
        raise BadInput(f"no symmetry is called {symmetry!r}; there are {', '.join(SYMMETRIES)}")
    attempts = options["attempts"]
    limit = {} if attempts is None else {"attempts": attempts}
    try:
        if options["weighted"]:
            return ByWeight(seed, layout)
        if options["pattern"] is not None:
            cells = _pattern(options["pattern"], layout)
            return ByPattern(seed, layout, cells, **limit)
        if options["essential"] is not None:
            return ByFeature(
                seed,
                layout,
                options["essential"],
                _repertoire(options),
                symmetry,
                givens,
                options["none_harder"],
                options["search"],
                **limit,
            )
        if givens is not None:
            return ByGivens(seed, layout, givens, symmetry, options["minimal"], **limit)
        return ByDeletion(seed, layout, symmetry)
    except ValueError as error:
        raise BadInput(error) from error


def _repertoire(options: dict[str, Any]) -> Repertoire:
    """The techniques that the options leave, with the essential one among them."""
    from gridcrux.techniques.repertoires import EVERYTHING

    repertoire = repertoire_of(
        options["without"],
        options["only"],
        options["widest"],
        options["level"],
        not options["no_uniqueness"],
    )
    name = EVERYTHING[options["essential"]].name
    if name not in repertoire:
        raise BadInput(
            f"--essential {name}: it is not among the techniques that are used; "
            "'gridcrux techniques' tells its level"
        )
    return repertoire


def _pattern(text: str, layout: Layout) -> tuple[int, ...]:
    """The cells of a pattern that is given as text or as the name of a file."""
    from gridcrux.corpus.sample.patterns import read_pattern

    try:
        if "\n" not in text and Path(text).is_file():
            text = Path(text).read_text(encoding="utf-8")
        elif "\n" not in text and len(text) < layout.cells:
            raise BadInput(
                f"--pattern {text}: no such file, and {len(text)} marks; expected {layout.cells}"
            )
    except (OSError, UnicodeDecodeError) as error:
        raise BadInput(f"--pattern {text}: {error}") from error
    return read_pattern(text, layout)


def make_ready(recipe: Recipe) -> None:
    """Compile what a recipe needs, in this process, before others come to need it."""
    from gridcrux.corpus.sample.recipes import ByFeature, ByGivens, ByPattern

    if isinstance(recipe, ByGivens):
        ready = prepare("sample --givens")
    elif isinstance(recipe, ByPattern):
        ready = prepare("sample --pattern")
    elif isinstance(recipe, ByFeature):
        ready = prepare(f"sample --search {recipe.search}")
    else:
        return
    if not ready:
        for _ in replace(recipe, attempts=1).outcomes(1):
            pass
