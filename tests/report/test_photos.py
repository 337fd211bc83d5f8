"""Photos on a report: at most four, with what they show, inside the page itself."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from photographs import picture

from fieldbook.ledger.folder import digest
from fieldbook.report import field_page
from fieldbook.report.fewer import fewer_pictures
from fieldbook.report.photos import chosen, row_widths
from fieldbook.results.looks_result import PhotoResult
from report.factory import context, full


def photo(number: int, *, visit: str = "A1.PO1", remark: str | None = "Silks") -> PhotoResult:
    """Tell of one photo."""
    return PhotoResult(
        visit_id=visit,
        photo=number,
        day=date(2026, 7, 22),
        scout="Ana",
        stop=2,
        remark=remark,
        sha256=f"{visit}-{number}",
        width_px=400,
        height_px=300,
    )


def kept(folder: Path, number: int, **said: str | None) -> PhotoResult:
    """Keep a picture and tell of it."""
    data = picture(shade=number)
    found = replace(photo(number, **said), sha256=digest(data))  # type: ignore[arg-type]
    (folder / f"{found.sha256}.jpg").write_bytes(data)
    return found


def page(folder: Path | None, *photos: PhotoResult) -> str:
    """Write a page with these photos."""
    return field_page(replace(full(), photos=photos), replace(context(), photos=folder))


def test_the_page_holds_the_pictures_and_their_words(tmp_path: Path) -> None:
    """Remark, stop, scout and day are read, and heard by who can't see the picture."""
    html = page(tmp_path, kept(tmp_path, 1, remark="Silks <clipped>"))
    assert 'src="data:image/jpeg;base64,' in html
    assert "<b>Silks &lt;clipped&gt;</b> Stop 2, Ana, Wed 22 July" in html
    assert 'alt="Photo: Silks &lt;clipped&gt; (Stop 2, Ana, Wed 22 July)"' in html


@pytest.mark.parametrize("there", [False, True])
def test_without_a_photo_there_is_no_section(tmp_path: Path, there: bool) -> None:
    """No photo, or one whose file is gone: the part vanishes without a hole."""
    assert '<section class="photos">' not in page(tmp_path, *([photo(1)] if there else []))
    assert '<section class="photos">' not in page(None, photo(1))


def test_a_report_shows_four_of_the_latest_visit_first() -> None:
    """Then those with a remark; they stand in their own order."""
    old = [photo(number, visit="A1.RS1") for number in (1, 2)]
    new = [photo(1), photo(2, remark=None), photo(3), photo(4), photo(5)]
    assert chosen([*old, *new]) == (new[0], new[2], new[3], new[4])
    assert chosen([*old, *new[:2]]) == (*old, *new[:2])
    assert chosen([*old, *new[:3]]) == (old[0], *new[:3])


@given(st.lists(st.floats(0.2, 5.0), min_size=1, max_size=2))
def test_photos_of_a_row_are_of_one_height_and_fit(shares: list[float]) -> None:
    """Whatever their shapes, widths by shapes are equal and together no more than the row."""
    widths = row_widths(shares)
    assert sum(widths) <= 98.0 + 1e-9
    heights = [width / share for width, share in zip(widths, shares, strict=True)]
    assert max(heights) - min(heights) < 1e-9
    assert max(heights) <= 98.0 / 2.2 + 1e-9


def test_photos_go_last_and_never_one_by_one() -> None:
    """Where paper is short, four become two, which fill a row, and then none."""
    five = replace(full(), photos=tuple(map(photo, range(1, 6))))
    assert [len(one.photos) for one in fewer_pictures(five)] == [5, 2, 0]
    two = replace(full(), photos=five.photos[:2])
    assert [len(one.photos) for one in fewer_pictures(two)] == [2, 0]
