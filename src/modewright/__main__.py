"""Run the command line with ``python -m modewright``."""

from modewright.cli.main import main

if __name__ == "__main__":
    main()
