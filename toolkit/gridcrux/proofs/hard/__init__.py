"""The hard part of a puzzle: how few hard steps it takes, where it is narrow, and ways round."""
