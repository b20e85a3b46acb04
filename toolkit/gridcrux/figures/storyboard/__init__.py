"""A storyboard: the walk through a puzzle that someone explains from, part by part."""

from gridcrux.figures.storyboard.making import storyboard
from gridcrux.figures.storyboard.part import Part
from gridcrux.figures.storyboard.story import Storyboard

__all__ = ["Part", "Storyboard", "storyboard"]
