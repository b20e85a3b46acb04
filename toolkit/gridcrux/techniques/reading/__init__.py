"""Read a chain out of a bare premise set: an order of its rules in which each turns the next.

Theorem.  A strong link A = B says that one of two nodes (sets of candidates) holds a true one.
Let (A1 = B1), ..., (An = Bn) be strong links such that every candidate of Bi conflicts with
every candidate of Ai+1.  Then what conflicts with all of A1 and with all of Bn is false.  If
Bn conflicts with A1 too, the chain is a loop, and what conflicts with both nodes of any of
these weak links is false.

Why.  Were it true, A1 would hold nothing, so B1 would hold the true one, so A2 would hold
nothing, and so on to Bn, which excludes it.  Round a loop, one node of each weak link is true.

A strong link is a rule whose open candidates are split in two: a cell with two digits, a digit
with two places in a house, or with places in two groups that each lie in a second house.  Or it
is an almost locked set: k cells of a house with k + 1 digits, which miss at most one of these,
so that one digit's candidates are a node and another's the other.  In a loop such a set misses
one of its two nodes, so it keeps its other digits, which fall where they see all of theirs.

Nothing here knows how a chain was found; it sees rule numbers and open candidates.
"""

from __future__ import annotations

from gridcrux.techniques.reading.chain import Chain, chains, loops, read_chain
from gridcrux.techniques.reading.links import Link, seen_from

__all__ = ["Chain", "Link", "chains", "loops", "read_chain", "seen_from"]
