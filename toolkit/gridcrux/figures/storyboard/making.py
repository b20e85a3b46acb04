"""How a storyboard is made: a route, cut into parts, with what proofs say of its hard steps.

A hard part says what to look at, why it holds, what falls and what it opens; what else could be
done there, whether the route is narrow there, and whether the step is essential.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import groupby

from gridcrux.figures.storyboard.part import Part
from gridcrux.figures.storyboard.story import NOTHING, WORDS_PER_MINUTE, NoSuchStep, Storyboard
from gridcrux.figures.storyboard.words import ending, plural
from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.route import Route
from gridcrux.proofs.essential import IDLE, judge
from gridcrux.proofs.hard.profile import crux_profile
from gridcrux.proofs.trust import certifying
from gridcrux.proofs.uniqueness import require_unique
from gridcrux.techniques.alternatives import alternatives
from gridcrux.techniques.repertoires import DEFAULT, level_named
from gridcrux.techniques.solve import route
from gridcrux.techniques.swapping import swapped

ABOVE = "singles"
"""The level that counts as easy unless it is told."""

_SPARED = "nested-contradiction"
"""The technique that is never sought as another way."""

FEW = 5
"""Where more hard deductions are open nobody has to be led to one of them."""

SLOWEST, FASTEST = 40.0, 400.0
"""Words a minute that can be meant."""


def storyboard(
    state: State,
    repertoire: Repertoire = DEFAULT,
    *,
    above: str = ABOVE,
    policy: str = "easiest",
    swaps: Mapping[int, int] | None = None,
    words_per_minute: float = WORDS_PER_MINUTE,
) -> Storyboard:
    """The walk from a state as far as a repertoire goes, in parts.

    Other ways are sought by all techniques of the repertoire but for last resorts harder than
    those that the walk needs, and nested contradictions.

    Parameters
    ----------
    above : the level of which all techniques count as easy; `NOTHING` to tell each step by itself.
    policy : how the steps of the route are chosen (`techniques.policies`).
    swaps : for the number of a hard step (from 1 among the hard ones) the number of the
        alternative to take instead, as the part before the exchange lists them; carried out in
        the order of the steps.

    Raises
    ------
    NotUnique : the repertoire assumes that there is one solution, and there is not.
    UnknownLevel, UnknownPolicy : there is no such level or policy.
    NoSuchStep : there is no such hard step or alternative to swap.
    ValueError : nobody speaks at that speed.
    """
    if not SLOWEST <= words_per_minute <= FASTEST:
        raise ValueError(
            f"{words_per_minute:g} words a minute: expected a number from {SLOWEST:g} to "
            f"{FASTEST:g}"
        )
    easy = set() if above == NOTHING else {technique.name for technique in level_named(above)}
    require_unique(state, repertoire)
    found = route(state, repertoire, policy, unique=True)
    for number, choice in sorted((swaps or {}).items()):
        hard = [i for i, step in enumerate(found, 1) if step.technique not in easy]
        if not 1 <= number <= len(hard):
            raise NoSuchStep(
                f"there are {plural(len(hard), 'hard step')}, and none has the number {number}"
            )
        before = list(found.states())[hard[number - 1] - 1]
        offered = _offered(found)
        same, others = _ways(before, found.steps[hard[number - 1] - 1], offered, easy)
        ways = same + others
        if not 1 <= choice <= len(ways):
            raise NoSuchStep(
                f"hard step {number} has {plural(len(ways), 'other way')}, and none has the "
                f"number {choice}"
            )
        found = swapped(found, hard[number - 1], ways[choice - 1])
    parts = tuple(_parts(found, easy, above))
    return Storyboard(found, above, parts, sum(part.hard for part in parts), words_per_minute)


def _parts(found: Route, easy: set[str], above: str) -> list[Part]:
    judged = judge(found)
    offered = _offered(found)
    # Where nothing is easy, what is open are all ways to write a digit.
    profile = None if above == NOTHING else crux_profile(found, above, offered=offered)
    open_ = {moment.step: moment.open for moment in profile.moments} if profile else {}
    narrow = {step for step in profile.crux if open_[step] <= FEW} if profile else set()
    states = list(found.states())
    parts: list[Part] = []
    numbers = range(1, len(found) + 1)
    for hard, group in groupby(numbers, key=lambda n: found.steps[n - 1].technique not in easy):
        members = list(group)
        for chunk in [[n] for n in members] if hard else [members]:
            first, last = chunk[0], chunk[-1]
            part = Part(
                len(parts) + 1,
                first,
                states[first - 1],
                states[last],
                found.steps[first - 1 : last],
                hard,
            )
            if hard:
                same, others = _ways(part.before, part.steps[0], offered, easy)
                part = replace(
                    part,
                    status=judged.statuses[first - 1],
                    hard_number=sum(each.hard for each in parts) + 1,
                    open=open_.get(first),
                    narrow=first in narrow and judged.statuses[first - 1] != IDLE,
                    same=same,
                    others=others,
                )
            parts.append(part)
    told = [
        replace(part, opens=_opens(parts[i + 1 :])) if part.hard and easy else part
        for i, part in enumerate(parts)
    ]
    if not told:
        # The board is shown all the same.
        told = [Part(1, 1, found.start, found.start, (), False)]
    told[-1] = replace(told[-1], ending=ending(found))
    return told


def _offered(found: Route) -> Repertoire:
    """The techniques by which other ways are sought: last resorts only as far as the walk has them.

    Nested contradictions are left out in any case: there are hundreds in a state, it takes ten
    seconds to list them, and nobody who has one longs for another.
    """
    names = found.repertoire.names
    last = max((names.index(step.technique) for step in found), default=-1)
    spared = [
        technique.name
        for number, technique in enumerate(found.repertoire)
        if technique.family == "forcing" and (number > last or technique.name == _SPARED)
    ]
    return found.repertoire.without(*spared)


@certifying()
def _ways(
    before: State, taken: Deduction, repertoire: Repertoire, easy: set[str]
) -> tuple[tuple[Deduction, ...], tuple[Deduction, ...]]:
    """Other ways to the same conclusion, and the narrowest way to each other one.

    A way that looks up all that another one does, and more, is none of its own.
    """
    hard = repertoire.without(*(name for name in repertoire.names if name in easy))
    same: list[Deduction] = []
    others: list[Deduction] = []
    for group in alternatives(before, hard, unique=True):
        ways = [step for step in group if step != taken]
        if (group.places, group.eliminates) == (taken.places, taken.eliminates):
            # The narrower ones come first.
            for way in ways:
                known = [set(each.premises) for each in (taken, *same)]
                if not any(premises < set(way.premises) for premises in known):
                    same.append(way)
        else:
            others += ways[:1]
    return tuple(same), tuple(others)


def _opens(rest: list[Part]) -> str:
    """What a hard step makes possible, by what comes next."""
    if not rest:
        return ""
    following = rest[0]
    if following.hard:
        return f"Nothing easy follows; next comes a hard step: {following.steps[0].technique}."
    written = [step for step in following.steps if step.places is not None]
    if not written:
        return f"It opens {plural(len(following.steps), 'easy step')}."
    layout = following.before.layout
    first = layout.candidate_name(int(written[0].places or 0))
    end = ", and the puzzle is solved" if following.after.is_solved else ""
    return f"It opens {plural(len(written), 'digit')}, {first} first{end}."
