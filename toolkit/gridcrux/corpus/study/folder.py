"""The folder of a study: parts that are there whole or not at all, so that a run can go on.

A part is written beside its place and then moved there, which happens at once or not at all.
Its rejects are written first, so a part that is there has them too.  Every part carries the
fingerprint of what it was measured from; a run that is started again leaves out the parts that
are there, whatever ended the run before.
"""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as parquet

from gridcrux.corpus.files import moved
from gridcrux.corpus.study.parts import Part
from gridcrux.grids.lines import Reject

MANIFEST = "manifest.json"
_KEY = b"gridcrux"


class StudyExists(ValueError):
    """The folder holds a study that was asked for in another way, or of other puzzles."""


class StudyFolder:
    """Takes parts as they are done, and knows which it has.

    Attributes
    ----------
    table : folder of the Parquet parts.
    rejects : CSV file of what was set aside, made when the run ends.
    """

    def __init__(self, folder: Path, manifest: dict[str, Any]) -> None:
        self.folder = folder
        self.table = folder / "table"
        self.rejects = folder / "rejects.csv"
        self.manifest = manifest
        self._set_aside = folder / "rejects"
        self._claim()

    def _claim(self) -> None:
        """Make the folder, or go on with the same study."""
        note = self.folder / MANIFEST
        if note.exists():
            before = json.loads(note.read_text(encoding="utf-8"))
            differs = [name for name in self.manifest if before.get(name) != self.manifest[name]]
            if differs:
                raise StudyExists(
                    f"{self.folder} holds a study of {', '.join(before.get('sources', []))} with "
                    f"other settings ({', '.join(differs)}); give another folder, or remove this"
                )
        elif self.table.exists() and any(self.table.iterdir()):
            raise StudyExists(f"{self.table} is not empty; give another folder, or remove it")
        for each in (self.table, self._set_aside):
            each.mkdir(parents=True, exist_ok=True)
        if not note.exists():
            self._write_manifest({"finished": False})

    def _write_manifest(self, more: dict[str, Any]) -> None:
        text = json.dumps(self.manifest | more, indent=2, ensure_ascii=False) + "\n"
        with moved(self.folder / MANIFEST) as target:
            target.write_text(text, encoding="utf-8")

    def has(self, number: int, part: Part) -> bool:
        """Whether a part is there, whole.

        Raises
        ------
        StudyExists : it is, but of other puzzles.
        """
        path = self._part(number)
        if not path.exists():
            return False
        note = json.loads(parquet.read_schema(path).metadata[_KEY])
        if note["fingerprint"] == part.fingerprint:
            return True
        if not note["whole"]:
            return False
        raise StudyExists(
            f"{part.tasks[0].source} is not what {path} was made of; give another folder, or "
            "remove this one"
        )

    def add(self, number: int, part: Part, frame: pd.DataFrame, whole: bool = True) -> None:
        """Write a part; one that is not `whole` has just some of its rows, until it is replaced."""
        rejects = self._set_aside / f"part-{number:05d}.csv"
        if part.rejects and whole:
            with moved(rejects) as target, target.open("w", newline="", encoding="utf-8") as file:
                csv.writer(file).writerows(part.rejects)
        note = {"fingerprint": part.fingerprint if whole else "", "whole": whole}
        table = pa.Table.from_pandas(frame, preserve_index=False)
        metadata = table.schema.metadata | {_KEY: json.dumps(note).encode()}
        with moved(self._part(number)) as target:
            parquet.write_table(table.replace_schema_metadata(metadata), target)

    def _part(self, number: int) -> Path:
        return self.table / f"part-{number:05d}.parquet"

    def close(self, sources: list[dict[str, Any]] | None, parts: int) -> None:
        """Gather the rejects, and note what the study has if it is finished.

        Parameters
        ----------
        sources : what was found in each; None if the run did not come to its end.
        parts : how many parts there are.

        Raises
        ------
        StudyExists : there are parts beyond the last one, of a source that was longer before.
        """
        with moved(self.rejects) as target, target.open("wb") as file:
            file.write((",".join(Reject._fields) + "\r\n").encode())
            for path in sorted(self._set_aside.glob("part-*.csv")):
                file.write(path.read_bytes())
        if sources is None:
            return
        # What runs that were killed left beside the parts.
        for left in self.table.glob(".part-*"):
            left.unlink()
        beyond = self._part(parts)
        if beyond.exists():
            raise StudyExists(
                f"{beyond} is of puzzles that are no longer in the sources; give another folder, "
                "or remove this one"
            )
        self._write_manifest({"finished": True, "found": sources})
