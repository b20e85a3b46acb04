"""A data card as Markdown: facts first, then tables, then how it was made."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from gridcrux.corpus.cards.survey import NODES, SPARE

if TYPE_CHECKING:
    from gridcrux.corpus.cards import Card

NOT_STATED = "not stated"
NOT_ASKED = "not compared"

_APART = ("method", "bias", "columns", "licence", "note", "notes", "title")
"""What the file beside says in a place of its own."""


def card_text(card: Card) -> str:
    """The whole card."""
    parts = [f"# {card.title}", _table(("", ""), _facts(card))]
    if card.survey.puzzles:
        parts += ["## Givens", _givens(card), "## Symmetry of the givens", _symmetries(card)]
    if card.columns:
        rows = [(f"`{name}`", text or NOT_STATED) for name, text in card.columns.items()]
        parts += ["## Columns", _table(("column", "meaning"), rows)]
    parts += ["## How it was made", _made(card), "## Known bias", _bias(card)]
    notes = [*card.notes, *_several(card.made.get("note")), *_several(card.made.get("notes"))]
    if notes:
        parts += ["## Notes", "\n".join(f"- {' '.join(note.split())}" for note in notes)]
    if card.command:
        parts += ["## This card", "Made by", f"```sh\n{card.command}\n```"]
    return "\n\n".join(parts) + "\n"


def _facts(card: Card) -> list[tuple[str, str]]:
    survey, sampled = card.survey, card.sampled
    what = "folder" if card.is_study else "file"
    whole = " (all parts one after the other)" if card.is_study else ""
    facts = [
        (what, f"`{card.name}`, {card.size:,} bytes"),
        ("SHA-256", f"`{card.sha256}`{whole}"),
        ("puzzles", f"{survey.puzzles:,}"),
        ("lines set aside", _rejects(card)),
        ("layouts", ", ".join(f"{name}: {n:,}" for name, n in card.layouts.items()) or "none"),
        ("mean number of givens", _mean(card)),
        ("solutions", _solutions(card)),
        ("minimal", _minimal(card)),
        ("the same twice", f"{survey.repeated:,} puzzles are the same as one before them"),
        ("alike up to symmetry", _alike(card)),
        ("automorphisms", _automorphic(card)),
    ]
    if sampled.puzzles < survey.puzzles:
        text = f"{sampled.puzzles:,} of the {survey.puzzles:,} puzzles, drawn with seed"
        facts.append(("random sample", f"{text} {survey.seed}"))
    licence = card.licence or str(card.made.get("licence", ""))
    return [*facts, ("licence", licence or NOT_STATED)]


def _rejects(card: Card) -> str:
    shown = "; ".join(card.some_rejects)
    more = card.rejects - len(card.some_rejects)
    return f"{card.rejects:,}" + (
        f" ({shown}{f'; {more:,} more' if more else ''})" if shown else ""
    )


def _mean(card: Card) -> str:
    if not card.survey.puzzles:
        return "none"
    text = f"{card.mean_givens:.2f}"
    return f"{text}; weighted {card.weighted_mean_givens:.2f}" if card.survey.weighted else text


def _solutions(card: Card) -> str:
    found = card.solutions
    shown = [f"{kind}: {found[kind]:,}" for kind in ("one", "several", "none")]
    if found["not found out"]:
        shown.append(f"not found out in {NODES:,} nodes: {found['not found out']:,}")
    return ", ".join(shown)


def _minimal(card: Card) -> str:
    none, some, unknown = card.sampled.spare
    judged = none + some + unknown
    if not judged:
        return "no puzzle has one solution"
    text = (
        f"{none:,} of {judged:,} puzzles with one solution{_where(card)} can spare no given, "
        f"{some:,} can"
    )
    return text + (f"; {SPARE[2]}: {unknown:,}" if unknown else "")


def _alike(card: Card) -> str:
    return _compared(card, card.sampled.alike, "are like one before them") + _not_compared(card)


def _automorphic(card: Card) -> str:
    return _compared(card, card.sampled.symmetric, "are mapped to themselves by a symmetry")


def _compared(card: Card, count: int, what: str) -> str:
    compared = card.sampled.compared
    return f"{count:,} of {compared:,} puzzles{_where(card)} {what}" if compared else NOT_ASKED


def _where(card: Card) -> str:
    return " of the random sample" if card.sampled.puzzles < card.survey.puzzles else ""


def _not_compared(card: Card) -> str:
    names = ", ".join(card.sampled.not_compared)
    return f"; not compared: layout {names}" if names and card.sampled.compared else ""


def _givens(card: Card) -> str:
    frame = card.frame()
    several = len(card.layouts) > 1
    head = [*(["layout"] if several else []), "givens", "puzzles", "share"]
    head += ["weighted share"] if card.survey.weighted else []
    rows = []
    for row in frame.to_dict("records"):
        cells = [row["layout"]] if several else []
        cells += [str(row["givens"]), f"{row['puzzles']:,}", f"{row['share']:.2%}"]
        rows.append([*cells, *([f"{row['weighted_share']:.2%}"] if card.survey.weighted else [])])
    return _table(head, rows)


def _symmetries(card: Card) -> str:
    rows = [(name, f"{count:,}") for name, count in card.survey.symmetries.items()]
    rows.append(("none of these", f"{card.survey.asymmetric:,}"))
    return _table(("symmetry of the pattern", "puzzles that have it"), rows)


def _made(card: Card) -> str:
    if not card.made:
        return NOT_STATED.capitalize() + "."
    rows = [("method", _value(card.made["method"]))] if "method" in card.made else []
    rows += [
        (name.replace("_", " "), f"`{value}`" if name == "command" else _value(value))
        for name, value in card.made.items()
        if name not in _APART
    ]
    return _table(("", ""), rows)


def _bias(card: Card) -> str:
    stated = card.made.get("bias")
    if stated:
        return " ".join(str(stated).split())
    return NOT_STATED.capitalize() + "."


def _value(value: Any) -> str:
    """A value of JSON in words."""
    if isinstance(value, dict):
        return ", ".join(f"{name}: {_value(each)}" for name, each in value.items())
    if isinstance(value, list):
        return ", ".join(map(_value, value))
    if value is None or isinstance(value, bool):
        return {None: "none", True: "yes", False: "no"}[value]
    return str(value)


def _several(value: Any) -> list[str]:
    if value is None:
        return []
    return [str(each) for each in value] if isinstance(value, list) else [str(value)]


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [_line(head), "|" + "---|" * len(head), *map(_line, rows)]
    return "\n".join(lines)


def _line(cells: Sequence[str]) -> str:
    """A row of a table; what would end a cell or a line is written so that it does not."""
    shown = [" ".join(str(cell).split()).replace("|", "\\|") for cell in cells]
    return "| " + " | ".join(shown) + " |"
