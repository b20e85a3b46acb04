"""A register of eight 32-bit lanes as a numba value, so that vector code reads like arithmetic.

Numba has no vector type; LLVM, which it compiles through, has.  This file makes LLVM's
``<8 x i32>`` a numba type with ``& | ^ + - * << >>`` and the few lane operations the kernel
needs.  LLVM picks the machine's widest instructions (AVX2, NEON, or pairs of SSE registers).
"""

from __future__ import annotations

import operator
from typing import Any

from llvmlite import ir
from numba import types
from numba.core.typing.templates import AbstractTemplate, infer_global, signature
from numba.extending import intrinsic, lower_builtin, models, register_model

LANES = 8
_I32 = ir.IntType(32)
_VECTOR = ir.VectorType(_I32, LANES)


class LanesType(types.Type):
    def __init__(self) -> None:
        super().__init__(name="Lanes")


lanes = LanesType()


@register_model(LanesType)
class _LanesModel(models.PrimitiveModel):
    def __init__(self, manager: Any, kind: Any) -> None:
        super().__init__(manager, kind, _VECTOR)


def _splat(builder: Any, scalar: Any) -> Any:
    first = builder.insert_element(ir.Constant(_VECTOR, ir.Undefined), scalar, _I32(0))
    mask = ir.Constant(_VECTOR, [0] * LANES)
    return builder.shuffle_vector(first, ir.Constant(_VECTOR, ir.Undefined), mask)


def _as_lanes(context: Any, builder: Any, value: Any, kind: Any) -> Any:
    if isinstance(kind, LanesType):
        return value
    return _splat(builder, context.cast(builder, value, kind, types.uint32))


def _operator(function: Any, instruction: str) -> None:
    """Let an operator of two vectors, or a vector and a scalar, be one LLVM instruction."""

    @infer_global(function)
    class Typing(AbstractTemplate):
        def generic(self, args: Any, keywords: Any) -> Any:
            left, right = args
            if isinstance(left, LanesType) and isinstance(right, (LanesType, types.Integer)):
                return signature(lanes, left, right)
            return None

    def generate(context: Any, builder: Any, types_: Any, args: Any) -> Any:
        left, right = args
        return getattr(builder, instruction)(
            left, _as_lanes(context, builder, right, types_.args[1])
        )

    lower_builtin(function, LanesType, LanesType)(generate)
    lower_builtin(function, LanesType, types.Integer)(generate)


for _function, _name in (
    (operator.and_, "and_"),
    (operator.or_, "or_"),
    (operator.xor, "xor"),
    (operator.add, "add"),
    (operator.sub, "sub"),
    (operator.mul, "mul"),
    (operator.lshift, "shl"),
    (operator.rshift, "lshr"),
):
    _operator(_function, _name)


@intrinsic
def load(typing_context: Any, row: Any, offset: Any) -> Any:
    """Eight lanes from a contiguous uint32 array, starting at `offset`."""

    def generate(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        return builder.load(_address(context, builder, signature, args), align=4)

    return lanes(row, types.intp), generate


@intrinsic
def store(typing_context: Any, row: Any, offset: Any, value: Any) -> Any:
    """Write eight lanes to a contiguous uint32 array, starting at `offset`."""

    def generate(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        builder.store(args[2], _address(context, builder, signature, args), align=4)
        return context.get_dummy_value()

    return types.void(row, types.intp, lanes), generate


def _address(context: Any, builder: Any, signature: Any, args: Any) -> Any:
    array = context.make_array(signature.args[0])(context, builder, args[0])
    return builder.bitcast(builder.gep(array.data, [args[1]]), _VECTOR.as_pointer())


def _shuffle(pattern: list[int]) -> Any:
    """An intrinsic that takes lane pattern[i] for lane i."""

    @intrinsic
    def apply(typing_context: Any, value: Any) -> Any:
        def generate(context: Any, builder: Any, signature: Any, args: Any) -> Any:
            mask = ir.Constant(_VECTOR, pattern)
            return builder.shuffle_vector(args[0], ir.Constant(_VECTOR, ir.Undefined), mask)

        return lanes(value), generate

    return apply


next_lane = _shuffle([1, 2, 0, 3, 5, 6, 4, 7])
"""Lanes 0, 1, 2 of each half take lanes 1, 2, 0."""
previous_lane = _shuffle([2, 0, 1, 3, 6, 4, 5, 7])
"""Lanes 0, 1, 2 of each half take lanes 2, 0, 1."""
swap_halves = _shuffle([4, 5, 6, 7, 0, 1, 2, 3])
"""The two halves of four lanes change places."""


@intrinsic
def constant(typing_context: Any, values: Any) -> Any:
    """Eight lanes from a tuple of eight integers."""

    def generate(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        result = ir.Constant(_VECTOR, ir.Undefined)
        for lane in range(LANES):
            scalar = builder.extract_value(args[0], lane)
            scalar = context.cast(builder, scalar, signature.args[0][lane], types.uint32)
            result = builder.insert_element(result, scalar, _I32(lane))
        return result

    return lanes(values), generate


@intrinsic
def any_bit(typing_context: Any, value: Any) -> Any:
    """Whether some bit of some lane is set."""

    def generate(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        set_lanes = builder.icmp_unsigned("!=", args[0], ir.Constant(_VECTOR, [0] * LANES))
        mask = builder.bitcast(set_lanes, ir.IntType(LANES))
        return builder.icmp_unsigned("!=", mask, ir.IntType(LANES)(0))

    return types.boolean(value), generate


@intrinsic
def lane(typing_context: Any, value: Any, number: Any) -> Any:
    """One lane as a 64-bit integer; `number` is 0 to 7."""

    def generate(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        index = builder.trunc(args[1], _I32)
        return builder.zext(builder.extract_element(args[0], index), ir.IntType(64))

    return types.int64(value, types.intp), generate
