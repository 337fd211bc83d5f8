"""Run the commands as ``python -m fieldbook``."""

from fieldbook.cli import main

if __name__ == "__main__":
    main(prog_name="silkbook")
