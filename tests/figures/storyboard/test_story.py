"""The parts of a walk are the steps of a route, and say of them what proofs say."""

from __future__ import annotations

from dataclasses import replace

import pytest

from gridcrux.figures.storyboard import Storyboard, storyboard
from gridcrux.figures.storyboard.making import FEW
from gridcrux.figures.storyboard.story import NOTHING, PART_COLUMNS, SHORTEST_CHAPTER
from gridcrux.figures.storyboard.words import clock, ending, spoken_words
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.essential import IDLE, judge
from gridcrux.proofs.hard.profile import crux_profile
from gridcrux.techniques.repertoires import LEVELS, SINGLES
from gridcrux.techniques.solve import available, route

PUZZLE = ".............1..324..9..85..6..2......9..7.81..54.6....7.6...........2169.....7.."
LEVEL = LEVELS["chains"]


@pytest.fixture(scope="module")
def board() -> Storyboard:
    return storyboard(read_puzzle(PUZZLE), LEVEL)


def test_parts_are_the_route_in_order(board: Storyboard) -> None:
    steps = [step for part in board for step in part.steps]
    assert steps == list(route(read_puzzle(PUZZLE), LEVEL))
    state = read_puzzle(PUZZLE)
    for number, part in enumerate(board, 1):
        assert (part.number, part.before) == (number, state)
        assert part.first == sum(len(each.steps) for each in board.parts[: number - 1]) + 1
        state = part.after
    assert state.is_solved


def test_easy_steps_are_gathered_and_hard_ones_alone(board: Storyboard) -> None:
    for part, following in zip(board.parts, board.parts[1:], strict=False):
        assert part.hard or following.hard
    for part in board:
        easy = [step.technique in SINGLES for step in part.steps]
        assert len(part.steps) == 1 and not easy[0] if part.hard else all(easy)


def test_what_is_said_of_hard_steps_is_what_proofs_say(board: Storyboard) -> None:
    statuses = judge(board.route).statuses
    profile = crux_profile(board.route, "singles")
    moments = {moment.step: moment.open for moment in profile.moments}
    hard = [part for part in board if part.hard]
    assert [part.first for part in hard] == list(moments)
    for part in hard:
        assert part.status == statuses[part.first - 1]
        assert part.open == moments[part.first]
        is_narrow = part.first in profile.crux and part.open <= FEW and part.status != IDLE
        assert part.narrow == is_narrow
        assert part.steps[0].sentence in part.sentences
        names = (name.removeprefix("cell ") for name in part.steps[0].premise_names)
        assert all(name in part.look for name in names)
        assert part.opens
    assert not all(part.narrow for part in hard)
    few = storyboard(read_puzzle(PUZZLE), LEVELS["one-digit"])
    assert any(part.narrow for part in few)


def test_where_much_is_open_or_the_step_is_idle_it_is_not_narrow() -> None:
    """Of a walk with one hard step that is idle: the fewest open are all there are."""
    easy = ".67.....1...7...963........4.1.....5......1...5.6.9.2.....4625....138.6......2..3"
    for level in ("almost-locked-sets", "fish"):
        told = storyboard(read_puzzle(easy), LEVELS[level])
        assert all(part.open <= FEW and part.status != IDLE for part in told if part.narrow)
        wide = [part for part in told if part.hard and not part.narrow]
        assert not any("at its narrowest" in part.beside for part in wide)


def test_a_chain_is_looked_at_in_its_order(board: Storyboard) -> None:
    chains = [part for part in board if part.hard and part.steps[0].technique == "xy-chain"]
    assert chains
    for part in chains:
        names = part.look.removeprefix("Look at ").rstrip(".").replace(" and ", ", ").split(", ")
        places = [part.steps[0].sentence.index(f"so {name} is") for name in names]
        assert places in (sorted(places), sorted(places, reverse=True))


def test_other_ways_are_on_offer_and_hard(board: Storyboard) -> None:
    for part in board:
        offered = available(part.before, LEVEL)
        for step in part.ways:
            assert step in offered
            assert step.technique not in SINGLES
            assert step != part.steps[0]
        assert bool(part.ways) <= part.hard
        for step in part.same:
            assert (step.places, step.eliminates) == (part.step.places, part.step.eliminates)
        conclusions = [(step.places, step.eliminates) for step in part.others]
        assert len(set(conclusions)) == len(conclusions)
        if part.hard:
            assert (part.step.places, part.step.eliminates) not in conclusions
            every = {(s.places, s.eliminates) for s in offered if s.technique not in SINGLES}
            assert len(every) == len(conclusions) + 1
        own = [set(step.premises) for step in (*part.steps[:1], *part.same)]
        assert not any(one < other for one in own for other in own)
    assert any(part.same for part in board)
    assert any(part.others for part in board)


