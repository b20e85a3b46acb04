"""Small pictures of the suite's tables."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from matplotlib import pyplot as plt
from matplotlib.axes import Axes


def save(path: Path, draw: Callable[[Axes], Axes]) -> None:
    """Draw on new axes and write a small png."""
    figure, axes = plt.subplots(figsize=(6.4, 3.8))
    draw(axes)
    figure.savefig(path, bbox_inches="tight", dpi=100)
    plt.close(figure)
