"""HTML to PDF. The only module that touches WeasyPrint, and only inside its functions."""

from collections.abc import Iterable
from functools import cache
from typing import Any

_VARIANT = "pdf/ua-1"


def pdf_missing() -> str | None:
    """Say in one line why no PDF can be made here, or None where it can."""
    try:
        import weasyprint  # noqa: F401  (only the import tells whether Pango loads)
    except ImportError as fault:
        return f"the package {fault.name or 'weasyprint'} is missing"
    except OSError as fault:
        return f"{str(fault).splitlines()[0]:.120}"
    return None


def page_pdf(html: str) -> bytes:
    """Write a page of ours as a PDF that screen readers can follow.

    Its style sheet names the paper. Nothing outside of the page is read: only ``data:`` addresses
    are followed.

    Raises
    ------
    OSError
        Where Pango is missing; see `pdf_missing`.
    """
    return _written(_laid_out(html))


def first_fitting(pages: Iterable[str], sheets: int) -> tuple[str, bytes]:
    """Return the first page that takes at most so many sheets, or the last, and its PDF.

    Raises
    ------
    OSError
        Where Pango is missing; see `pdf_missing`.
    """
    for html in pages:
        laid = _laid_out(html)
        if len(laid.pages) <= sheets:
            break
    return html, _written(laid)


def _laid_out(html: str) -> Any:
    import weasyprint

    page = weasyprint.HTML(string=html, url_fetcher=_fetcher(), base_url=None)
    return page.render(font_config=_fonts(), pdf_variant=_VARIANT)


def _written(laid: Any) -> bytes:
    made: bytes = laid.write_pdf(pdf_variant=_VARIANT)
    return made


@cache
def _fonts() -> Any:
    """Share one font configuration a process: a new one for every page leaks memory."""
    from weasyprint.text.fonts import FontConfiguration

    return FontConfiguration()


@cache
def _fetcher() -> Any:
    from weasyprint.urls import URLFetcher

    return URLFetcher(allowed_protocols={"data"}, allow_redirects=False)
