"""Another deduction in the place of a step, and the route that follows from there."""

from __future__ import annotations

from itertools import islice

import numpy as np

from gridcrux.grids.arrays import word_count
from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction, from_record
from gridcrux.logic.records import STUCK, Records
from gridcrux.logic.route import Route
from gridcrux.techniques.compiled.tables import Ints
from gridcrux.techniques.policies import Moment
from gridcrux.techniques.solve import board_of, route


class NotOffered(ValueError):
    """A deduction that cannot be made in the state before the step."""


def swapped(found: Route, step: int, deduction: Deduction) -> Route:
    """The route up to a step, another deduction in its place, and what the policy does then.

    Parameters
    ----------
    found : a route; whether its repertoire may be used is not asked again.
    step : number of the step, from 1.
    deduction : one that a technique of the repertoire finds in the state before the step.

    Raises
    ------
    NotOffered : it does not.
    UnknownTechnique : its technique is not in the repertoire.
    ValueError : the route has no such step.
    """
    if not 1 <= step <= len(found):
        raise ValueError(f"the route has {len(found)} steps, so none has the number {step}")
    before = next(islice(found.states(), step - 1, None))
    words = word_count(before.layout)
    record = _record_of(found, before, deduction)
    table = np.concatenate([found.records.table[: step - 1], record[None]])
    so_far = Route(found.start, found.repertoire, Records(table, words), STUCK, found.policy)
    rest = route(so_far.end, found.repertoire, found.policy, unique=True)
    table = np.concatenate([table, rest.records.table])
    return Route(found.start, found.repertoire, Records(table, words), rest.ending, found.policy)


def _record_of(found: Route, state: State, deduction: Deduction) -> Ints:
    """The row of integers that stands for a deduction in a state."""
    technique = found.repertoire[deduction.technique]
    moment = Moment.of(state.layout, board_of(state), found.repertoire)
    records = Records(moment.all(technique), word_count(state.layout))
    for row in range(len(records)):
        if from_record(records, row, state, technique) == deduction:
            return records.table[row]
    raise NotOffered(f"before this step no {deduction.technique} finds that {deduction.verdict}")
