"""Who asks about something that is no state is told what was expected."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from gridcrux.grids.canonical import canonical
from gridcrux.grids.state import State, expect_state
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.consistency import consistent, weakest_level
from gridcrux.proofs.counts import backbone, count, how_many
from gridcrux.proofs.essential import crux
from gridcrux.proofs.explain.bottleneck import bottleneck
from gridcrux.proofs.explain.givens import forcing_givens
from gridcrux.proofs.explain.smallest import smallest_explanation
from gridcrux.proofs.further import further_givens
from gridcrux.proofs.givens import redundant_givens, sufficient_givens
from gridcrux.proofs.hard.fewest import fewest_hard_steps
from gridcrux.proofs.hard.widths import least_total_width, least_widest_step
from gridcrux.proofs.hard.without import way_round
from gridcrux.proofs.prove import prove, prove_each
from gridcrux.proofs.sufficient import technique_sets
from gridcrux.proofs.total import total
from gridcrux.techniques.alternatives import alternatives
from gridcrux.techniques.repertoires import SINGLES
from gridcrux.techniques.solve import available, closure, first, route

ASKED: dict[str, Callable[[Any], object]] = {
    "alternatives": alternatives,
    "available": available,
    "backbone": backbone,
    "bottleneck": bottleneck,
    "canonical": canonical,
    "closure": closure,
    "consistent": lambda state: consistent(state, "bounds"),
    "count": count,
    "crux": crux,
    "fewest_hard_steps": fewest_hard_steps,
    "first": lambda state: first(state, SINGLES["naked-single"]),
    "forcing_givens": forcing_givens,
    "further_givens": further_givens,
    "how_many": how_many,
    "least_total_width": least_total_width,
    "least_widest_step": least_widest_step,
    "prove": lambda state: prove(state, "r1c1=1"),
    "prove_each": lambda state: prove_each(state, ["r1c1=1"]),
    "redundant_givens": redundant_givens,
    "route": route,
    "smallest_explanation": smallest_explanation,
    "sufficient_givens": sufficient_givens,
    "technique_sets": technique_sets,
    "total": total,
    "way_round": lambda state: way_round(state, ["r1c1=1"]),
    "weakest_level": weakest_level,
}


@pytest.mark.parametrize("name", ASKED)
@pytest.mark.parametrize("given", ["abc", None, "1" * 81], ids=["text", "nothing", "puzzle"])
def test_what_is_no_state_is_refused_with_a_way_to_one(name: str, given: object) -> None:
    with pytest.raises(TypeError, match=r"expected a State, got .*read_puzzle") as refused:
        ASKED[name](given)
    assert repr(given)[:30] in str(refused.value)
    assert len(str(refused.value)) < 200


def test_states_pass() -> None:
    expect_state(State.empty())
    expect_state(read_puzzle("12.. .... .... ...."))
