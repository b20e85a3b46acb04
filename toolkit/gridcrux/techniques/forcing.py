"""Last resorts: follow an assumption by singles to what cannot be.

Theorem.  Assume a candidate.  A rule that has one candidate left, after all that conflicts
with what is true is gone, makes that one true.  If some rule ends without any, the candidate is
false.  If all that a rule has left leads to the same exclusion, that candidate is false.

Why.  The first is reductio ad absurdum: the rule has a true candidate.  The second is a proof by
cases: one of the candidates of the rule is true, whichever it is.

The premises are the rules that became single, the one that broke, and the one whose candidates
were gone through.  Nothing is guessed: what is found is what follows from the premises, whatever
the rest of the grid is.  As few premises as may be are looked for, and none is kept to spare.
Where singles stall within an assumption, a candidate may be refuted there in the same way: a
nested contradiction.

Forcing is reported only where no contradiction does with fewer premises, and a nested
contradiction only where there is no plain one.
"""

from __future__ import annotations

from functools import partial

from gridcrux.grids.layout import Layout
from gridcrux.grids.state import bits
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.technique import technique
from gridcrux.logic.wording import (
    candidates_in_words,
    listing,
    nothing_left,
    single_in_words,
    verdict_in_words,
)
from gridcrux.techniques.compiled import shapes
from gridcrux.techniques.stages import Stage, stages

_forcing = partial(technique, "forcing", any_length=True)


def _told(layout: Layout, stage: Stage) -> list[str]:
    """What comes of an assumption, in words."""
    told = []
    for each in stage.follows:
        if each.rule is not None:
            told.append(single_in_words(layout, each.rule, each.candidate))
        elif each.refutation is not None:
            denied = verdict_in_words(layout, each.candidate, False)
            told.append(f"{denied} (or else {_story(layout, each.refutation)})")
    return told


def _story(layout: Layout, stage: Stage) -> str:
    """How a rule loses every candidate."""
    assert stage.broken is not None
    return listing([*_told(layout, stage), nothing_left(layout, stage.broken)])


def _contradiction_sentence(step: Deduction) -> str:
    layout = step.layout
    for stage in stages(step):
        digit, cell = divmod(stage.assumed, layout.cells)
        name = layout.cell_name(cell)
        return f"If {name} were {digit + 1}: {_story(layout, stage)}. So {name} is not {digit + 1}."
    return step.plain_sentence


def _forcing_sentence(step: Deduction) -> str:
    layout, ways = step.layout, stages(step)
    if not ways or ways[0].start is None:
        return step.plain_sentence
    shown = step.eliminates or step.removes
    denials = listing(verdict_in_words(layout, c, False) for c in bits(shown))
    cases = "; ".join(_case(layout, ways[0].start, stage) for stage in ways)
    possible = any(stage.broken is not None for stage in ways)
    when = "In each case that is possible" if possible else "Each time"
    return f"{layout.rules[ways[0].start].name.capitalize()}: {cases}. {when} {denials}."


def _case(layout: Layout, start: int, stage: Stage) -> str:
    """What one candidate of a rule leads to."""
    case = f"if {candidates_in_words(layout, start, 1 << stage.assumed)}"
    if stage.broken is not None:
        return f"{case}, {_story(layout, stage)}, which cannot be"
    return f"{case}, {listing(_told(layout, stage)) or 'it is seen at once'}"


@_forcing("cell-forcing", shapes.CELL_FORCING, 2)
def cell_forcing(step: Deduction) -> str:
    """If every digit of a cell leads to the same exclusion, by singles, it holds.

    The cell holds one of its digits.  Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.forcing import cell_forcing
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(boxes(2, 2), "cell r2c4: 2 3", "cell r4c4: 2 3")
    >>> print(available(state, Repertoire((cell_forcing,)))[0])
    Cell r2c4: if 2, r4c4 can only be 3; if 3, r4c4 can only be 2. Each time r1c4 is not 2,
    r3c4 is not 2, r1c4 is not 3 and r3c4 is not 3.
    """
    return _forcing_sentence(step)


@_forcing("house-forcing", shapes.HOUSE_FORCING, 2)
def house_forcing(step: Deduction) -> str:
    """If every place of a digit in a house leads to the same exclusion, by singles, it holds.

    The digit has one of its places.  Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.forcing import house_forcing
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(boxes(2, 2), "cell r4c4: 2 3", "3 in box 3: r4c1 r4c2")
    >>> print(available(state, Repertoire((house_forcing,)))[0])
    3 in row 3: if r3c3, r4c4 can only be 2; if r3c4, r4c4 can only be 2. Each time r1c4 is
    not 2, r2c4 is not 2, r3c3 is not 2, r3c4 is not 2, r4c1 is not 2, r4c2 is not 2, r4c3 is
    not 2, r4c3 is not 3 and r4c4 is not 3.
    """
    return _forcing_sentence(step)


@_forcing("contradiction", shapes.CONTRADICTION, 1)
def contradiction(step: Deduction) -> str:
    """A candidate is false if singles lead from it to a rule without any candidate.

    Each rule has a true candidate.  Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.forcing import contradiction
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(boxes(2, 2), "cell r1c3: 1 4", "cell r2c3: 1 4")
    >>> print(available(state, Repertoire((contradiction,)))[0])
    If r1c4 were 1: r1c3 can only be 4 and cell r2c3 has no digit left. So r1c4 is not 1.
    """
    return _contradiction_sentence(step)


@_forcing("nested-contradiction", shapes.NESTED_CONTRADICTION, 2)
def nested_contradiction(step: Deduction) -> str:
    """As a contradiction, with others within the assumption where singles stall.

    What is refuted under the assumption is false under the assumption.  Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.forcing import nested_contradiction
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(boxes(2, 2), "2 in row 1: r1c2 r1c3 r1c4", "2 in row 2: r2c3 r2c4")
    >>> print(available(state, Repertoire((nested_contradiction,)))[0])
    If r1c2 were 1: r1c3 is not 2 (or else 2 in row 2 has no place left), 2 in row 1 can only
    be in r1c4 and 2 in row 2 has no place left. So r1c2 is not 1.
    """
    return _contradiction_sentence(step)


TECHNIQUES = (cell_forcing, house_forcing, contradiction, nested_contradiction)
