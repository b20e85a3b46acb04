"""The widget in a real JupyterLab: a slider moved, a digit marked, a claim asked and answered."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.error import URLError
from urllib.request import urlopen

import nbformat
import pytest
from axe_playwright_python.sync_playwright import Axe

import gridcrux
from browser.pictures import keep
from gridcrux.grids.text import read_puzzle
from gridcrux.techniques.repertoires import LEVELS
from gridcrux.techniques.solve import route

PUZZLE = ".67.....1...7...963........4.1.....5......1...5.6.9.2.....4625....138.6......2..3"

CELL = f"""
from gridcrux.figures.widget import step_through
from gridcrux.grids.text import read_puzzle
from gridcrux.techniques.repertoires import LEVELS

step_through(read_puzzle("{PUZZLE}"), LEVELS["fish"])
"""

PATIENCE = 60_000
"""Milliseconds until what is waited for counts as missing: compiling may come first."""

QUIET = {
    "@jupyterlab/apputils-extension/notification.jupyterlab-settings": {
        "fetchNews": "false",
        "checkForUpdates": False,
    }
}
"""Settings with which JupyterLab asks nothing of the network, and no question."""


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def wait_for(address: str, server: subprocess.Popen[bytes], log: Path) -> None:
    deadline = time.monotonic() + PATIENCE / 1000
    while time.monotonic() < deadline:
        assert server.poll() is None, log.read_text()
        try:
            with urlopen(f"{address}/api", timeout=5):
                return
        except URLError:
            time.sleep(0.1)
    raise AssertionError(f"JupyterLab did not start: {log.read_text()}")


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a JupyterLab with a notebook; its files are all in a folder of its own."""
    home = tmp_path_factory.mktemp("lab")
    for name, content in QUIET.items():
        path = home / "settings" / name
        path.parent.mkdir(parents=True)
        path.write_text(json.dumps(content))
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(CELL.strip())])
    notebook.metadata.kernelspec = {"name": "python3", "display_name": "Python 3"}
    (home / "work").mkdir()
    nbformat.write(notebook, home / "work" / "steps.ipynb")
    port, log = free_port(), home / "log"
    own = ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR", "IPYTHONDIR")
    folders = {name: str(home / name.lower()) for name in own}
    # The kernel works in another folder, with the package that is tested here.
    folders["PYTHONPATH"] = str(Path(gridcrux.__file__).parents[1])
    folders["JUPYTERLAB_SETTINGS_DIR"] = str(home / "settings")
    folders["JUPYTERLAB_WORKSPACES_DIR"] = str(home / "workspaces")
    command = [
        *(sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root"),
        *("--ServerApp.ip=127.0.0.1", f"--ServerApp.port={port}", "--ServerApp.port_retries=0"),
        *("--IdentityProvider.token=", "--ServerApp.password=", "--ServerApp.open_browser=False"),
        *(f"--ServerApp.root_dir={home / 'work'}", "--LabApp.extension_manager=readonly"),
    ]
    with log.open("wb") as output:
        server = subprocess.Popen(
            command, env={**os.environ, **folders}, stdout=output, stderr=output
        )
        try:
            address = f"http://127.0.0.1:{port}"
            wait_for(address, server, log)
            yield address
        finally:
            # The server ends its kernels when it is asked to end.
            server.terminate()
            try:
                server.wait(20)
            except subprocess.TimeoutExpired:
                server.kill()
                server.wait()


@pytest.fixture(scope="module")
def notebook(browser: Any, lab: str) -> Iterator[Any]:
    """The notebook with its cell executed."""
    tab = browser.new_page(viewport={"width": 1200, "height": 900})
    tab.set_default_timeout(PATIENCE)
    tab.asked = []
    tab.on("request", lambda request: tab.asked.append(request.url))
    tab.goto(f"{lab}/doc/tree/steps.ipynb")
    tab.locator(".jp-Notebook .jp-CodeCell .cm-content").first.click()
    tab.get_by_text("| Idle").first.wait_for()
    tab.keyboard.press("Shift+Enter")
    tab.locator(".jp-OutputArea-output svg").first.wait_for()
    yield tab
    tab.close()


def title(tab: Any) -> str:
    """What the picture is called."""
    return tab.locator(".jp-OutputArea-output svg title").first.text_content()


def step_shown(tab: Any, number: int) -> None:
    tab.locator(".jp-OutputArea-output b", has_text=f"Step {number} of").wait_for()


@pytest.fixture(scope="module")
def steps() -> Any:
    return route(read_puzzle(PUZZLE), LEVELS["fish"])


def test_the_keyboard_moves_the_slider(notebook: Any, steps: Any) -> None:
    step_shown(notebook, 1)
    handle = notebook.locator(".noUi-handle").first
    handle.focus()
    for _ in range(2):
        notebook.keyboard.press("ArrowRight")
    step_shown(notebook, 3)
    assert title(notebook).endswith(steps.steps[2].technique)
    assert steps.steps[2].sentence in notebook.locator(".jp-OutputArea-output").inner_text()


def test_the_buttons_go_on_and_back(notebook: Any) -> None:
    notebook.get_by_role("button", name="on", exact=True).press("Enter")
    step_shown(notebook, 4)
    notebook.get_by_role("button", name="back", exact=True).press("Enter")
    step_shown(notebook, 3)
    notebook.get_by_role("button", name="back", exact=True).click()
    notebook.get_by_role("button", name="back", exact=True).click()
    step_shown(notebook, 1)
    # From the state of the model and not of the moment.
    notebook.wait_for_function(
        "() => [...document.querySelectorAll('.jp-OutputArea-output button')]"
        ".some(button => button.textContent === 'back' && button.disabled)"
    )


def test_digits_are_marked(notebook: Any) -> None:
    strokes = notebook.locator(".jp-OutputArea-output g.highlight rect")
    frames = notebook.locator(".jp-OutputArea-output g.highlight-cell rect")
    assert strokes.count() == 0
    notebook.get_by_role("checkbox", name="7", exact=True).press("Space")
    strokes.first.wait_for()
    # As strokes, a stroke for each 7, and as frames, one for each blank cell.
    state = read_puzzle(PUZZLE)
    sevens = state.open >> 6 * 81 & (1 << 81) - 1
    assert strokes.count() == sevens.bit_count()
    notebook.get_by_label("mark", exact=True).select_option("cells with any of them")
    frames.first.wait_for()
    assert frames.count() == (sevens & ~state.placed).bit_count() < sevens.bit_count()
    assert strokes.count() == 0
    notebook.get_by_role("checkbox", name="7", exact=True).press("Space")
    frames.first.wait_for(state="detached")


def test_claims_are_answered(notebook: Any) -> None:
    claim = notebook.get_by_label("claim", exact=True)
    output = notebook.locator(".jp-OutputArea-output").first
    claim.fill("r1c1=2")
    claim.press("Enter")
    output.get_by_text("r1c1=2 is not forced: there is a solution with r1c1=8.").wait_for()
    claim.fill("r3c5!=2")
    notebook.get_by_role("button", name="is it forced?").click()
    output.get_by_text("r3c5!=2 is forced.").wait_for()
    output.get_by_text("Checked by DRAT check").wait_for()
    keep(notebook, "notebook_widget")
    claim.fill("r3c5")
    claim.press("Enter")
    output.get_by_text("expected one like r4c2=1 or r4c2!=1").wait_for()


def test_every_control_has_a_name(notebook: Any) -> None:
    found = Axe().run(notebook, context=".jp-OutputArea-output")
    # The handle of a slider of ipywidgets has none; so the number of the step is a field as well.
    nameless = [node["html"] for each in found.response["violations"] for node in each["nodes"]]
    assert all('class="noUi-handle' in html for html in nameless), found.generate_report()
    number = notebook.get_by_label("number", exact=True)
    number.fill("2")
    number.press("Enter")
    step_shown(notebook, 2)


def test_nothing_is_asked_of_the_network(notebook: Any, lab: str) -> None:
    local = (lab, "data:", "blob:")
    assert [url for url in notebook.asked if not url.startswith(local)] == []
