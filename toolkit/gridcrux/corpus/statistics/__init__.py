"""What studies say: rates, comparisons, pairs of techniques, curves of what is solved, effort.

Every function takes the frame of a study and gives back a DataFrame whose columns are explained
beside it.  Where the frame has a column `weight` the puzzles count by it, and where it has a
column `group` the puzzles of a group are taken to depend on each other (`weighting`).
"""
