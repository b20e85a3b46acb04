"""The step that the README shows is needed, as leaving its technique out tells."""

from __future__ import annotations

import pytest

from gridcrux.corpus.study import study
from gridcrux.figures.readme import essential_step
from gridcrux.techniques.repertoires import FIRST_FAMILY
from gridcrux.techniques.solve import route

# From the starter corpus, which the package made itself.
NEEDY = ".67.....1...7...963........4.1.....5......1...5.6.9.2.....4625....138.6......2..3"
EASY = "...37856.7.6..1...8...6..7.51.6.7..86.4...7.93..9.5.12.4..8...5...5..4.7.85734..."


def test_the_step_shown_is_needed():
    name, state, step = essential_step(study([EASY, NEEDY]), "x-wing")
    assert (name, step.technique) == ("2", "x-wing")
    assert route(state, FIRST_FAMILY).solved
    assert not route(state, FIRST_FAMILY.without("x-wing")).solved


def test_where_there_is_none_it_is_told():
    with pytest.raises(ValueError, match="jellyfish"):
        essential_step(study([EASY, NEEDY]), "jellyfish")
