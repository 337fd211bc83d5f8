"""The example books: which files of the demo season they are. Run it to renew them."""

import shutil
import sys
import tempfile
from pathlib import Path

from fieldbook.demo import run_demo

EXAMPLES = {
    "roster.xlsx": "roster.xlsx",
    "season.toml": "season.toml",
    "weather.csv": "weather/marrow-creek.csv",
    "blank-quick.xlsx": "blank/kernel-count/joss.xlsx",
    "filled-full.xlsx": "incoming/taken/kernel count ana.xlsx",
    "filled-quick-with-mistakes.xlsx": "incoming/taken/kernel count joss.xlsx",
    "report-D15.html": "reports/D15-schoolhouse-eighty.html",
    "report-T04.html": "reports/T04-cemetery-corner.html",
}
FOLDER = Path(__file__).parent.parent / "example_books"


def made_now(folder: Path) -> dict[str, Path]:
    """Make the demo season in `folder`; return where each example lies in it."""
    for _ in run_demo(folder):
        pass
    return {name: folder / place for name, place in EXAMPLES.items()}


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place:
        for name, path in made_now(Path(place) / "demo").items():
            shutil.copyfile(path, FOLDER / name)
            sys.stdout.write(f"{name}\n")
