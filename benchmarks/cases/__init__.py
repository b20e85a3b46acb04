"""The cases of the suite: what is compared, on which puzzles, and how it is told."""
