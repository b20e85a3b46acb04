"""Files that take their place whole, or not at all."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def moved(path: Path) -> Iterator[Path]:
    """A file to write beside its place, to which it is moved at once when it is done and on disk.

    One that is there is replaced, and hands on its permissions; if the writing fails it stays.
    """
    # Names with a dot before them are passed over by whoever reads the parts of a table.
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        yield beside
        with beside.open("rb") as file:
            os.fsync(file.fileno())
        if path.exists():
            shutil.copymode(path, beside)
        os.replace(beside, path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
