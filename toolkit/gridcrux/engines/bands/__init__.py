"""Counts every 9x9 state exactly, by joining its three bands: for where there is too much to list.

Source of the idea: Felgenhauer & Jarvis, "Enumerating possible Sudoku grids", 2005, who fill the
empty grid band by band; here the bands have givens, or any other candidates closed.
"""
