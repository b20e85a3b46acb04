"""How every kind of mark looks; each differs from the others in more than its colour.

The hues are the eight of Okabe and Ito, "Color universal design: how to make figures and
presentations that are friendly to colorblind people" (2002, revised 2008), as tabulated in
Wong, "Points of view: color blindness", Nature Methods 8 (2011), 441; written from memory.
"""

from __future__ import annotations

from typing import NamedTuple

BLACK = "#000000"
ORANGE = "#E69F00"
SKY_BLUE = "#56B4E9"
BLUISH_GREEN = "#009E73"
YELLOW = "#F0E442"
BLUE = "#0072B2"
VERMILLION = "#D55E00"
REDDISH_PURPLE = "#CC79A7"

WHITE = "#FFFFFF"
FAINT = "#EDEDED"
PALE = "#B5B5B5"
GREY = "#595959"


class Style(NamedTuple):
    """The look of a mark; lengths in cells.

    Attributes
    ----------
    fill, stroke : colours, or None.
    width : of the stroke.
    opacity : of the whole mark.
    bold : for labels.
    dash : lengths of stroke and gap, or None for an unbroken stroke.
    """

    fill: str | None = None
    stroke: str | None = None
    width: float = 0.0
    opacity: float = 1.0
    bold: bool = False
    dash: tuple[float, float] | None = None


STYLES = {
    "paper": Style(fill=WHITE),
    "given-cell": Style(fill=FAINT),
    "fresh-cell": Style(fill=BLUISH_GREEN, opacity=0.12),
    "premise-house": Style(fill=SKY_BLUE, opacity=0.22),
    "premise-cell": Style(fill=SKY_BLUE, opacity=0.42),
    "highlight": Style(fill=YELLOW),
    "highlight-cell": Style(fill=YELLOW, opacity=0.6),
    "highlight-outline": Style(stroke=GREY, width=0.035, dash=(0.09, 0.07)),
    "trail": Style(stroke=REDDISH_PURPLE, width=0.04, opacity=0.6, dash=(0.1, 0.1)),
    "line": Style(stroke=PALE, width=0.02),
    "border": Style(stroke=BLACK, width=0.05),
    "premise-outline": Style(stroke=BLUE, width=0.065),
    "pattern-outline": Style(stroke=REDDISH_PURPLE, width=0.06, dash=(0.14, 0.08)),
    "broken-outline": Style(stroke=VERMILLION, width=0.07, dash=(0.2, 0.1)),
    "together": Style(stroke=GREY, width=0.02, dash=(0.02, 0.05)),
    "fall-link": Style(stroke=VERMILLION, width=0.035, dash=(0.035, 0.055)),
    "fall-tip": Style(stroke=VERMILLION, width=0.028),
    "follow-link": Style(stroke=BLACK, width=0.029),
    "follow-tip": Style(stroke=BLACK, width=0.033),
    "weak-link": Style(stroke=BLACK, width=0.035, dash=(0.1, 0.09)),
    "weak-tip": Style(stroke=BLACK, width=0.034),
    "strong-link": Style(stroke=BLUE, width=0.075, opacity=0.8),
    "place-disc": Style(fill=BLUISH_GREEN),
    "excluded-disc": Style(fill=VERMILLION, opacity=0.35),
    "fresh-ring": Style(stroke=BLUISH_GREEN, width=0.045),
    "ring": Style(fill=WHITE, stroke=BLUE, width=0.03),
    "first-node": Style(fill=WHITE, stroke=BLUE, width=0.05),
    "second-node": Style(fill=YELLOW, stroke=BLACK, width=0.04),
    "both-nodes": Style(stroke=BLUE, width=0.03),
    "given": Style(fill=BLACK, bold=True),
    "written": Style(fill=BLUE),
    "placed": Style(fill=WHITE, bold=True),
    "candidate": Style(fill=GREY),
    "base": Style(fill=BLUE, bold=True),
    "node": Style(fill=BLACK, bold=True),
    "excluded": Style(fill=GREY, bold=True),
    "strike": Style(stroke=BLACK, width=0.032),
    "name": Style(fill=GREY),
    "key": Style(fill=GREY),
    "tag-ground": Style(fill=WHITE),
    "tag": Style(fill=BLUE, bold=True),
}
"""Style by role, in the order of drawing.

Givens are bold on grey ground, digits written since are plain.  Premises are outlined cells
and houses, and what they had left is ringed; houses that are neither rows nor columns have their
name on the outline.  Excluded candidates are struck through; a digit that is placed stands in a
filled disc, and many that were written together each in a thin circle.  Along a chain the first
node of each strong link is a blue circle and the second a yellow square, which are the two colours
of a colouring; strong links are thick and unbroken, weak ones thin and dashed with an arrow to the
next strong link, and dots hold a node of several candidates together.  Dotted arrows lead from the
two ends to what falls.  Where something is assumed it is a square, what is true then is a circle,
and thin arrows lead from one to the next; a rule that loses every candidate is outlined by dashes,
and so are, in shorter ones, the cells of a pattern whose digits could be exchanged.
"""
