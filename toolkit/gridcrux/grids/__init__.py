"""Cells, houses, layouts, rules, candidates, and reading them from text."""
