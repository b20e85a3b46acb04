"""Every notebook runs from top to bottom, is small, is listed, and holds no definitions."""

from __future__ import annotations

import re
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

FOLDER = Path(__file__).parents[2] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))

MAY_DEFINE = {"your_own_technique": 1}
"""How many functions a notebook may define: a technique of one's own is a function."""


def test_the_list_has_every_notebook_under_its_title():
    listed = re.findall(r"^\d+\. \[(.+)\]\((.+)\)", (FOLDER / "README.md").read_text(), re.M)
    titles = {path.name: nbformat.read(path, as_version=4).cells[0].source for path in NOTEBOOKS}
    assert len(listed) >= 11
    assert sorted((name, title) for title, name in listed) == sorted(
        (name, source.split("\n")[0].removeprefix("# ")) for name, source in titles.items()
    )


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_notebook(path):
    assert path.stat().st_size < 300_000
    notebook = nbformat.read(path, as_version=4)
    sources = [cell.source for cell in notebook.cells if cell.cell_type == "code"]
    lines = [line for source in sources for line in source.split("\n")]
    definitions = [line for line in lines if re.match(r"\s*(async )?(def|class)\b", line)]
    assert len(definitions) == MAY_DEFINE.get(path.stem, 0)
    assert "assert" in sources[-1]
    NotebookClient(
        notebook, timeout=120, kernel_name="python3", resources={"metadata": {"path": path.parent}}
    ).execute()
