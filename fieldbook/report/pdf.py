"""HTML to PDF. The only module that touches WeasyPrint, and only inside its functions."""

from functools import cache
from typing import Any

from fieldbook.report.context import ReportContext

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


def field_pdf(html: str, context: ReportContext) -> bytes:
    """Write a page of HTML as a PDF that screen readers can follow.

    Parameters
    ----------
    html
        A page of `fieldbook.report.field_page`; its style sheet already names the paper.
    context
        The context that the page was written with; its language is told to screen readers.

    Returns
    -------
    bytes
        The PDF. Nothing outside of the page is read: only ``data:`` addresses are followed.

    Raises
    ------
    OSError
        Where Pango is missing; see `pdf_missing`.
    """
    return page_pdf(html)


def page_pdf(html: str) -> bytes:
    """Write any page of ours as a PDF; only ``data:`` addresses are followed.

    Raises
    ------
    OSError
        Where Pango is missing; see `pdf_missing`.
    """
    return page_pdf_and_count(html)[0]


def page_pdf_and_count(html: str) -> tuple[bytes, int]:
    """Write any page of ours as a PDF, and say how many sheets of paper it takes.

    Raises
    ------
    OSError
        Where Pango is missing; see `pdf_missing`.
    """
    import weasyprint

    page = weasyprint.HTML(string=html, url_fetcher=_fetcher(), base_url=None)
    laid = page.render(font_config=_fonts(), pdf_variant=_VARIANT)
    made: bytes = laid.write_pdf(pdf_variant=_VARIANT)
    return made, len(laid.pages)


@cache
def _fonts() -> Any:
    """Share one font configuration a process: a new one for every page leaks memory."""
    from weasyprint.text.fonts import FontConfiguration

    return FontConfiguration()


@cache
def _fetcher() -> Any:
    from weasyprint.urls import URLFetcher

    return URLFetcher(allowed_protocols={"data"}, allow_redirects=False)
