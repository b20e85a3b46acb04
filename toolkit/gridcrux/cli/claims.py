"""The command `prove`: whether a claim is forced, and why."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gridcrux.cli.inputs import (
    AsJson,
    BadInput,
    LayoutName,
    checked_seconds,
    checked_unique,
    level_named,
    marks_from,
    state_from,
)
from gridcrux.cli.output import (
    UNKNOWN,
    board,
    console,
    listed,
    meter,
    plural,
    print_json,
    table,
    tell,
)
from gridcrux.cli.prepare import prepare

if TYPE_CHECKING:
    from rich.console import Console

    from gridcrux.grids.state import State
    from gridcrux.logic.route import Route
    from gridcrux.proofs.explain.explanation import Explanation
    from gridcrux.proofs.prove import Proof

PATIENCE = 20.0
"""Seconds for the verdict, for its certificate and for the explanation, if nothing is said."""

SHOWN = 4
"""Techniques along the route that are shown with what they say."""

Marks = Annotated[
    Path | None,
    typer.Option(
        metavar="FILE",
        help="Candidates in mid-solve: for each cell, row by row, the digits that are open, cells "
        "apart by blanks, as in '12 3 149 ...'.",
        show_default=False,
    ),
]
After = Annotated[
    str | None,
    typer.Option(
        metavar="LEVEL",
        help="First exclude all that this level of techniques excludes; 'gridcrux techniques' "
        "tells of them.",
        show_default=False,
    ),
]
Limit = Annotated[
    float,
    typer.Option("--seconds", metavar="S", help="Give up after this time, and tell the bounds."),
]


def prove(
    puzzle: Annotated[
        str,
        typer.Argument(
            metavar="PUZZLE", help="The puzzle, a file that holds it, or '-' for standard input."
        ),
    ],
    claims: Annotated[
        list[str],
        typer.Argument(
            metavar="CLAIM...",
            help="What is claimed: 'r5c2!=4', 'r5c2=4', or several to be shown by one argument: "
            "'r5c2!=4 r5c3!=4'.",
        ),
    ],
    layout: LayoutName = None,
    marks: Marks = None,
    after: After = None,
    from_givens: Annotated[
        bool,
        typer.Option(
            "--from-givens",
            help="Also explain each claim from the puzzle's start, and find the fewest givens "
            "that force it.",
        ),
    ] = False,
    every: Annotated[
        int | None,
        typer.Option(
            "--all",
            metavar="N",
            min=1,
            help="List all smallest explanations, up to N.",
            show_default=False,
        ),
    ] = None,
    level: Annotated[
        str,
        typer.Option(metavar="NAME", help="Level whose techniques are listed with the claim."),
    ] = "almost-locked-sets",
    seconds: Limit = PATIENCE,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR",
            help="Write formulas and proofs to this folder, for any checker of DRAT proofs.",
            show_default=False,
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Tell whether candidates are forced to be false or true, why, and prove it.

    An explanation is a set of rules in which one looks up where a candidate can be; the smallest
    is shown. Exit status 1 unless all claims are forced.
    """
    checked_seconds(seconds)
    start = state_from(puzzle, layout)
    repertoire = level_named(level)
    prepare("count")
    prepare("prove")
    from gridcrux.proofs.prove import Verdict, claims_in, prove_each

    asked = []
    for claim in claims:
        try:
            asked.append(claims_in(start, claim))
        except ValueError as error:
            raise BadInput(error) from error
    state = state_after(start, marks, after)
    checked_unique(start, repertoire)
    with meter() as show:
        proofs = prove_each(
            state,
            asked,
            seconds=seconds,
            progress=lambda lower, upper: show(f"between {lower} and {upper} premises"),
        )
    notes = what_to_know_first(start, state, proofs[0].solutions)
    way = None
    if any(proof.verdict is Verdict.FORCED and proof.solutions != "none" for proof in proofs):
        from gridcrux.techniques.solve import route

        prepare("route")
        way = route(start, repertoire, unique=True)
    extras = [_Extras(start, proof, from_givens, every, seconds, way) for proof in proofs]
    files = [_written(proof, number, out) for number, proof in enumerate(proofs, 1)]
    if as_json:
        for note in notes:
            tell(note)
        told = [
            _as_dict(proof, extra, each)
            for proof, extra, each in zip(proofs, extras, files, strict=True)
        ]
        print_json(told[0] if len(told) == 1 else {"proofs": told})
    else:
        screen = console()
        for note in notes:
            screen.print(note, style="bold red")
        for proof, extra, each in zip(proofs, extras, files, strict=True):
            _show(screen, proof, extra, each)
    verdicts = {proof.verdict for proof in proofs}
    if verdicts == {Verdict.FORCED}:
        raise typer.Exit(0)
    raise typer.Exit(UNKNOWN if verdicts <= {Verdict.FORCED, Verdict.UNKNOWN} else 1)


