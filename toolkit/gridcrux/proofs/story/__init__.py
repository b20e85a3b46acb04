"""An explanation told as an argument: what is supposed, what follows, and where it ends."""

from gridcrux.proofs.story.telling import NoExplanation, Story, tell

__all__ = ["NoExplanation", "Story", "tell"]
