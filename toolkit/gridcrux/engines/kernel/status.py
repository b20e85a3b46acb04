"""What a propagation finds."""

DEAD = 0
"""A contradiction."""
OPEN = 1
"""No contradiction, and something left to decide."""
SOLVED = 2
"""One digit in every cell, with every rule kept."""
