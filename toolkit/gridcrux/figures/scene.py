"""What a drawn board shows, as marks in cell units: one scene, rendered by `svg` and `board`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import ceil, hypot, isqrt
from typing import NamedTuple

from gridcrux.figures.links import Links, links_of
from gridcrux.figures.outlines import borders, is_area, outline, trail
from gridcrux.figures.palette import STYLES
from gridcrux.grids.layout import SYMBOLS, House, Layout
from gridcrux.grids.state import State, bits
from gridcrux.logic.deduction import Deduction

MARGIN = 0.55
"""Room for the names of rows and columns on the left and above."""

EDGE = 0.12
"""Room on the right and below."""

DIGIT = 0.66
NAME = 0.26
"""Font sizes."""

_BEND = 0.16
"""How far a link bends to its left, in its own length, to pass beside what lies between."""

_NEAR = 3.2
"""Up to so many radii apart candidates count as neighbours."""

_INSET = 0.06
_ROOM = 0.82
"""Width and height of the part of a cell that candidates share."""


class Rect(NamedTuple):
    """A filled rectangle; x and y are its top left corner."""

    role: str
    x: float
    y: float
    width: float
    height: float


class Line(NamedTuple):
    """A straight line."""

    role: str
    x1: float
    y1: float
    x2: float
    y2: float


class Curve(NamedTuple):
    """A curved line from x1, y1 to x2, y2, drawn towards the control point x, y."""

    role: str
    x1: float
    y1: float
    x: float
    y: float
    x2: float
    y2: float


class Disc(NamedTuple):
    """A circle around x, y."""

    role: str
    x: float
    y: float
    radius: float


class Label(NamedTuple):
    """Text of a font size, centred at x, y."""

    role: str
    x: float
    y: float
    size: float
    text: str


Mark = Rect | Line | Curve | Disc | Label


@dataclass(frozen=True)
class Scene:
    """Marks in the order of drawing; unit: one cell; origin: top left corner of the board.

    Attributes
    ----------
    size : cells in a row; the picture spans x and y from -MARGIN to size + EDGE.
    title, description : the same in words, for those who do not see it.
    """

    size: int
    marks: tuple[Mark, ...]
    title: str
    description: str

    def _repr_svg_(self) -> str:
        from gridcrux.figures.svg import scene_svg

        return scene_svg(self)


class Slots(NamedTuple):
    """Where the candidates of a cell stand: digit by digit, left to right, then down."""

    columns: int
    rows: int

    @classmethod
    def of(cls, n: int) -> Slots:
        columns = isqrt(n - 1) + 1
        return cls(columns, ceil(n / columns))

    @property
    def radius(self) -> float:
        """Half of the smaller distance between two slots."""
        return _ROOM / max(self.columns, self.rows, 2) / 2

    @property
    def font_size(self) -> float:
        """So that candidates of 9x9 have five points where the board is printed 6 cm wide."""
        return min(0.36, 2.1 * self.radius)

    def place(self, digit: int) -> tuple[float, float]:
        """x and y of a digit (from zero) from the centre of its cell."""
        row, column = divmod(digit, self.columns)
        return (
            ((column + 0.5) / self.columns - 0.5) * _ROOM,
            ((row + 0.5) / self.rows - 0.5) * _ROOM,
        )


def board_scene(state: State, deduction: Deduction | None = None, *, fresh: int = 0) -> Scene:
    """The scene of a state, with a deduction drawn over it.

    Parameters
    ----------
    state : as it is before the deduction.
    fresh : mask of cells whose digits were written just now.

    Raises
    ------
    ValueError : state and deduction have different layouts.
    """
    layout = state.layout
    if deduction is not None and deduction.layout != layout:
        raise ValueError(
            f"the deduction is about layout {deduction.layout.name}, the state has "
            f"{layout.name}; expected the same"
        )
    marks = [*_ground(state, fresh), *_lines(layout), *_names(layout.size)]
    links = None
    if deduction is not None:
        marks += _premises(layout, deduction)
        links = links_of(deduction)
        if links is not None:
            marks += _links(layout, links)
    marks += _digits(state, deduction, links)
    order = {role: rank for rank, role in enumerate(STYLES)}
    marks.sort(key=lambda mark: order[mark.role])
    return Scene(layout.size, tuple(marks), _title(state, deduction), describe(state, deduction))


def _ground(state: State, fresh: int) -> Iterator[Mark]:
    n = state.layout.size
    side = MARGIN + n + EDGE
    yield Rect("paper", -MARGIN, -MARGIN, side, side)
    for cell in bits(state.givens):
        yield Rect("given-cell", cell % n, cell // n, 1, 1)
    for cell in bits(fresh):
        yield Rect("fresh-cell", cell % n, cell // n, 1, 1)
        yield Disc("fresh-ring", cell % n + 0.5, cell // n + 0.5, 0.41)


def _lines(layout: Layout) -> Iterator[Mark]:
    n = layout.size
    for i in range(1, n):
        yield Line("line", i, 0, i, n)
        yield Line("line", 0, i, n, i)
    right, below = borders(layout)
    for cell in sorted(right):
        row, column = divmod(cell, n)
        yield Line("border", column + 1, row, column + 1, row + 1)
    for cell in sorted(below):
        row, column = divmod(cell, n)
        yield Line("border", column, row + 1, column + 1, row + 1)
    for segment in outline(range(n * n), n, 0):
        yield Line("border", *segment)
    for house in layout.houses:
        if house.kind not in ("row", "column") and not is_area(layout, house):
            for segment in trail(layout, house):
                yield Line("trail", *segment)


def _names(n: int) -> Iterator[Mark]:
    for i in range(n):
        yield Label("name", i + 0.5, -MARGIN / 2, NAME, f"c{i + 1}")
        yield Label("name", -MARGIN / 2, i + 0.5, NAME, f"r{i + 1}")


def premise_cells_and_houses(layout: Layout, premises: Iterable[int]) -> tuple[set[int], set[int]]:
    """The cells and the houses (by number) that the premises look up."""
    cells, houses = set(), set()
    for rule in premises:
        if rule < layout.cells:
            cells.add(rule)
        else:
            houses.add((rule - layout.cells) // layout.size)
    return cells, houses


def _premises(layout: Layout, deduction: Deduction) -> Iterator[Mark]:
    n = layout.size
    cells, numbers = premise_cells_and_houses(layout, deduction.premises)
    houses: list[House] = [layout.houses[number] for number in sorted(numbers)]
    for house in houses:
        for cell in house.cells:
            yield Rect("premise-house", cell % n, cell // n, 1, 1)
        for segment in outline(house.cells, n, _INSET):
            yield Line("premise-outline", *segment)
    for cell in sorted(cells):
        yield Rect("premise-cell", cell % n, cell // n, 1, 1)
        for segment in outline([cell], n, _INSET):
            yield Line("premise-outline", *segment)


def _links(layout: Layout, links: Links) -> Iterator[Mark]:
    """Curves between the candidates that are linked, from rim to rim."""
    radius = Slots.of(layout.size).radius
    for role, pairs in (
        ("strong-link", links.strong),
        ("weak-link", links.weak),
        ("together", links.together),
    ):
        for one, two in pairs:
            (x1, y1), (x2, y2) = (_at(layout, candidate) for candidate in (one, two))
            length = hypot(x2 - x1, y2 - y1)
            if not length:
                continue
            right, down = (x2 - x1) / length, (y2 - y1) / length
            # Neighbours leave no room between them: their link goes round the outside.
            along, aside = (0.5, 3**0.5 / 2) if length < _NEAR * radius else (1.0, 0.0)
            bend = 0.0 if role == "together" else max(_BEND * length, 2.4 * radius * aside)
            yield Curve(
                role,
                x1 + (right * along + down * aside) * radius,
                y1 + (down * along - right * aside) * radius,
                (x1 + x2) / 2 + down * bend,
                (y1 + y2) / 2 - right * bend,
                x2 - (right * along - down * aside) * radius,
                y2 - (down * along + right * aside) * radius,
            )


def _at(layout: Layout, candidate: int) -> tuple[float, float]:
    """The middle of a candidate's place."""
    digit, cell = divmod(candidate, layout.cells)
    right, down = Slots.of(layout.size).place(digit)
    row, column = divmod(cell, layout.size)
    return column + 0.5 + right, row + 0.5 + down


