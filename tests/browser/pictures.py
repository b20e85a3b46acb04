"""Screenshots for the docs, taken on the way by the tests that have the page open.

Made anew with::

    GRIDCRUX_PICTURES=docs/pictures python -m pytest tests/browser
"""

from __future__ import annotations

import os
from io import BytesIO
from pathlib import Path
from typing import Any

from PIL import Image

FOLDER = "GRIDCRUX_PICTURES"


def keep(tab: Any, name: str) -> None:
    """Keep what is on the screen, if the environment says where."""
    folder = os.environ.get(FOLDER)
    if not folder:
        return
    shown = Image.open(BytesIO(tab.screenshot())).convert("RGB")
    # There are few colours; a table of them makes the file a third as long.
    few = shown.quantize(64, Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
    few.save(Path(folder) / f"{name}.png", optimize=True)
