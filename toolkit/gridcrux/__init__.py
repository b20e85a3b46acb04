"""Which deductions of a number-place puzzle are essential, and which redundant."""
