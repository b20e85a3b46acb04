"""How answers reach people: JSON, framed boards, tables, and single lines on standard error."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, TextIO, cast

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    from gridcrux.grids.layout import Layout
    from gridcrux.grids.state import State

_CORNERS = " ╵╷│╴┘┐┤╶└┌├─┴┬┼"
"""Where lines meet, by the sum of 1 for one above, 2 below, 4 on the left, 8 on the right."""

_PLAIN_CORNERS = " |||-+++-+++-+++"


UNKNOWN = 3
"""Exit status where the time was not enough to tell yes from no."""

INTERRUPTED, UNREAD = 130, 141
"""Exit statuses that a shell gives to a process ended by Ctrl-C, or whose output nobody reads."""


def tell(message: str) -> None:
    """One line on standard error."""
    print(f"gridcrux: {message}", file=sys.stderr, flush=True)


def tell_interrupted(error: KeyboardInterrupt | None) -> None:
    """That Ctrl-C was pressed, and how far the work was, if that is known."""
    at = str(error or "")
    tell(f"interrupted at: {at}" if at else "interrupted")


def print_json(value: Any) -> None:
    print(json.dumps(value))


def console() -> Console:
    """Standard output for text with styles; plain, and never wrapped, where it is no terminal."""
    from rich.console import Console

    class Out(Console):
        def on_broken_pipe(self) -> None:
            raise BrokenPipeError

    if sys.stdout.isatty():
        return Out(highlight=False, emoji=False)
    return Out(highlight=False, emoji=False, width=10_000, file=cast(TextIO, _Trimmed(sys.stdout)))


class _Trimmed(io.TextIOBase):
    """Standard output without the blanks that fill up the lines of tables."""

    def __init__(self, out: TextIO) -> None:
        self._out = out

    @property
    def encoding(self) -> str:  # type: ignore[override]
        return self._out.encoding

    def write(self, text: str) -> int:
        # What is printed comes whole.
        self._out.write("\n".join(line.rstrip(" ") for line in text.split("\n")))
        return len(text)

    def flush(self) -> None:
        self._out.flush()


def can_draw() -> bool:
    """Whether standard output can hold the characters of frames."""
    try:
        (_CORNERS + "·").encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def table(*columns: str | tuple[str, dict[str, Any]]) -> Table:
    """An empty table with a line below its head."""
    from rich import box
    from rich.table import Table

    made = Table(box=box.SIMPLE_HEAD if can_draw() else box.ASCII2, pad_edge=False)
    for column in columns:
        name, look = (column, {}) if isinstance(column, str) else column
        made.add_column(name, **look)
    return made


def board(state: State, *, candidates: bool = False) -> Text:
    """The written digits of a state in a frame, givens in bold; perhaps open candidates too."""
    from rich.text import Text

    from gridcrux.grids.layout import SYMBOLS

    blank = "·" if can_draw() else "."
    cells = []
    for cell in range(state.layout.cells):
        look, text = "dim", blank
        if state.placed >> cell & 1:
            look = "bold" if state.givens >> cell & 1 else "cyan"
        if look != "dim" or candidates:
            text = "".join(SYMBOLS[digit - 1] for digit in state.digits_of(cell)) or "!"
        cells.append(Text(text, look))
    return framed(state.layout, cells)


def framed(layout: Layout, cells: Sequence[Text]) -> Text:
    """n*n short texts as a square, with the borders of its regions and the names of its lines."""
    from rich.text import Text

    from gridcrux.figures.outlines import borders

    n = layout.size
    corners = _CORNERS if can_draw() else _PLAIN_CORNERS
    right, below = borders(layout)
    width = max(len(str(n)), *(len(cell) for cell in cells))

    def upright(row: int, line: int) -> bool:
        """Whether there is a line left of column `line` in a row."""
        return 0 <= row < n and (line in (0, n) or row * n + line - 1 in right)

    def level(line: int, column: int) -> bool:
        """Whether there is a line above row `line` in a column."""
        return 0 <= column < n and (line in (0, n) or (line - 1) * n + column in below)

    upright_lines = [i for i in range(n + 1) if any(upright(row, i) for row in range(n))]
    level_lines = [i for i in range(n + 1) if any(level(i, column) for column in range(n))]
    edge = len(f"r{n}") + 1
    text = Text(" " * edge)
    for column in range(n):
        text.append(" " if column in upright_lines else "")
        text.append(f" c{column + 1}".ljust(width + 2), "dim")
    for row in range(n + 1):
        if row in level_lines:
            text.append("\n" + " " * edge)
            for line in range(n + 1):
                if line in upright_lines:
                    meeting = (
                        upright(row - 1, line)
                        + 2 * upright(row, line)
                        + 4 * level(row, line - 1)
                        + 8 * level(row, line)
                    )
                    text.append(corners[meeting], "dim")
                if line < n:
                    text.append(corners[12 * level(row, line)] * (width + 2), "dim")
        if row == n:
            break
        text.append("\n" + f"r{row + 1}".ljust(edge), "dim")
        for line in range(n + 1):
            if line in upright_lines:
                text.append(corners[3 * upright(row, line)], "dim")
            if line < n:
                cell = cells[row * n + line]
                text.append(" ").append_text(cell).append(" " * (width - len(cell) + 1))
    return text


class Interrupted(KeyboardInterrupt):
    """Ctrl-C in long work; the message is what it said last about how far it is."""


@contextmanager
def meter() -> Iterator[Callable[[str], None]]:
    """A line on a terminal that says how far long work is, with the time it has taken.

    Raises
    ------
    Interrupted : Ctrl-C was pressed.
    """
    from tqdm import tqdm

    said = ""
    with tqdm(bar_format="{desc} ({elapsed})", leave=False, disable=None) as line:

        def show(text: str) -> None:
            nonlocal said
            said = text
            line.set_description_str(text)
            line.refresh()

        try:
            yield show
        except KeyboardInterrupt:
            raise Interrupted(said) from None


def print_beside(out: Console, *parts: Text | Table) -> None:
    """Print things beside each other where there is room, else one below the other."""
    from rich.table import Table

    gap = 4
    needed = sum(out.measure(part).maximum + gap for part in parts)
    if needed - gap > out.width:
        out.print(*parts, sep="\n")
        return
    grid = Table.grid(padding=(0, gap, 0, 0))
    grid.add_row(*parts)
    out.print(grid)


def plural(number: int, word: str) -> str:
    """A number with its noun.

    >>> plural(1, "step"), plural(1200, "step")
    ('1 step', '1,200 steps')
    """
    return f"{number:,} {word}{'' if number == 1 else 's'}"


def listed(names: Iterable[str]) -> str:
    """Names with commas, or 'none'."""
    return ", ".join(names) or "none"