def test_last_resorts_are_on_offer_as_far_as_the_walk_has_them(board: Storyboard) -> None:
    """A repertoire with more of them tells the same walk in the same way."""
    more = storyboard(read_puzzle(PUZZLE), LEVEL.plus(LEVELS["last-resorts"]["contradiction"]))
    assert [part.ways for part in more] == [part.ways for part in board]
    assert [part.open for part in more] == [part.open for part in board]
    late, resorts = board.parts[-6].before, LEVELS["last-resorts"]
    once, twice = resorts["contradiction"], resorts["nested-contradiction"]
    alone, both = (storyboard(late, SINGLES.plus(*which)) for which in ([once], [once, twice]))
    assert [(part.ways, part.open) for part in both] == [(part.ways, part.open) for part in alone]
    assert {way.technique for part in both for way in part.ways} == {"contradiction"}
    # Nested contradictions are not, even there.
    (nested,) = [part for part in storyboard(late, SINGLES.plus(twice)) if part.hard]
    assert (nested.ways, nested.open, nested.narrow) == ((), None, False)


def test_time_is_words_by_speed(board: Storyboard) -> None:
    slow = storyboard(read_puzzle(PUZZLE), LEVEL, words_per_minute=65)
    table, words = board.table, [spoken_words(" ".join(part.sentences)) for part in board]
    assert list(table) == list(PART_COLUMNS)
    assert table["seconds"].tolist() == pytest.approx([60 * count / 130 for count in words])
    assert table["begins"].tolist() == pytest.approx(
        [sum(table["seconds"][:i]) for i in range(len(table))]
    )
    assert slow.duration == pytest.approx(2 * board.duration)
    assert clock(board.duration) in board.headline
    lines = [f"{clock(row.begins)} {row.title}" for row in table.itertuples()]
    assert str(board).splitlines()[1:] == lines
    for speed in (0, 39, 401, float("nan"), -130):
        with pytest.raises(ValueError, match="expected a number from 40 to 400"):
            storyboard(read_puzzle(PUZZLE), LEVEL, words_per_minute=speed)


@pytest.mark.parametrize("speed", [60, 130, 400])
def test_chapters_last_a_while_and_cover_all(board: Storyboard, speed: float) -> None:
    told = replace(board, words_per_minute=speed)
    chapters = [line.split(" ", 1) for line in told.chapters.splitlines()]
    times = {clock(begins): begins for begins, _ in told.timed()}
    begins = [times[time] for time, _ in chapters]
    assert begins[0] == 0
    ends = [*begins[1:], told.duration]
    lasting = [end - begin for begin, end in zip(begins, ends, strict=True)]
    assert min(lasting) >= SHORTEST_CHAPTER
    # No part that could begin a chapter does not.
    for begin, part in told.timed():
        if begin not in begins:
            last = max(each for each in begins if each < begin)
            assert begin - last < SHORTEST_CHAPTER or told.duration - begin < SHORTEST_CHAPTER
        if part.hard:
            assert sum(part.title in title for _, title in chapters) >= 1
    assert (len(chapters) < len(told)) == (min(map(told.seconds, told)) < SHORTEST_CHAPTER)


def test_chosen_steps_are_told_alone_and_no_step_is_lost(board: Storyboard) -> None:
    hard = [part for part in board if part.hard]
    few = board.chosen([2, 5])
    assert [part.steps for part in few if part.hard] == [hard[1].steps, hard[4].steps]
    assert [part.hard_number for part in few if part.hard] == [2, 5]
    assert [step for part in few for step in part.steps] == list(board.route)
    assert [part.number for part in few] == list(range(1, len(few) + 1))
    with pytest.raises(ValueError, match=rf"there are {len(hard)} hard steps"):
        board.chosen([len(hard) + 1])


def test_a_swapped_step_is_the_listed_one(board: Storyboard) -> None:
    hard = [part for part in board if part.hard]
    other = storyboard(read_puzzle(PUZZLE), LEVEL, swaps={2: 3})
    told = [part for part in other if part.hard]
    assert told[0].steps == hard[0].steps
    assert told[1].steps == (hard[1].ways[2],)
    assert other.route.flaw is None
    for swaps, message in (({99: 1}, "hard steps"), ({1: 999}, "other ways")):
        with pytest.raises(ValueError, match=message):
            storyboard(read_puzzle(PUZZLE), LEVEL, swaps=swaps)


