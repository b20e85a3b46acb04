"""Every notebook runs from top to bottom, is small, and holds no definitions."""

from __future__ import annotations

from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

NOTEBOOKS = sorted((Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))


def test_there_are_notebooks():
    assert NOTEBOOKS


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_notebook(path):
    assert path.stat().st_size < 300_000
    notebook = nbformat.read(path, as_version=4)
    sources = [cell.source for cell in notebook.cells if cell.cell_type == "code"]
    assert not any(line.startswith(("def ", "class ")) for s in sources for line in s.split("\n"))
    assert "assert" in sources[-1]
    NotebookClient(
        notebook, timeout=120, kernel_name="python3", resources={"metadata": {"path": path.parent}}
    ).execute()
