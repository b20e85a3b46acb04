"""A folder of files with which anyone can check a claim, without this package."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from errno import EEXIST
from pathlib import Path

from gridcrux.encodings.cnf import Cnf
from gridcrux.grids.names import Claim
from gridcrux.grids.state import State
from gridcrux.logic.wording import listing
from gridcrux.proofs.refutation import Refutation

README = "README.txt"
_TITLE = "Evidence for claims about a number-place puzzle"

_GENERAL = """
Files
  NAME.cnf            a formula in DIMACS form; it says that the claim fails
  NAME.drat           a DRAT proof, as text, that the formula cannot be satisfied
  NAME-variables.csv  what each variable of the formula stands for

The formula, block by block; comments in the file say where each begins
  conflicts  two open candidates that share a cell, or a digit and a house, are not both true
  rules      at least one candidate of each of these rules is true
  closed     what the marks have excluded is false
  denial     one of the things that are claimed fails
Pairs with a closed candidate are not among the conflicts: the closed one is false anyhow.

To check
  1. Compare the formula with the puzzle and the claim, with the help of the variables.
  2. Give formula and proof to any checker of DRAT proofs. In Python:
       from dratify import check_proof, parse_dimacs
       formula = parse_dimacs(open("NAME.cnf").read(), strict=True)
       print(check_proof(formula, open("NAME.drat").read(), check_rat=False))
     Each step follows by unit propagation (RUP), so what else DRAT allows (RAT) can be refused.
If the formula cannot be satisfied, the claim holds whenever the rules do.
"""


def write_evidence(
    folder: Path,
    name: str,
    evidence: Refutation,
    state: State,
    claims: Sequence[Claim],
    premises: Sequence[int] | None,
) -> dict[str, Path]:
    """Write formula, proof, the meaning of the variables, and how to check them.

    Parameters
    ----------
    folder : is made if it is not there; one that holds evidence gets more of it.
    name : how the files begin.
    premises : the rules of the formula, None for all.

    Returns
    -------
    The files by kind: "cnf", "drat", "variables" and "readme".

    Raises
    ------
    FileExistsError : the folder holds something else, or files of this name.
    """
    readme = folder / README
    files = {
        "cnf": folder / f"{name}.cnf",
        "drat": folder / f"{name}.drat",
        "variables": folder / f"{name}-variables.csv",
    }
    if folder.exists() and any(folder.iterdir()) and not _is_ours(readme):
        raise FileExistsError(
            EEXIST, "holds other files; name a new folder, or one with evidence", str(folder)
        )
    for file in files.values():
        if file.exists():
            raise FileExistsError(EEXIST, "exists; name a new folder, or remove it", str(file))
    folder.mkdir(parents=True, exist_ok=True)
    comments = _blocks(evidence.formula, state)
    files["cnf"].write_text(evidence.formula.to_dimacs(comments), encoding="utf-8")
    files["drat"].write_text(evidence.proof, encoding="utf-8")
    with files["variables"].open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(("variable", "candidate", "state"))
        for candidate in range(state.layout.candidates):
            word = "open" if state.is_open(candidate) else "closed"
            writer.writerow((candidate + 1, state.layout.candidate_name(candidate), word))
    if not readme.exists():
        readme.write_text(f"{_TITLE}\n{_GENERAL}", encoding="utf-8")
    with readme.open("a", encoding="utf-8") as stream:
        stream.write(_about(name, evidence, state, claims, premises))
    return {**files, "readme": readme}


def _is_ours(readme: Path) -> bool:
    if not readme.exists():
        return False
    return readme.read_text(encoding="utf-8", errors="replace").startswith(_TITLE)


def _blocks(formula: Cnf, state: State) -> dict[int, str]:
    """The name of each block of a formula, by the number of its first clause."""
    closed = state.layout.candidates - state.open.bit_count()
    conflicts = sum(len(clause) == 2 and max(clause) < 0 for clause in formula.clauses[:-1])
    return {
        0: "conflicts",
        conflicts: "rules",
        len(formula.clauses) - 1 - closed: "closed",
        len(formula.clauses) - 1: "denial",
    }


def _about(
    name: str,
    evidence: Refutation,
    state: State,
    claims: Sequence[Claim],
    premises: Sequence[int] | None,
) -> str:
    layout = state.layout
    names = [rule.name for rule in layout.rules]
    rules = "all rules" if premises is None else listing(names[rule] for rule in premises)
    marks = "; ".join(
        f"{cell} {' '.join(map(str, digits))}" for cell, digits in state.marks.items()
    )
    return f"""
NAME = {name}
  claimed: {listing(claims)}
  layout: {layout.name}
  written digits, row by row: {state.line}
  open in the other cells: {marks or "none"}
  rules used: {rules}
  checked by: {listing(evidence.checked)}
"""
