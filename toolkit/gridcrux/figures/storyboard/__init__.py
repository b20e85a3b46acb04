"""A storyboard: the walk through a puzzle that someone explains from, part by part."""

from gridcrux.figures.storyboard.story import Part, Storyboard, storyboard

__all__ = ["Part", "Storyboard", "storyboard"]
