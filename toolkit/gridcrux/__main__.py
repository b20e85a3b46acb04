"""`python -m gridcrux` is the command `gridcrux`."""

from gridcrux.cli import main

if __name__ == "__main__":
    main()