def _digits(state: State, deduction: Deduction | None, links: Links | None) -> Iterator[Mark]:
    layout = state.layout
    n = layout.size
    slots = Slots.of(n)
    base = excluded = 0
    placed_cell = -1
    if deduction is not None:
        excluded = deduction.eliminates
        # Ringed is what the premises stand on, not what else their cells and houses hold.
        base = deduction.roles.get("base", 0) & ~excluded
        if deduction.places is not None:
            digit, placed_cell = divmod(deduction.places, layout.cells)
            x, y = placed_cell % n + 0.5, placed_cell // n + 0.5
            yield Disc("place-disc", x, y, 0.4)
            yield Label("placed", x, y, DIGIT, SYMBOLS[digit])
    for cell in range(layout.cells):
        x, y = cell % n + 0.5, cell // n + 0.5
        digits = state.digits_of(cell)
        if state.placed >> cell & 1:
            role = "given" if state.givens >> cell & 1 else "written"
            for digit in digits:
                yield Label(role, x, y, DIGIT, SYMBOLS[digit - 1])
            continue
        if cell == placed_cell:
            continue
        for digit in digits:
            candidate = (digit - 1) * layout.cells + cell
            at = _at(layout, candidate)
            role = "candidate"
            if excluded >> candidate & 1:
                role = "excluded"
                reach = slots.radius * 0.8
                yield Disc("excluded-disc", *at, slots.radius * 0.95)
                # Falling, because the strokes of 1, 2, 4 and 7 rise.
                yield Line("strike", at[0] - reach, at[1] - reach, at[0] + reach, at[1] + reach)
            elif links is not None and links.first >> candidate & 1:
                role = "node"
                yield Disc("first-node", *at, slots.radius * 0.95)
            elif links is not None and links.second >> candidate & 1:
                role = "node"
                half = slots.radius * 0.85
                yield Rect("second-node", at[0] - half, at[1] - half, 2 * half, 2 * half)
            elif base >> candidate & 1:
                role = "base"
                yield Disc("ring", *at, slots.radius * 0.95)
            yield Label(role, *at, slots.font_size, SYMBOLS[digit - 1])


def _title(state: State, deduction: Deduction | None) -> str:
    n, givens = state.layout.size, state.givens.bit_count()
    since = state.placed.bit_count() - givens
    title = f"{n} by {n} puzzle with {givens} givens"
    if since:
        title += f" and {since} digit{'s' if since > 1 else ''} written since"
    return title if deduction is None else f"{title}: {deduction.technique}"


def describe(state: State, deduction: Deduction | None = None) -> str:
    """A state in words, row by row, after what a deduction says of it."""
    sentences = []
    if deduction is not None:
        sentences.append(deduction.sentence)
        sentences.append(f"Premises: {', '.join(deduction.premise_names)}.")
        if deduction.eliminates:
            sentences.append(f"Excluded: {', '.join(deduction.elimination_names)}.")
    for row, digits in enumerate(str(state).splitlines(), 1):
        sentences.append(f"Row {row}: {digits.replace('.', 'blank')}.")
    return " ".join(sentences)
