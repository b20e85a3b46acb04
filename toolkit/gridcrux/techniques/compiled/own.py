"""The family of techniques written in Python: compiled code calls them as any other family.

The finder of a family gets a board and writes records.  This one makes a state of the board,
asks the function that a user wrote, and writes what it answers.  So an own technique can stand
in every repertoire, and all that works on records works with it.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
from numba import objmode, types
from numba.core.registry import CPUDispatcher
from numba.extending import typeof_impl

from gridcrux.grids.arrays import from_words, to_words, word_count
from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction, NoDeduction, rule_numbers
from gridcrux.logic.records import PLACES, REMOVES, TECHNIQUE, new_records
from gridcrux.techniques.checking import CHECK
from gridcrux.techniques.compiled.board import FORBIDDEN, GIVENS, OPEN, WRITTEN
from gridcrux.techniques.compiled.families import FINDER
from gridcrux.techniques.compiled.shapes import FAMILY, OWN
from gridcrux.techniques.compiled.tables import Ints, Tables, layout_of

Finder = Callable[[State], Iterable[Deduction]]
"""What a user writes: from a state to the deductions that it finds there, the first one first."""

REMEMBERED = 256
"""States of which it is remembered what a finder finds, as judging a route asks again."""


class FinderFault(ValueError):
    """A finder gave something that is no deduction in the state that it was given."""


Found = tuple[Deduction, Ints]
"""A deduction under the name of its technique, and the same as a record."""

_finders: dict[int, tuple[Callable[[State], tuple[Found, ...]], bool]] = {}
"""By its number, what each own technique finds, and whether it assumes a unique solution."""


def enrol(finder: Finder, name: str, assumes_unique: bool) -> int:
    """Give a finder a number, by which compiled code calls it until it is dismissed.

    Raises
    ------
    ValueError : there are too many already.
    """
    number = _free_number()
    if number is None:
        # What nobody holds any more may still wait to be collected.
        gc.collect()
        number = _free_number()
    if number is None:
        raise ValueError(
            f"there are {FAMILY} own techniques already; let go of some (and of their routes)"
        )

    @lru_cache(maxsize=REMEMBERED)
    def found(state: State) -> tuple[Found, ...]:
        try:
            named = [_named(name, state, each) for each in _given(name, finder, state)]
        except NoDeduction as error:
            raise FinderFault(f"the finder of {name}: {error}") from error
        except Exception as error:
            error.add_note(f"raised by the finder of {name} in the state {state.line}")
            raise
        return tuple((each, _record(number, each)) for each in named)

    _finders[number] = found, assumes_unique
    return number


def _free_number() -> int | None:
    return next((each for each in range(OWN, OWN + FAMILY) if each not in _finders), None)


def dismiss(number: int) -> None:
    """Forget the finder of a number, which may then be given to another."""
    del _finders[number]


def _given(name: str, finder: Finder, state: State) -> Iterable[Deduction]:
    """What a finder gives, if that can be gone through."""
    found = finder(state)
    if not isinstance(found, Iterable):
        raise FinderFault(
            f"the finder of {name} gave {found!r}; expected deductions to go through: let it "
            "yield each, or return a list of them"
        )
    return found


def _named(name: str, state: State, deduction: Deduction) -> Deduction:
    """A user's deduction under the name of its technique, if it is one in a state.

    A digit is not written but its rivals are excluded, from which a single writes it: that is
    the same argument, and the family writes no digits.
    """
    layout = state.layout
    if not isinstance(deduction, Deduction):
        raise FinderFault(
            f"the finder of {name} gave {deduction!r}; expected a Deduction, as "
            "logic.deduction.bare makes it"
        )
    if deduction.layout != layout or not deduction.premises:
        what = "no premises" if deduction.layout == layout else f"layout {deduction.layout.name!r}"
        raise FinderFault(
            f"the finder of {name} gave a deduction with {what}; expected rules of the state's "
            f"layout ({layout.name}) that it looks up"
        )
    known, places = rule_numbers(layout, deduction.premises), deduction.places
    beyond = places is not None and not 0 <= places < layout.candidates
    if beyond or (deduction.removes | deduction.relies) & ~layout.full:
        raise FinderFault(
            f"the finder of {name} gave a deduction about what is no candidate of the layout "
            f"({layout.name}); it has {layout.candidates}, numbered from 0"
        )
    if places is not None and not state.is_open(places):
        raise FinderFault(
            f"the finder of {name} gave a deduction that writes "
            f"{layout.candidate_name(places)}, which is excluded in the state it was given; "
            "expected an open candidate"
        )
    if missing := deduction.relies & state.open:
        candidate = layout.candidate_name((missing & -missing).bit_length() - 1)
        raise FinderFault(
            f"the finder of {name} gave a deduction that relies on the absence of {candidate}, "
            "which is open in the state it was given"
        )
    removes = deduction.removes
    if places is not None:
        removes |= layout.conflicts[places]
    premises = tuple(sorted(set(known)))
    return replace(
        deduction,
        technique=name,
        width=len(premises),
        premises=premises,
        removes=removes,
        eliminates=removes & state.open,
        places=None,
    )


def _record(number: int, deduction: Deduction) -> Ints:
    """A deduction as a row of integers."""
    words = word_count(deduction.layout)
    premises = sum(1 << rule for rule in deduction.premises)
    record = new_records(1, deduction.layout)[0]
    record[TECHNIQUE], record[PLACES] = number, -1
    behind = REMOVES + 2 * words
    record[REMOVES:behind].view(np.uint64)[:words] = to_words(deduction.removes, words)
    record[REMOVES:behind].view(np.uint64)[words:] = to_words(deduction.relies, words)
    record[behind:].view(np.uint64)[:] = to_words(premises, len(record) - behind)
    return record


def _ask(
    rules: Ints, board: Ints, technique: int, widest: int, records: Ints, row: int, limit: int
) -> int:
    """Find deductions of an own technique, as `families.FINDER` says."""
    layout = layout_of(rules)
    words = word_count(layout)

    def candidates(line: int) -> int:
        return from_words(board[line, :words].view(np.uint64))

    def cells(line: int) -> int:
        return sum(1 << cell for cell in np.flatnonzero(board[line, : layout.cells]).tolist())

    state = State(layout, candidates(OPEN), cells(WRITTEN), cells(GIVENS))
    forbidden, opened, found = board[FORBIDDEN, :words], board[OPEN, :words], 0
    finder, assumes_unique = _finders[technique]
    check = CHECK.get()
    for deduction, record in finder(state):
        removes = record[REMOVES : REMOVES + words] & ~forbidden
        if found < limit and deduction.width <= widest and (removes & opened).any():
            if check is not None:
                check(state, deduction, assumes_unique)
            records[row + found] = record
            records[row + found, REMOVES : REMOVES + words] = removes
            found += 1
    return found


def _find(
    tables: Tables, board: Ints, technique: int, widest: int, records: Ints, row: int, limit: int
) -> int:
    """Find deductions of any technique of the family, as `families.FINDER` says."""
    rules = tables.rules
    with objmode(found="int64"):
        found = _ask(rules, board, technique, widest, records, row, limit)
    return found


class _Pointer(CPUDispatcher):
    """A compiled function that is passed as a pointer, and yet can raise what a finder raises.

    What `cfunc` makes has the C calling convention, which has no way to say that something was
    raised; a pointer to what `njit` makes has.
    """


@typeof_impl.register(_Pointer)
def _type_of_pointer(pointer: Any, context: Any) -> Any:
    return types.FunctionType(FINDER)


find = _Pointer(_find, targetoptions={"nopython": True})
find.compile(FINDER)
find.disable_compile()
