"""A browser for the tests, without a screen; they are skipped where there is none."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from typing import Any

import pytest

PROGRAMS = ("chromium", "chromium-browser", "google-chrome")

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Chromium, which has a folder for its settings of its own and is ended afterwards."""
    program = next(filter(None, map(shutil.which, PROGRAMS)), None)
    if program is None:
        pytest.skip("there is no Chromium: apt-get install chromium")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=program, args=ARGUMENTS)
        try:
            yield started
        finally:
            started.close()