def test_a_walk_that_gets_stuck_says_so() -> None:
    stuck = storyboard(read_puzzle(PUZZLE), SINGLES)
    assert "stuck" in stuck.headline
    assert len(stuck) == 1
    assert not stuck.parts[0].hard
    left = stuck.route.end.line.count(".")
    assert stuck.parts[0].sentences[-1] == (
        f"These techniques find nothing more; {left} cells are left. There is one solution, so "
        "something else leads on: more techniques, or a search."
    )


def test_why_a_walk_ends_is_found_out() -> None:
    several = storyboard(read_puzzle("1... .... .... ...."), SINGLES)
    assert "There are several solutions" in several.parts[-1].ending
    none = read_puzzle("12.. .... .... ..3.")
    # A row whose last two cells can both be 3 only.
    closed = [(3, cell) for cell in (2, 3)] + [(0, 3), (1, 3)]
    broken = none.without(sum(1 << digit * 16 + cell for digit, cell in closed))
    told = storyboard(broken, SINGLES)
    rule = told.route.start.layout.rules[int(told.route.end.broken_rule)].name
    assert told.route.status == "contradiction"
    assert told.parts[-1].ending.startswith(f"A contradiction: {rule} has no")
    assert told.parts[-1].ending.endswith("So there is no solution from these marks.")
    plain = storyboard(read_puzzle("123. ...4 .... ...."), SINGLES)
    assert plain.route.status == "contradiction"
    assert plain.parts[-1].ending.endswith("So there is no solution.")


def test_a_walk_to_the_end_needs_no_word_about_it(board: Storyboard) -> None:
    assert not any(part.ending for part in board)
    assert ending(board.route) == ""
    stuck = storyboard(read_puzzle(PUZZLE), LEVELS["subsets"])
    assert [bool(part.ending) for part in stuck] == [False] * (len(stuck) - 1) + [True]
    assert stuck.chosen([]).parts[-1].ending == stuck.parts[-1].ending


def test_every_step_can_be_told_by_itself(board: Storyboard) -> None:
    single = storyboard(board.parts[-1].before, LEVEL, above=NOTHING)
    assert [part.step for part in single] == list(board.parts[-1].steps)
    assert all(part.open is None and not part.narrow for part in single)
    assert "each by itself" in single.headline
    assert all(part.status and part.title.split(":")[0] in SINGLES for part in single)


def test_a_walk_can_begin_in_mid_solve(board: Storyboard) -> None:
    later = storyboard(board.parts[2].before, LEVEL)
    assert [part.steps for part in later] == [part.steps for part in board.parts[2:]]


def test_it_opens_with_the_puzzle_as_it_is_given(board: Storyboard) -> None:
    digits = [mark.text for mark in board.opening.marks if mark.role == "given"]
    assert digits == [digit for digit in PUZZLE if digit != "."]
    assert not [mark for mark in board.opening.marks if mark.role == "candidate"]
    later = storyboard(board.parts[2].before, LEVEL).opening
    left = board.parts[2].before.marks.values()
    assert sum(mark.role == "candidate" for mark in later.marks) == sum(map(len, left))


def test_nothing_is_said_twice() -> None:
    resorts = LEVELS["last-resorts"]
    state = storyboard(read_puzzle(PUZZLE), LEVEL).parts[-4].before
    told = storyboard(state, SINGLES.plus(resorts["contradiction"]))
    hard = [part for part in told if part.hard]
    assert hard
    for part in hard:
        assert part.why.endswith(" is not 8.") or " is not " in part.why.rsplit(". ", 1)[-1]
        assert part.falls == ""


def test_easy_parts_name_what_they_write(board: Storyboard) -> None:
    part = board.parts[0]
    layout = part.before.layout
    assert all(layout.candidate_name(step.places) in part.falls for step in part.steps)
    assert part.title == f"{len(part.steps)} digits"


def test_names_of_cells_are_counted_as_they_are_spoken() -> None:
    """Row five column seven is six."""
    assert spoken_words("r5c7=6") == 6
    assert spoken_words("r5c7!=6,") == 7
    assert spoken_words("Look at r5c7 and 3 in row 10.") == 2 + 4 + 1 + 4


def test_where_nothing_can_be_done_there_is_still_a_board() -> None:
    board = storyboard(read_puzzle("1" + "." * 80), SINGLES)
    assert len(board) == 1
    assert not board.parts[0].steps
    assert "nothing" in " ".join(board.parts[0].sentences).lower()
