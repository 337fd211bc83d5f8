"""The pictures of the README: a sheet of a book, a page of a report, the board."""

import io
import subprocess
import tempfile
from pathlib import Path

from browser import Browser
from office import Office
from PIL import Image
from pypdf import PdfReader

WIDTH = 900
_COLOURS = 200  # a page has few; the file is a third of the size
_WINDOW = (1280, 1150)  # px; wide enough for the board's table


def book_picture(office: Office, book: Path, sheet: str, picture: Path) -> None:
    """Draw the first printed page of `sheet`."""
    with tempfile.TemporaryDirectory() as place:
        printed = office.pdf(book, Path(place) / "book.pdf")
        _save(_page(printed, _page_of(printed, sheet)), picture)


def report_picture(printed: Path, picture: Path) -> None:
    """Draw the first page of a report."""
    _save(_page(printed, 1), picture)


def page_picture(page: Path, picture: Path) -> None:
    """Draw the top of a web page as a desktop browser shows it."""
    with Browser() as browser:
        shot = browser.open(page, width=_WINDOW[0], height=_WINDOW[1]).screenshot()
    _save(Image.open(io.BytesIO(shot)), picture)


def _page_of(printed: Path, sheet: str) -> int:
    """Find the first page of a sheet: under the running head its text begins with its name."""
    for number, page in enumerate(PdfReader(printed).pages, start=1):
        _, *lines = page.extract_text().split("\n")
        if lines and lines[0].startswith(f"{sheet}."):
            return number
    raise ValueError(f"'{printed.name}' has no page of sheet '{sheet}'")


def _page(printed: Path, number: int) -> Image.Image:
    """Draw one page of a PDF, twice as wide as wanted: small letters keep their shape."""
    with tempfile.TemporaryDirectory() as place:
        stem = Path(place) / "page"
        command = ["pdftoppm", "-png", "-singlefile", "-scale-to-x", str(2 * WIDTH)]
        command += ["-scale-to-y", "-1", "-f", str(number), str(printed), str(stem)]
        subprocess.run(command, check=True, capture_output=True, timeout=120)
        image = Image.open(stem.with_suffix(".png"))
        image.load()
        return image


def _save(image: Image.Image, picture: Path) -> None:
    size = (WIDTH, round(WIDTH * image.height / image.width))
    small = image.convert("RGB").resize(size, Image.Resampling.LANCZOS)
    small.quantize(_COLOURS, Image.Quantize.MAXCOVERAGE).save(picture, optimize=True)
