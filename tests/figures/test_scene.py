"""What a scene shows of a deduction is what the deduction says."""

from __future__ import annotations

import pytest

from gridcrux.figures.marks import Disc, Label, Rect
from gridcrux.figures.palette import STYLES
from gridcrux.figures.scene import board_scene, describe
from gridcrux.figures.slots import Slots, frame, name_size
from gridcrux.grids.layout import SYMBOLS, named
from gridcrux.grids.state import State, bits
from gridcrux.grids.text import read_puzzle
from gridcrux.techniques.repertoires import FIRST_FAMILY
from gridcrux.techniques.solve import available, route

# Its route has cells and houses as premises, up to two of them.
PUZZLE = ".67.....1...7...963........4.1.....5......1...5.6.9.2.....4625....138.6......2..3"
ROUTE = route(read_puzzle(PUZZLE), FIRST_FAMILY)
STATES = list(zip(ROUTE.states(), ROUTE, strict=False))[:30]


def cell_of(mark, n):
    return int(mark.y) * n + int(mark.x)


def marks(scene, role, kind):
    return [mark for mark in scene.marks if mark.role == role and isinstance(mark, kind)]


@pytest.mark.parametrize(("state", "step"), STATES)
def test_marks_say_what_the_deduction_says(state, step):
    scene = board_scene(state, step)
    excluded = {
        (cell_of(mark, 9), SYMBOLS.index(mark.text)) for mark in marks(scene, "excluded", Label)
    }
    placed = None if step.places is None else step.places % 81
    assert excluded == {(c % 81, c // 81) for c in bits(step.eliminates) if c % 81 != placed}
    discs = [(cell_of(m, 9), m.text) for m in marks(scene, "placed", Label)]
    assert discs == ([] if placed is None else [(placed, SYMBOLS[step.places // 81])])
    shaded = {f"cell r{int(m.y) + 1}c{int(m.x) + 1}" for m in marks(scene, "premise-cell", Rect)}
    assert shaded == {name for name in step.premise_names if name.startswith("cell")}
    # Ringed is all that the premises had left, but what is excluded or written.
    left = {c for rule in step.premises for c in bits(state.layout.rules[rule].mask & state.open)}
    ringed = {(cell_of(mark, 9), int(mark.text) - 1) for mark in marks(scene, "base", Label)}
    assert ringed == {
        (c % 81, c // 81)
        for c in left
        if not step.eliminates >> c & 1 and c % 81 != placed and not state.placed >> c % 81 & 1
    }
    houses = {name.split(" in ")[1] for name in step.premise_names if " in " in name}
    cells = {c for house in state.layout.houses if house.name in houses for c in house.cells}
    assert {cell_of(m, 9) for m in marks(scene, "premise-house", Rect)} == cells


@pytest.mark.parametrize(("state", "step"), STATES)
def test_every_open_candidate_has_one_label_outside_the_placed_cell(state, step):
    scene = board_scene(state, step)
    labels = [m for role in ("candidate", "base", "excluded") for m in marks(scene, role, Label)]
    blank = [c for c in range(81) if not state.placed >> c & 1]
    if step.places is not None:
        blank.remove(step.places % 81)
    shown = sorted((cell_of(m, 9), m.text) for m in labels)
    assert shown == [(c, str(digit)) for c in blank for digit in state.digits_of(c)]
    assert len(marks(scene, "ring", Disc)) == len(marks(scene, "base", Label))


@pytest.mark.parametrize("name", ["2x2", "2x3-diagonals", "latin-5", "3x3", "4x4", "5x5"])
def test_candidates_keep_their_places_and_clear_of_each_other(name):
    layout = named(name)
    slots = Slots.of(layout.size)
    places = [slots.place(digit) for digit in range(layout.size)]
    assert len(set(places)) == layout.size
    gap = 2 * slots.radius
    for i, (x, y) in enumerate(places):
        assert max(abs(x), abs(y)) + slots.radius <= 0.5
        assert all(max(abs(x - u), abs(y - v)) >= gap - 1e-9 for u, v in places[:i])
    scene = board_scene(State.empty(layout))
    found = {(round(m.x % 1, 6), round(m.y % 1, 6)) for m in marks(scene, "candidate", Label)}
    assert found == {(round(x + 0.5, 6), round(y + 0.5, 6)) for x, y in places}


def test_no_two_kinds_of_mark_differ_by_colour_alone():
    looks = [
        (bool(s.fill), bool(s.stroke), s.width, s.opacity, s.bold, s.dash) for s in STYLES.values()
    ]
    text = ("given", "written", "placed", "candidate", "base", "excluded", "name", "key", "tag")
    # Labels differ by weight, size, or the disc, ring or strike that comes with them.
    alone = [look for role, look in zip(STYLES, looks, strict=True) if role not in text]
    solid = [look for look in alone if look != (True, False, 0.0, 1.0, False, None)]
    assert len(set(solid)) == len(solid)


def test_words_say_the_same():
    state = read_puzzle("4..1 .1.. ..1. 1..2")
    step = available(state, "x-wing")[0]
    words = describe(state, step)
    assert step.sentence in words
    assert all(name in words for name in (*step.premise_names, *step.elimination_names))
    assert "Row 1: 4 blank blank 1." in words


def test_candidates_can_be_read_where_a_board_is_printed_six_centimetres_wide():
    """Five points, which is small print; the board has its margins within the six centimetres."""
    points = Slots.of(9).font_size / frame(9).width * 6 / 2.54 * 72
    assert points >= 5
    # And they stand apart: a digit of this font is less than two thirds of its size wide.
    assert Slots.of(9).font_size * 2 / 3 < 2 * Slots.of(9).radius


@pytest.mark.parametrize("name", ["3x4", "4x4"])
def test_a_large_board_has_a_key_that_can_be_read_at_six_centimetres(name):
    """Candidates are too small there; the key says which digit has which place."""
    layout = named(name)
    n = layout.size
    scene = board_scene(State.empty(layout))
    key = marks(scene, "key", Label)
    assert [m.text for m in key[:n]] == list(SYMBOLS[:n])
    assert [m.text for m in key[n:]] == [f"{SYMBOLS[d]} = {d + 1}" for d in range(9, n)]
    corner = min(m.x for m in key[:n]), min(m.y for m in key[:n])
    slots = Slots.of(n)
    side = (key[1].x - key[0].x) * slots.columns / 0.82
    for digit, mark in enumerate(key[:n]):
        right, down = (a - b for a, b in zip(slots.place(digit), slots.place(0), strict=True))
        assert (mark.x, mark.y) == pytest.approx(
            (corner[0] + side * right, corner[1] + side * down)
        )
    points = 6 / 2.54 * 72 / scene.frame.width
    assert min(m.size for m in key) * points >= 5
    assert name_size(n) * points >= 4
    for mark in key:
        half = len(mark.text) * mark.size / 3
        assert mark.x - half >= 0
        assert mark.x + half <= scene.frame.right
        assert n < mark.y < scene.frame.bottom
    assert not marks(board_scene(State.empty(named("3x3"))), "key", Label)


def test_houses_that_are_no_rows_or_columns_have_their_names():
    tagged = 0
    for state, step in STATES:
        scene = board_scene(state, step)
        houses = {name.split(" in ")[1] for name in step.premise_names if " in " in name}
        boxes = {name for name in houses if name.startswith("box")}
        tags = marks(scene, "tag", Label)
        assert {m.text for m in tags} == boxes
        for mark in tags:
            (house,) = [h for h in state.layout.houses if h.name == mark.text]
            assert int(mark.y) * 9 + int(mark.x) in house.cells
        tagged += len(tags)
    assert tagged


def test_chosen_candidates_and_cells_are_marked_and_no_others():
    state = STATES[-1][0]
    chosen = state.open & ~(1 << 5)
    scene = board_scene(state, highlight=chosen, framed=1 << 40 | 1 << 3)
    shown = sorted((cell_of(m, 9)) for m in marks(scene, "highlight", Rect))
    assert shown == sorted(c % 81 for c in bits(chosen))
    assert [cell_of(m, 9) for m in marks(scene, "highlight-cell", Rect)] == [3, 40]
    plain = board_scene(state)
    assert [m for m in scene.marks if not m.role.startswith("highlight")] == list(plain.marks)
