"""What the columns of a study mean: the one place that says so."""

from __future__ import annotations

from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.technique import Technique
from gridcrux.techniques.repertoires import EVERYTHING

NUMBERS = {
    "solutions": "solutions found, up to the limit; `solutions_complete` tells whether it is all",
    "nodes": "engine effort: states that the kernel propagated while counting the solutions",
    "backbone": "cells that hold the same digit in every solution, givens included; "
    "missing where the search for them was cut short",
    "open_after_singles": "candidates left in cells not yet written when no single applies",
    "level": "least of the named levels within the repertoire that solves the puzzle, singles in "
    "any case; missing if none does",
    "status": "how the route ended: solved, stuck, contradiction, or unfinished (see `stopped_by`)",
    "steps": "steps of the route, easiest technique first",
    "hard_steps": "steps of the route that are not placements",
    "widest_step": "most premises that a step of the route needed",
    "essential_steps": "steps whose conclusion the repertoire cannot do without: if an elimination "
    "may be made by placements only, or a digit not be written by its rule, the end is not reached",
    "replaceable_steps": "steps that the end of the route rests on, but would be reached without",
    "idle_steps": "steps that the end of the route does not need (backward slice)",
}
"""Columns that are measured as numbers, in the order of the compiled table."""


def steps_column(technique: Technique) -> str:
    """The column that counts the steps of a technique."""
    return f"steps_{technique.name.replace('-', '_')}"


def columns_of(repertoire: Repertoire, needs: bool = False, widths: bool = False) -> dict[str, str]:
    """The columns of a study under a repertoire, with their meanings, in the order of the table.

    Parameters
    ----------
    needs : whether the study asks for what puzzles need at least.
    widths : whether it asks for bottleneck widths.
    """
    steps = {
        steps_column(technique): f"steps of the route by the technique {technique.name}"
        for technique in repertoire
    }
    return GENERAL | (NEEDS if needs else {}) | (WIDTHS if widths else {}) | steps


GENERAL = {
    "id": "identifier: column `id` of the source, else the line number",
    "source": "file that the puzzle came from",
    "line": "line of the source at which the puzzle starts",
    "weight": "how much the puzzle counts in its sample: column `weight` of the source, else 1",
    "group": "column `group` of the source: puzzles of one group depend on each other",
    "layout": "name of the layout",
    "puzzle": "givens row by row, '.' for a blank",
    "givens": "number of givens",
    "solutions": NUMBERS["solutions"],
    "solutions_complete": "whether `solutions` is the exact number",
    "nodes": NUMBERS["nodes"],
    "backbone": NUMBERS["backbone"],
    "open_after_singles": NUMBERS["open_after_singles"],
    "level": NUMBERS["level"],
    "status": NUMBERS["status"],
    "solved": "whether the repertoire solves the puzzle; missing if the time was up before that",
    "steps": NUMBERS["steps"],
    "hard_steps": NUMBERS["hard_steps"],
    "widest_step": NUMBERS["widest_step"],
    "essential_steps": NUMBERS["essential_steps"],
    "replaceable_steps": NUMBERS["replaceable_steps"],
    "idle_steps": NUMBERS["idle_steps"],
    "essential_techniques": "techniques without which the repertoire does not reach the same end, "
    "joined by ', '; empty if every technique used is replaceable",
    "stopped_by": "'seconds' if the time for one puzzle was up before all was measured: what is "
    "missing is not known; missing if nothing was cut short",
}
"""Meaning of the columns of every study.  Human measures are missing without a solution."""

NEEDS = {
    "fewest_hard_steps": "fewest steps above the level that counts as easy, as far as was found "
    "out; known to be the least if `fewest_hard_steps_at_least` is the same",
    "fewest_hard_steps_at_least": "no way has fewer hard steps",
    "least_total_width": "fewest premises that the hard steps of a way have together, as far as "
    "was found out",
    "least_total_width_at_least": "no way has less",
    "least_widest_step": "least width to which all steps of some way can be kept",
    "minimal_sufficient": "minimal sets of techniques that, with all placements, get as far as the "
    "repertoire",
    "minimal_blocking": "minimal sets of techniques that cannot all be left out",
    "minimal_sets_complete": "whether these are all such sets",
    "crux_open": "fewest hard deductions on offer before a hard step of the route; missing if "
    "there is none",
    "crux_steps": "hard steps of the route before which so few are on offer",
}
"""Meaning of the columns of a study that asks for what puzzles need.  They are missing unless a
puzzle has one solution; those of ways are missing where the repertoire does not solve it."""

WIDTHS = {
    "bottleneck_width": "least width that the steps must reach if each is as narrow as any could "
    "be, whatever the technique; missing if it was not found",
    "bottleneck_at_least": "the puzzle is not solved by narrower steps",
}
"""Meaning of the columns of a study that asks for bottleneck widths."""

HUMAN = {
    "fewest_hard_steps": "fewest steps above the level that counts as easy, on any way; missing "
    "where only the two bounds are known",
    "fewest_hard_steps_at_least": NEEDS["fewest_hard_steps_at_least"],
    "fewest_hard_steps_at_most": "some way has so many hard steps",
    "crux_open": NEEDS["crux_open"],
    "total_width": "premises that the hard steps of the route have together",
}
"""Meaning of the columns of a contrast that are about the person's way through; missing where the
repertoire does not solve the puzzle."""

RATINGS = {
    "refutation_sum": "premises of the cheapest refutations that get one over all stalls of "
    "singles; missing if singles refute nothing at some stall (`contrast.ratings`)",
    "stalls": "how often no single is open on that way",
    "single_rounds": "rounds, in each of which all singles that are open are written at once",
    "open_singles": "digits written by singles in a round, on average",
}
"""Meaning of the columns of a contrast that are ratings of the literature."""

CONSISTENCY = {
    "consistency": "first level of `proofs.consistency` that solves the puzzle: 1 "
    "`extended-units` (singles), 2 `locked` (locked candidates too), 3 `all-different-locked` "
    "(subsets too), 4 `failed-literals`, 5 `shaving` (singleton consistency of all-different); 6 "
    "if none of these does",
}
"""Meaning of the column of a contrast that is about propagation."""

IN_CONTRAST = {
    **{
        name: f"{NUMBERS[name]}; in contrast.csv missing unless there is one solution and the "
        "route is `solved`"
        for name in ("steps", "hard_steps", "widest_step")
    },
    **{
        name: f"{meaning}; in contrast.csv missing unless there is one solution"
        for name, meaning in (("givens", GENERAL["givens"]), ("nodes", NUMBERS["nodes"]))
    },
}
"""Meaning of the columns of every study that a contrast takes over as measures.  It blanks them
where they mean nothing, so that whoever correlates its columns gets its correlations."""

CONTRAST = HUMAN | WIDTHS | RATINGS | CONSISTENCY
"""Meaning of the columns that every contrast adds; those of engines come on top."""

KERNEL = "kernel"
"""The engine whose effort is the column `nodes` of every study."""


def effort_column(engine: str, measure: str) -> str:
    """The column with something that an engine counts of its work.

    >>> effort_column("cadical195/minimal/fresh", "conflicts"), effort_column("kernel", "nodes")
    ('cadical195_minimal_fresh_conflicts', 'nodes')
    """
    if engine == KERNEL:
        return measure
    return "_".join([engine.replace("/", "_").replace("-", "_"), measure])


COLUMNS = CONTRAST | columns_of(EVERYTHING, needs=True, widths=True)
"""Meaning of every column that a study can have, but for the effort of engines beside the
kernel."""
