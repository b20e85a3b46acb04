"""The command `shortlist`: puzzles of a study for a lesson or a series."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gridcrux.cli.inputs import AsJson, BadInput
from gridcrux.cli.output import console, plural, print_json, table, tell
from gridcrux.cli.prepare import prepare

if TYPE_CHECKING:
    from gridcrux.corpus.shortlist import Shortlist


def shortlist(
    study: Annotated[
        Path, typer.Argument(metavar="STUDY", help="Folder that 'gridcrux study' made.")
    ],
    where: Annotated[
        str | None,
        typer.Option(
            metavar="CONDITION",
            help="What holds of the columns, as in pandas: 'givens <= 24 and hard_steps == 1'. "
            "There are and, or, not, in [...], comparisons, + - * /, .isna(), .notna(), "
            ".str.contains('...'), .str.startswith('...') and .str.endswith('...').",
            show_default=False,
        ),
    ] = None,
    essential: Annotated[
        list[str] | None,
        typer.Option(metavar="TECHNIQUE", help="The puzzle cannot do without it; may be repeated."),
    ] = None,
    none_harder: Annotated[
        bool,
        typer.Option(
            "--none-harder",
            help="No step is harder than the essential technique, in the order of the study.",
        ),
    ] = False,
    one_crux: Annotated[
        bool,
        typer.Option("--one-crux", help="One step that is no placement, or one narrow place."),
    ] = False,
    no_uniqueness: Annotated[
        bool,
        typer.Option(
            "--no-uniqueness", help="No step assumes that the puzzle has exactly one solution."
        ),
    ] = False,
    symmetric: Annotated[
        str | None,
        typer.Option(
            metavar="NAME",
            help="Symmetry of the pattern of givens: half-turn, diagonal, any, ...",
            show_default=False,
        ),
    ] = None,
    unlike: Annotated[
        list[str] | None,
        typer.Option(
            metavar="FILE",
            help="Nothing that is, up to symmetry, in this list of used puzzles; may be repeated.",
        ),
    ] = None,
    order_by: Annotated[
        list[str] | None,
        typer.Option(
            metavar="COLUMN",
            help="The least first; '-COLUMN' for the most first. May be repeated; without it, or "
            "among equals, the seed decides.",
        ),
    ] = None,
    top: Annotated[int, typer.Option(min=1, metavar="N", help="How many at most.")] = 10,
    seed: Annotated[int, typer.Option(min=0, metavar="S", help="Which of equal ones.")] = 0,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="Also write them with all columns as CSV.", show_default=False
        ),
    ] = None,
    add_to: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="Add them to this list of used puzzles, which counts as --unlike too; it is made "
            "if it is missing.",
            show_default=False,
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Choose puzzles of a study that meet all conditions, no two of them alike.

    It always tells how many puzzles each condition left over. Puzzles are alike if exchanging
    rows, columns, digits and so on turns one into the other. Only puzzles with one solution are
    taken, unless --where speaks of 'solutions'. Exit status 1 if there is none.
    """
    prepare("shortlist")
    from gridcrux.corpus.rows import NoStudy, UnknownColumn
    from gridcrux.corpus.shortlist import choose
    from gridcrux.corpus.shortlist.queries import BadQuery
    from gridcrux.corpus.shortlist.used import append_used
    from gridcrux.corpus.shortlist.wishes import BadWish
    from gridcrux.grids.sources import PuzzleError
    from gridcrux.logic.repertoire import UnknownTechnique

    if out is not None and out.exists():
        raise BadInput(f"--out {out}: it exists; remove it, or name another file")
    used = [*(unlike or []), *([str(add_to)] if add_to and add_to.exists() else [])]
    try:
        found = choose(
            study,
            where=where,
            essential=essential,
            none_harder=none_harder,
            one_crux=one_crux,
            no_uniqueness=no_uniqueness,
            symmetric=symmetric,
            used=used,
            order_by=order_by,
            top=top,
            seed=seed,
            progress=True,
        )
        if out is not None:
            found.table.to_csv(out, index=False)
        if add_to is not None and len(found):
            append_used(add_to, found.as_dict()["puzzles"])
    except BadQuery as error:
        raise BadInput(f"--where {error}") from error
    except (UnknownColumn, UnknownTechnique, BadWish, NoStudy, PuzzleError) as error:
        raise BadInput(error) from error
    except OSError as error:
        raise BadInput(f"{error.filename or study}: {error.strerror or error}") from error
    if as_json:
        print_json(found.as_dict())
    else:
        _show(found)
        if out is not None:
            print(f"{plural(len(found), 'puzzle')} in {out}")
        if add_to is not None and len(found):
            print(f"{plural(len(found), 'puzzle')} added to {add_to}")
    raise typer.Exit(0 if len(found) else 1)


def _show(found: Shortlist) -> None:
    """The funnel, and then each puzzle with what is known of it."""
    out = console()
    weighted = bool(found.funnel["weighted_share"].notna().any())
    right = {"justify": "right"}
    shares: list[tuple[str, dict[str, Any]]] = [("weighted", right)] if weighted else []
    funnel = table(("puzzles", right), *shares, "condition")
    for row in found.funnel.to_dict("records"):
        share = row["weighted_share"]
        shown = [] if not weighted else ["" if share != share else f"{share:.2%}"]
        funnel.add_row(f"{row['left']:,}", *shown, row["condition"])
    out.print(funnel)
    for note in found.notes:
        tell(note)
    if not len(found):
        print("no puzzle meets all conditions")
    for number, row in enumerate(found.table.to_dict("records"), 1):
        about = [str(row["id"])] if "id" in row else []
        about += [plural(row["givens"], "given")] if "givens" in row else []
        out.print(f"{number}. {', '.join(about)}: {row['why']}", style="bold", markup=False)
        out.print(str(row["puzzle"]), markup=False, soft_wrap=True)
