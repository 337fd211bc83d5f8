"""HTML to PDF. The only module that touches WeasyPrint, and only inside its functions."""

import atexit
from collections.abc import Iterable
from functools import cache, lru_cache
from typing import Any, TypeVar

from fieldbook.garbage import collected_at_the_end
from fieldbook.report.paper import on_paper

T = TypeVar("T")

_VARIANT = "pdf/ua-1"
_LOOKS = 8  # ways for pages to look whose styles are kept


def pdf_missing() -> str | None:
    """Say in one line why no PDF can be made here, or None where it can."""
    try:
        import weasyprint  # noqa: F401  (only the import tells whether Pango loads)
    except ImportError as fault:
        return f"the package {fault.name or 'weasyprint'} is missing"
    except OSError as fault:
        return f"{str(fault).splitlines()[0]:.120}"
    return None


@collected_at_the_end()
def page_pdf(html: str) -> bytes:
    """Write a page of ours as a PDF that screen readers can follow.

    Its style sheet names the paper. Nothing outside of the page is read: only ``data:`` addresses
    are followed.

    Raises
    ------
    OSError
        Where Pango is missing; see `pdf_missing`.
    """
    return pdf_of(laid_out(html))


def first_fitting(pages: Iterable[tuple[T, str]], sheets: int) -> tuple[T, str, Any]:
    """Return the first page that takes at most so many sheets, or the last, and it laid out.

    Each page comes behind what it was made of, which is handed back with it.

    Raises
    ------
    OSError
        Where Pango is missing; see `pdf_missing`.
    """
    for made_of, html in pages:  # noqa: B007  (the last one is kept)
        laid = laid_out(html)
        if len(laid.pages) <= sheets:
            break
    return made_of, html, laid


@collected_at_the_end()
def laid_out(html: str) -> Any:
    """Lay a page of ours out on its sheets, for `pdf_of`: what takes most of the time.

    Raises
    ------
    OSError
        Where Pango is missing; see `pdf_missing`.
    """
    from fieldbook.report.drawn import Picture
    from fieldbook.report.printed import Page

    paper, fonts, fetcher = on_paper(html), _fonts(), _fetcher()
    drawings = {name: Picture(tree, fonts, fetcher) for name, tree in paper.drawings.items()}
    page = Page(paper.html, paper.styles, fetcher)
    styles = [_sheet(paper.styles)]
    return page.render(fonts, stylesheets=styles, cache=drawings, pdf_variant=_VARIANT)


@collected_at_the_end()
def pdf_of(first: Any, *others: Any) -> bytes:
    """Write pages that are laid out as one PDF, one behind the other; the first gives the title."""
    sheets = [sheet for laid in (first, *others) for sheet in laid.pages]
    made: bytes = first.copy(sheets).write_pdf(pdf_variant=_VARIANT)
    return made


@lru_cache(maxsize=_LOOKS)
def _sheet(styles: tuple[str, ...]) -> Any:
    """Read styles once for all pages that have them."""
    from weasyprint import CSS

    return CSS(string="\n".join(styles), url_fetcher=_fetcher(), font_config=_fonts())


@cache
def _fonts() -> Any:
    """Share one font configuration a process: a new one for every page leaks memory.

    It tidies up after itself with modules that are gone once Python itself goes, so it goes first.
    """
    from weasyprint.text.fonts import FontConfiguration

    atexit.register(_forget)
    return FontConfiguration()


def _forget() -> None:
    _sheet.cache_clear()
    _fonts.cache_clear()


@cache
def _fetcher() -> Any:
    from weasyprint.urls import URLFetcher

    return URLFetcher(allowed_protocols={"data"}, allow_redirects=False)