def state_after(start: State, marks: Path | None, after: str | None) -> State:
    """The state in which the claims are made."""
    state = start if marks is None else marks_from(marks, start)
    if after is None:
        return state
    from gridcrux.techniques.solve import closure

    repertoire = level_named(after, "--after")
    checked_unique(start, repertoire)
    prepare("route")
    return closure(state, repertoire, unique=True)


def what_to_know_first(start: State, state: State, solutions: str) -> list[str]:
    """What has to be told before any verdict."""
    from gridcrux.engines import get_engine
    from gridcrux.proofs.counts import how_many

    if solutions == "unknown":
        return ["how many solutions there are was not found out in time"]
    if solutions == "several":
        return ["the puzzle has several solutions; forced is what all of them have in common"]
    if solutions == "one":
        return []
    if state == start or how_many(start) != "one":
        return ["the puzzle has no solution, so everything follows and nothing is shown by it"]
    truth = next(get_engine("kernel").solutions(start))
    wrong = [
        f"{state.layout.cell_name(cell)}={digit}"
        for cell, digit in enumerate(truth)
        if digit not in state.digits_of(cell)
    ]
    return [f"the marks are wrong: they exclude {', '.join(wrong)}, which the solution has"]


class _Extras:
    """What is shown of a forced claim beside its proof."""

    def __init__(
        self,
        start: State,
        proof: Proof,
        from_givens: bool,
        every: int | None,
        seconds: float,
        way: Route | None,
    ) -> None:
        from gridcrux.proofs.explain.givens import ForcingGivens, forcing_givens
        from gridcrux.proofs.explain.smallest import Explainer, smallest_explanation
        from gridcrux.proofs.prove import Verdict
        from gridcrux.proofs.reach import earliest, reaching

        self.givens: ForcingGivens | None = None
        self.from_start: Explanation | None = None
        self.all: list[Explanation] = []
        self.complete = True
        self.here: list[Any] = []
        self.earliest: list[tuple[int, Any]] = []
        if proof.verdict is not Verdict.FORCED:
            return
        state, claims = proof.state, proof.claims
        if way is not None:
            self.here = reaching(state, claims, way.repertoire)
            self.earliest = list(earliest(way, claims))
        if from_givens:
            try:
                self.givens = forcing_givens(start, *claims, seconds=seconds)
                self.from_start = (
                    replace(proof.explanation, start="givens")
                    if state == start and proof.explanation is not None
                    else smallest_explanation(start, *claims, seconds=seconds, start="givens")
                )
            except ValueError:
                tell(f"{' '.join(map(str, claims))} follows from the marks, not from the givens")
            except TimeoutError as error:
                tell(str(error))
        if every is not None:
            also = sum({1 << claim.candidate for claim in claims})
            self.all, self.complete = Explainer(state, also=also).all_smallest(
                *claims, limit=every, seconds=seconds
            )


def _written(proof: Proof, number: int, out: Path | None) -> dict[str, Path]:
    """Write the certificates of a proof; the files by what they are."""
    if out is None or proof.certificate is None:
        return {}
    from gridcrux.proofs.evidence import write_evidence

    files = {}
    try:
        for name, refuted, premises in (
            ("verdict", proof.certificate, None),
            ("explanation", proof.reduced_certificate, _premises(proof)),
        ):
            if refuted is not None:
                made = write_evidence(
                    out, f"claim-{number}-{name}", refuted, proof.state, proof.claims, premises
                )
                files.update({f"{name} {kind}": path for kind, path in made.items()})
        if proof.explanation is not None:
            from gridcrux.figures.svg import board_svg

            files["picture"] = out / f"claim-{number}.svg"
            files["picture"].write_text(board_svg(proof.state, proof.explanation.deduction))
    except OSError as error:
        raise BadInput(f"{error.filename or out}: {error.strerror or error}") from error
    return files


