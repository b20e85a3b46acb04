"""Measure many puzzles, a row each, on one machine or on many."""

from gridcrux.corpus.study.folder import StudyExists
from gridcrux.corpus.study.needs import Needs
from gridcrux.corpus.study.run import StudyRun, study, study_files
from gridcrux.corpus.workers import WorkersLost

__all__ = ["Needs", "StudyExists", "StudyRun", "WorkersLost", "study", "study_files"]
