"""The example books: which files of the demo season they are. Run it to renew them.

Renewing needs LibreOffice, Chromium and poppler, as the tests do.
"""

import shutil
import sys
import tempfile
from pathlib import Path

from office import Office
from pictures import book_picture, page_picture, report_picture

from fieldbook.demo import run_demo

_TAKEN = "incoming/taken"
COPIED = {
    "roster.xlsx": "roster.xlsx",
    "season.toml": "season.toml",
    "weather.csv": "weather/marrow-creek.csv",
    "truth.json": "truth.json",
    "blank-roadside.xlsx": "blank/roadside/joss.xlsx",
    "blank-pollination.xlsx": "blank/pollination/joss.xlsx",
    "blank-kernel-count.xlsx": "blank/kernel-count/joss.xlsx",
    "blank-ripening.xlsx": "blank/ripening/joss.xlsx",
    "blank-harvest.xlsx": "blank/harvest/joss.xlsx",
    "filled-roadside.xlsx": f"{_TAKEN}/roadside joss.xlsx",
    "filled-kernel-count.xlsx": f"{_TAKEN}/kernel-count joss.xlsx",
    "filled-kernel-count-full.xlsx": f"{_TAKEN}/kernel-count ana.xlsx",
    "filled-harvest.xlsx": f"{_TAKEN}/harvest joss.xlsx",
    "plan.xlsx": "plan/plan.xlsx",
    "report-D15.html": "reports/D15-schoolhouse-eighty.html",
    "report-D16-july.html": "reports/D16-windmill-forty-july.html",
    "report-T04.html": "reports/T04-cemetery-corner.html",
    "report-B22.html": "reports/B22-behind-the-elevator-road.html",
    "harvest-order.html": "reports/harvest-order.html",
    "trial-hybrids.html": "reports/trial-hybrids.html",
    "settle.html": "reports/settle.html",
}
# Saved again by LibreOffice, as a book comes back from a scout who has no Excel.
SAVED_ELSEWHERE = {
    "filled-pollination-libreoffice.xlsx": f"{_TAKEN}/pollination joss.xlsx",
    "filled-ripening-libreoffice.ods": f"{_TAKEN}/ripening joss.xlsx",
}
PRINTED = {"report-D15.pdf": "reports/D15-schoolhouse-eighty.pdf"}
PICTURES = ("pictures/book.png", "pictures/report.png", "pictures/board.png")
FOLDER = Path(__file__).parent.parent / "example_books"


def make_demo(folder: Path, *, pdf: bool = True) -> None:
    """Make the demo season in `folder`."""
    for _ in run_demo(folder, pdf=pdf):
        pass


def renew(demo: Path) -> None:
    """Put every example in its place, from the demo season in `demo`."""
    for name, place in {**COPIED, **PRINTED}.items():
        shutil.copyfile(demo / place, FOLDER / name)
    book, report, board = (FOLDER / name for name in PICTURES)
    book.parent.mkdir(exist_ok=True)
    with Office() as office:
        for name, place in SAVED_ELSEWHERE.items():
            office.convert(demo / place, FOLDER / name)
        book_picture(office, FOLDER / "filled-kernel-count.xlsx", "Ears", book)
    report_picture(FOLDER / "report-D15.pdf", report)
    page_picture(demo / "reports" / "board.html", board)


def sweep() -> None:
    """Remove what is no example any more."""
    known = {"README.md", *COPIED, *SAVED_ELSEWHERE, *PRINTED, *PICTURES}
    for path in FOLDER.rglob("*"):
        if path.is_file() and path.relative_to(FOLDER).as_posix() not in known:
            path.unlink()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place:
        make_demo(Path(place) / "demo")
        renew(Path(place) / "demo")
    sweep()
    sys.stdout.write(f"Renewed {FOLDER}\n")
