"""The benchmarks are scripts and no package: their folder is put where imports look last."""

import sys
from pathlib import Path

sys.path.append(str(Path(__file__).parents[2] / "benchmarks"))
