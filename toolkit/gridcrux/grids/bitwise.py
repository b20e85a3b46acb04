"""Counting bits and finding the lowest one, for compiled code: one instruction each."""

from __future__ import annotations

from typing import Any

from numba import types
from numba.extending import intrinsic


@intrinsic
def popcount(typing_context: Any, word: Any) -> Any:
    """Number of bits of an integer of at most 64 bits; a negative one counts as unsigned."""

    def build(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        count = builder.ctpop(arguments[0])
        return context.cast(builder, count, word, types.int64)

    return types.int64(word), build


@intrinsic
def lowest(typing_context: Any, word: Any) -> Any:
    """Position of the lowest bit of an integer; its width in bits if there is none."""

    def build(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        false = context.get_constant(types.boolean, False)
        count = builder.cttz(arguments[0], false)
        return context.cast(builder, count, word, types.int64)

    return types.int64(word), build
