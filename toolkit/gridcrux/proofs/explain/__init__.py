"""Smallest explanations: the fewest rules to look up, for a claim and for a whole puzzle."""
