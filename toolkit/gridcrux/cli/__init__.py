"""The command `gridcrux`: parse, call, print."""

from __future__ import annotations

import gc


def main() -> None:
    """Run the command line; ends the process with its exit status."""
    # Loading modules makes a great many objects and hardly any garbage.
    gc.set_threshold(100_000)
    try:
        from gridcrux.cli.program import program

        program(prog_name="gridcrux")
    except KeyboardInterrupt:
        # Only an interrupt while the modules load gets here; commands handle theirs.
        raise SystemExit(130) from None
