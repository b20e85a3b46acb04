"""Choose puzzles of a study that meet some wishes."""

from gridcrux.corpus.shortlist.selection import Shortlist, choose, shortlist

__all__ = ["Shortlist", "choose", "shortlist"]
