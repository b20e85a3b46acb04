"""Many puzzles: sample them, study them at scale."""
