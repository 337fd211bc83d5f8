"""The PDF: its pages, its words, its silence, and what it refuses to read."""

import io
import logging
import subprocess
import sys
from pathlib import Path

import pytest
from parts import need, pango_missing
from pypdf import PdfReader

from fieldbook.report import field_page, page_pdf, pdf_missing
from fieldbook.report.growers import GrowerJob, write_grower
from fieldbook.words import SHIPPED_LANGUAGES
from report import factory

pytestmark = pytest.mark.pdf


@pytest.fixture(autouse=True)
def _pango() -> None:
    need(pango_missing())


PRINTED = [
    "full", "one stop", "longest names", "no past years", "base gap", "failed", "only pollinated",
]  # fmt: skip


def read_pdf(name: str, **more: str) -> PdfReader:
    context = factory.context(**more)
    return PdfReader(io.BytesIO(page_pdf(field_page(factory.ALL[name](), context))))


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("name", PRINTED)
def test_a_report_has_two_pages_at_most(name: str, paper: str, caplog: pytest.LogCaptureFixture):
    """Two pages on either paper, and WeasyPrint finds nothing to warn of."""
    with caplog.at_level(logging.WARNING):
        assert len(read_pdf(name, paper=paper).pages) <= 2
    assert not caplog.records


@pytest.mark.parametrize("name", PRINTED)
def test_a_report_has_two_pages_in_every_language(name: str, tmp_path: Path):
    """Languages take more room than English; what only explains gives way and is set smaller."""
    for language in SHIPPED_LANGUAGES[1:]:
        job = GrowerJob(
            folder=tmp_path,
            fields=(factory.ALL[name](),),
            compared=(),
            reports={factory.ALL[name]().field_id: language},
            packet=None,
            letter=None,
            context=factory.context(language=language),
            templates=None,
            pdf=True,
        )
        write_grower(job)
        reader = PdfReader(tmp_path / f"{language}.pdf")
        assert reader.trailer["/Root"]["/Lang"] == language
        assert len(reader.pages) <= 2


def test_a_field_without_a_visit_is_one_page():
    """Nothing to tell takes no second page."""
    assert len(read_pdf("no visit").pages) == 1


@pytest.mark.parametrize(("paper", "size"), [("letter", (612, 792)), ("a4", (595, 842))])
def test_the_paper_is_the_one_asked_for(paper: str, size: tuple[int, int]):
    """Letter and A4 have their own sizes in points."""
    box = read_pdf("full", paper=paper).pages[0].mediabox
    assert (round(box.width), round(box.height)) == size


def test_the_pdf_holds_the_words_and_embeds_its_font():
    """The text can be searched, and no reader has to own the font."""
    reader = read_pdf("full")
    text = " ".join(reader.pages[0].extract_text().split())
    assert "Yield now looks like 155 to 210" in text
    fonts = reader.pages[0]["/Resources"]["/Font"].values()
    names = {font.get_object()["/BaseFont"] for font in fonts}
    assert names
    assert all("Open-Sans" in name or "OpenSans" in name for name in names)


def test_the_pdf_can_be_read_aloud():
    """It is tagged, names its language and title, and every drawing has its words."""
    reader = read_pdf("full")
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert reader.metadata is not None
    assert reader.metadata.title == "Windmill seventy, Tobias Renwick, Mon 17 August 2026"


def test_a_page_cannot_pull_files_into_the_pdf(tmp_path: Path, caplog: pytest.LogCaptureFixture):
    """Only data inside of the page is read; a file beside it is not."""
    secret = tmp_path / "secret.css"
    secret.write_text("body::before { content: 'secret words'; }")
    link = f'<link rel="stylesheet" href="{secret.as_uri()}">'
    html = f"<html lang='en'><head><title>t</title>{link}</head><body><p>open words</p></body>"
    with caplog.at_level(logging.ERROR):
        pdf = page_pdf(html)
    text = PdfReader(io.BytesIO(pdf)).pages[0].extract_text()
    assert "open words" in text
    assert "secret" not in text
    assert caplog.records


def test_hostile_names_print_as_typed():
    """A script in a name is ink, nothing more."""
    reader = read_pdf("hostile")
    assert "<script>alert(1)</script>" in reader.pages[0].extract_text()
    assert "/JavaScript" not in str(reader.trailer["/Root"])


def test_a_missing_pango_is_one_plain_reason(monkeypatch: pytest.MonkeyPatch):
    """Without Pango the reason is said in one line, and HTML is still written."""
    import builtins

    real = builtins.__import__

    def without_pango(name: str, *rest: object, **more: object) -> object:
        if name == "weasyprint":
            raise OSError("cannot load library 'libpango-1.0-0'\nand much more")
        return real(name, *rest, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(builtins, "__import__", without_pango)
    assert pdf_missing() == "cannot load library 'libpango-1.0-0'"
    assert field_page(factory.full(), factory.context()).startswith("<!DOCTYPE html>")


def test_pango_is_there():
    """Where it is there, nothing is missing."""
    assert pdf_missing() is None


def test_a_command_that_made_a_pdf_ends_quietly() -> None:
    """What is kept from page to page goes before Python does, so nothing is said at the end."""
    script = (
        "from fieldbook.report.pdf import page_pdf; page_pdf('<html lang=en><p>Corn</p></html>')"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert done.stderr == ""
