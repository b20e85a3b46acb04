"""What a drawn board shows: one scene, rendered by `svg` and `board`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from gridcrux.figures.curves import link_marks
from gridcrux.figures.key import key_marks
from gridcrux.figures.links import Links, links_of
from gridcrux.figures.marks import Disc, Frame, Label, Line, Mark, Rect, Scene
from gridcrux.figures.outlines import borders, is_area, outline, trail
from gridcrux.figures.shapes import around, layered
from gridcrux.figures.slots import DIGIT, SMALL, TAG, Slots, frame, margin, name_size, place_of
from gridcrux.grids.layout import SYMBOLS, House, Layout
from gridcrux.grids.state import State, bits
from gridcrux.logic.deduction import Deduction
from gridcrux.techniques.deadly import pattern

Point = tuple[float, float]

_INSET = 0.06
"""How far outlines of premises lie inside."""


def board_scene(
    state: State,
    deduction: Deduction | None = None,
    *,
    candidates: bool = True,
    fresh: int = 0,
    highlight: int = 0,
    framed: int = 0,
) -> Scene:
    """The scene of a state, with a deduction drawn over it.

    Parameters
    ----------
    state : as it is before the deduction.
    candidates : whether those that are open are shown, where no digit is written.
    fresh : mask of cells whose digits were written just now.
    highlight : mask of open candidates to be underlaid as by a marker pen.
    framed : mask of cells to be filled and outlined.

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
    n = layout.size
    marks = [*_ground(state, fresh, frame(n, candidates)), *_lines(layout), *_names(n)]
    marks += [*_highlights(state, highlight), *_framed(n, framed)]
    if n > SMALL and candidates:
        marks += key_marks(n)
    links = None
    if deduction is not None:
        marks += _premises(layout, deduction)
        links = links_of(deduction)
        if links is not None:
            marks += link_marks(state, links, deduction.eliminates)
            marks += _broken(layout, links.broken)
        marks += _exchangeable(deduction)
    shown = state if candidates else state.without(_blank(state))
    marks += _digits(shown, deduction, links)
    return Scene(
        frame(n, candidates), layered(marks), _title(state, deduction), describe(state, deduction)
    )


def _ground(state: State, fresh: int, whole: Frame) -> Iterator[Mark]:
    n = state.layout.size
    yield Rect("paper", whole.left, whole.top, whole.width, whole.height)
    for cell in bits(state.givens):
        yield Rect("given-cell", cell % n, cell // n, 1, 1)
    for cell in bits(fresh):
        yield Rect("fresh-cell", cell % n, cell // n, 1, 1)
        yield Disc("fresh-ring", cell % n + 0.5, cell // n + 0.5, 0.41)


def _blank(state: State) -> int:
    """The candidates of cells without a digit."""
    layout = state.layout
    cells = ~state.placed & ((1 << layout.cells) - 1)
    return sum(cells << digit * layout.cells for digit in range(layout.size))


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
    middle, size = -margin(n) / 2, name_size(n)
    for i in range(n):
        yield Label("name", i + 0.5, middle, size, f"c{i + 1}")
        yield Label("name", middle, i + 0.5, size, f"r{i + 1}")


def _highlights(state: State, candidates: int) -> Iterator[Mark]:
    """A stroke behind each candidate, longer behind one that is written."""
    layout = state.layout
    radius = Slots.of(layout.size).radius
    for candidate in bits(candidates & state.open):
        cell = candidate % layout.cells
        (x, y), reach = place_of(layout, candidate), radius
        if state.placed >> cell & 1:
            x, y, reach = cell % layout.size + 0.5, cell // layout.size + 0.5, DIGIT / 2
        yield Rect("highlight", x - reach, y - 0.75 * radius, 2 * reach, 1.5 * radius)


def _framed(n: int, cells: int) -> Iterator[Mark]:
    for cell in bits(cells):
        x, y, side = cell % n + _INSET, cell // n + _INSET, 1 - 2 * _INSET
        yield Rect("highlight-cell", x, y, side, side)
        for segment in outline([cell], n, _INSET):
            yield Line("highlight-outline", *segment)


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
    marked = [place_of(layout, candidate) for candidate in bits(_marked(deduction))]
    taken: set[Point] = set()
    for house in houses:
        for cell in house.cells:
            yield Rect("premise-house", cell % n, cell // n, 1, 1)
        for segment in outline(house.cells, n, _INSET):
            yield Line("premise-outline", *segment)
        if house.kind not in ("row", "column"):
            yield from _tag(layout, house, marked, taken)
    for cell in sorted(cells):
        yield Rect("premise-cell", cell % n, cell // n, 1, 1)
        for segment in outline([cell], n, _INSET):
            yield Line("premise-outline", *segment)


def _broken(layout: Layout, rules: Iterable[int]) -> Iterator[Mark]:
    cells, houses = premise_cells_and_houses(layout, rules)
    for each in [[cell] for cell in sorted(cells)] + [
        list(layout.houses[number].cells) for number in sorted(houses)
    ]:
        for segment in outline(each, layout.size, 2 * _INSET):
            yield Line("broken-outline", *segment)


def _exchangeable(deduction: Deduction) -> Iterator[Mark]:
    """The cells whose digits could be exchanged, of an argument from uniqueness."""
    found = pattern(deduction)
    for cell in found.cells if found else ():
        for segment in outline([cell], deduction.layout.size, 2 * _INSET):
            yield Line("pattern-outline", *segment)


def _marked(deduction: Deduction) -> int:
    """The candidates that have a mark around them."""
    return deduction.roles.get("base", 0) | deduction.eliminates


def _tag(layout: Layout, house: House, marked: list[Point], taken: set[Point]) -> Iterator[Mark]:
    """The name of a house on its outline, above or below one of its cells: where nothing is."""
    n = layout.size
    size = TAG * name_size(n) / name_size(SMALL)
    width, radius = 0.62 * size * len(house.name), Slots.of(n).radius
    over = [
        (cell % n + 0.5, float(cell // n)) for cell in house.cells if cell - n not in house.cells
    ]
    under = [
        (cell % n + 0.5, cell // n + 1.0) for cell in house.cells if cell + n not in house.cells
    ]

    def free(place: Point) -> bool:
        x, y = place
        return place not in taken and not any(
            abs(u - x) < width / 2 + radius and abs(v - y) < size / 2 + radius for u, v in marked
        )

    x, y = place = next(filter(free, over + under), over[0])
    taken.add(place)
    yield Rect("tag-ground", x - width / 2, y - size / 2, width, size)
    yield Label("tag", x, y, size, house.name)


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
            at = place_of(layout, candidate)
            role = "candidate"
            if excluded >> candidate & 1:
                role = "excluded"
                yield from around("excluded-disc", *at, slots.radius)
            elif links is not None and (links.first | links.second) >> candidate & 1:
                role = "node"
                second = links.second >> candidate & 1
                if second:
                    yield from around("second-node", *at, slots.radius)
                if links.first >> candidate & 1:
                    yield from around("both-nodes" if second else "first-node", *at, slots.radius)
            elif base >> candidate & 1:
                role = "base"
                yield from around("ring", *at, slots.radius)
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
