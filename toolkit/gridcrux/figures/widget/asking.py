"""The answer to a claim about a state, as HTML: forced and why, or refuted by a solution."""

from __future__ import annotations

from html import escape

from gridcrux.figures.scene import board_scene
from gridcrux.figures.svg import scene_svg
from gridcrux.grids.state import State
from gridcrux.proofs.prove import Proof, prove


def answer_html(state: State, text: str, seconds: float) -> str:
    """What is known of a claim like ``r4c5!=7``; where the text is none, what would be one.

    Parameters
    ----------
    state : where it is claimed; what is closed there is taken for granted.
    seconds : limit for each part of the answer, as for `prove`.
    """
    try:
        proof = prove(state, text, seconds=seconds)
    except ValueError as error:
        return f"<p>{escape(str(error))}</p>"
    return proof._repr_html_() + _borne_out(proof)


def _borne_out(proof: Proof) -> str:
    """What stands behind a verdict: the solution that refutes, or who checked the proof."""
    if proof.counterexample is not None and proof.failing is not None:
        start = proof.state
        solution = State.from_digits(proof.counterexample, start.layout)
        shown = State(start.layout, solution.open, solution.placed, start.givens)
        cell = proof.failing.candidate % start.layout.cells
        return f"<p>The solution:</p>{scene_svg(board_scene(shown, fresh=1 << cell))}"
    if proof.certificate is not None:
        return f"<p>Checked by {escape('; '.join(proof.certificate.checked))}.</p>"
    return ""
