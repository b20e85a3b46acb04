"""The rules for CP-SAT, in three ways: Booleans, integers, and both linked.

A state makes a model of its open candidates only, so its marks are domains and not constraints.
The solutions of the model are those of the state, one each.  OR-tools is loaded when a model is
made.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from gridcrux.grids.layout import Layout
from gridcrux.grids.rich import facts
from gridcrux.grids.state import State, bits


@dataclass(frozen=True)
class Program:
    """A CP-SAT model of a state, and what its variables stand for.

    Attributes
    ----------
    layout : the layout of the state.
    model : the `CpModel`; what is added to it later counts.
    digits : for each cell the integer variable of its digit, from 1; empty if there are none.
    literals : for each candidate that has one the Boolean variable that it is true.
    """

    layout: Layout
    model: Any
    digits: dict[int, Any] = field(default_factory=dict)
    literals: dict[int, Any] = field(default_factory=dict)

    def literal(self, candidate: int) -> Any:
        """The Boolean variable of an open candidate; where there is none it is made and linked."""
        if candidate not in self.literals:
            digit, cell = self._place(candidate)
            literal = self.model.new_bool_var("")
            self.model.add(self.digits[cell] == digit).only_enforce_if(literal)
            self.model.add(self.digits[cell] != digit).only_enforce_if(~literal)
            self.literals[candidate] = literal
        return self.literals[candidate]

    def close(self, candidate: int) -> None:
        """No later solution has this candidate."""
        digit, cell = self._place(candidate)
        if self.digits:
            self.model.add(self.digits[cell] != digit)
        else:
            self.model.add(self.literals[candidate] == 0)

    def hints(self, candidates: int) -> Iterator[tuple[Any, int]]:
        """Variables and values that make candidates of a mask true, the first of a cell if need be.

        CP-SAT takes one hint a variable.
        """
        if not self.digits:
            yield from ((self.literals[candidate], 1) for candidate in bits(candidates))
            return
        hinted = set()
        for candidate in bits(candidates):
            digit, cell = self._place(candidate)
            if cell not in hinted:
                hinted.add(cell)
                yield self.digits[cell], digit

    def solution(self, value: Callable[[Any], int]) -> int:
        """The mask of the true candidates.

        Parameters
        ----------
        value : tells the value of a variable, as a solver or its callback does.
        """
        if not self.digits:
            return sum(1 << k for k, literal in self.literals.items() if value(literal))
        cells = self.layout.cells
        return sum(1 << (value(x) - 1) * cells + cell for cell, x in self.digits.items())

    def _place(self, candidate: int) -> tuple[int, int]:
        """The digit, from 1, and the cell."""
        digit, cell = divmod(candidate, self.layout.cells)
        return digit + 1, cell

    def _repr_html_(self) -> str:
        sizes = {"integers": len(self.digits), "Booleans": len(self.literals)}
        return facts({"layout": self.layout.name, **sizes})


def _exactly_one(program: Program, state: State) -> None:
    """One candidate of each rule is true."""
    for rule in state.layout.rules:
        program.model.add_exactly_one(map(program.literal, bits(rule.mask & state.open)))


def booleans(state: State) -> Program:
    """A Boolean variable a candidate; of each rule exactly one is true."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    literals = {candidate: model.new_bool_var("") for candidate in bits(state.open)}
    program = Program(state.layout, model, literals=literals)
    _exactly_one(program, state)
    return program


def integers(state: State) -> Program:
    """An integer variable a cell; those of a house are all different."""
    from ortools.sat.python import cp_model

    layout, model = state.layout, cp_model.CpModel()
    digits = {}
    for cell in range(layout.cells):
        domain = cp_model.Domain.from_values(state.digits_of(cell))
        if domain.is_empty():
            # CP-SAT has no variable without values.
            model.add_bool_or()
            domain = cp_model.Domain(1, layout.size)
        digits[cell] = model.new_int_var_from_domain(domain, "")
    for house in layout.houses:
        model.add_all_different(digits[cell] for cell in house.cells)
    return Program(layout, model, digits)


def channelled(state: State) -> Program:
    """Both sets of variables, each with its constraints, linked candidate by candidate."""
    program = integers(state)
    _exactly_one(program, state)
    return program


MODELS: dict[str, Callable[[State], Program]] = {
    "booleans": booleans,
    "integers": integers,
    "channelled": channelled,
}
"""Every way to state the rules by its name, the usual one first."""
