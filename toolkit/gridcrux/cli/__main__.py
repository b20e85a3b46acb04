"""`python -m gridcrux.cli` is the command `gridcrux`."""

from gridcrux.cli import main

main()
