"""The command `techniques`: what there is to know, and in which level it comes."""

from __future__ import annotations

from gridcrux.cli.inputs import AsJson, LevelName, repertoire_of
from gridcrux.cli.output import console, plural, print_json, table


def techniques(level: LevelName = None, as_json: AsJson = False) -> None:
    """List the techniques of a level, or all, with the level in which each comes first."""
    repertoire = repertoire_of(None, None, None, level or "everything")
    from gridcrux.techniques.repertoires import LEVELS

    home = {
        technique.name: next(name for name, each in LEVELS.items() if technique in each)
        for technique in repertoire
    }
    rows = [
        {
            "technique": technique.name,
            "level": home[technique.name],
            "width": technique.width,
            "any_length": technique.any_length,
            "assumes_unique": technique.assumes_unique,
            "fact": technique.fact,
        }
        for technique in repertoire
    ]
    if as_json:
        print_json({"techniques": rows, "levels": {n: list(r.names) for n, r in LEVELS.items()}})
        return
    out = console()
    out.print(f"{plural(len(rows), 'technique')}, the easiest to spot first")
    shown = table("technique", "from level", ("width", {"justify": "right"}), "what it says")
    for row in rows:
        width = f"{row['width']}+" if row["any_length"] else str(row["width"])
        shown.add_row(str(row["technique"]), str(row["level"]), width, str(row["fact"]))
    out.print(shown)
    out.print("width: rules to look up at once; +: or more", style="dim")
