"""The compiled kernel: counts, solutions and support for every layout, without a solver library."""

from gridcrux.engines.kernel.engine import KernelEngine

__all__ = ["KernelEngine"]