def _premises(proof: Proof) -> tuple[int, ...] | None:
    return None if proof.explanation is None else proof.explanation.premises


def _as_dict(proof: Proof, extra: _Extras, files: dict[str, Path]) -> dict[str, Any]:
    told = proof.as_dict()
    if told["certificate"] is not None and files:
        told["certificate"]["cnf"] = str(files["verdict cnf"])
        told["certificate"]["proof"] = str(files["verdict drat"])
    told["files"] = {kind: str(path) for kind, path in files.items()}
    if proof.explanation is not None:
        told["explanation"]["sentences"] = list(proof.explanation.story.sentences)
    told["techniques"] = [step.as_dict() for step in extra.here]
    told["earliest"] = [{"step": number, **step.as_dict()} for number, step in extra.earliest]
    if extra.givens is not None and extra.from_start is not None:
        told["from_givens"] = {**extra.from_start.as_dict(), "givens": extra.givens.as_dict()}
    if extra.all:
        told["all_smallest"] = [each.as_dict() for each in extra.all]
        told["all_smallest_complete"] = extra.complete
    return told


def _show(screen: Console, proof: Proof, extra: _Extras, files: dict[str, Path]) -> None:
    """All about one claim."""
    from gridcrux.grids.state import State
    from gridcrux.proofs.reach import stand

    screen.print(proof.sentence, style="bold")
    if proof.counterexample is not None:
        solution = State.from_digits(proof.counterexample, proof.state.layout)
        shown = State(solution.layout, solution.open, solution.placed, proof.state.givens)
        screen.print(board(shown))
        return
    why = proof.explanation
    if why is None:
        return
    if stand(proof.state, proof.claims):
        screen.print("It stands there already: nothing has to be looked up.")
    else:
        _show_explanation(screen, why)
    if extra.all:
        rest = "" if extra.complete else ", or more"
        screen.print(f"{plural(len(extra.all), 'smallest explanation')}{rest}:")
        for each in extra.all:
            screen.print(f"  {listed(each.premise_names)}")
    if extra.givens is not None and extra.from_start is not None:
        screen.print(f"From the givens: {extra.givens}.")
        _show_explanation(screen, extra.from_start)
    if not stand(proof.state, proof.claims):
        _show_techniques(screen, extra)
    for what, refuted in (
        ("verdict", proof.certificate),
        ("explanation", proof.reduced_certificate),
    ):
        if refuted is not None:
            screen.print(f"certificate of the {what}: {listed(refuted.checked)}", style="dim")
        else:
            screen.print(f"certificate of the {what}: not made within the time", style="dim")
    if files:
        screen.print(f"files: {listed(map(str, files.values()))}", style="dim")


def _show_explanation(screen: Console, why: Explanation) -> None:
    few = "no fewer are enough" if why.exact else "whether fewer are enough is not known"
    screen.print(
        f"{'' if why.exact else 'At least ' + str(why.lower) + ', at most '}"
        f"{plural(why.size, 'premise')}: {listed(why.premise_names)}; {few}."
    )
    told, theorem = why.story.named_sentence, why.deduction.theorem
    # What forces is told better as a story, which says why each thing follows.
    if theorem is not None and theorem.family != "forcing" and told is not None:
        screen.print(f"As {why.technique}: {told}")
    else:
        screen.print(str(why.story))


def _show_techniques(screen: Console, extra: _Extras) -> None:
    """What named techniques say of the claim, here and along the route."""
    right = {"justify": "right"}
    if extra.here:
        screen.print("Techniques that show it here:")
        here = table("technique", ("width", right), "what it says")
        for step in extra.here:
            here.add_row(step.technique, str(step.width), step.sentence)
        screen.print(here)
    else:
        screen.print("No technique of the level shows it here.")
    if extra.earliest:
        screen.print("Along the route from the givens it is first in reach:")
        first = table(("before step", right), "technique", ("width", right), "what it says")
        for number, step in extra.earliest[:SHOWN]:
            first.add_row(str(number), step.technique, str(step.width), step.sentence)
        screen.print(first)
        if len(extra.earliest) > SHOWN:
            later = (f"{step.technique} ({number})" for number, step in extra.earliest[SHOWN:])
            screen.print(f"later, with the step: {listed(later)}", style="dim")
