"""Letters to growers: the reports of their fields, once for each state of them."""

from datetime import UTC, datetime
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from mailserver import HOST, PASSWORD, USER, make_certificate, postbox
from post import AS_OF, OURS, book, mail_season

from fieldbook.cli import main
from fieldbook.mail.passwords import SMTP_VARIABLE
from fieldbook.problems import problem, sentence
from fieldbook.report.growers import grower_name, report_name
from fieldbook.results.results import season_results
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season

NOW = datetime(2026, 8, 20, 20, tzinfo=UTC)
GROWER = "oda@example.org"


@pytest.fixture
def season(tmp_path: Path) -> Season:
    """Make a season with one grower's address, a counted field, and reports of that grower."""
    made = mail_season(tmp_path / "season", growers={"G1": GROWER})
    (made.folder.incoming / "a.xlsx").write_bytes(book(made))
    assert all(one.accepted for one in take_in(made, [made.folder.incoming / "a.xlsx"], now=NOW))
    for found in season_results(made, as_of=NOW.date()).fields[:2]:
        (made.folder.reports / f"{report_name(found)}.pdf").write_bytes(
            b"%PDF of " + found.field_id.encode()
        )
    return made


def command(season: Season, *options: str) -> Result:
    return CliRunner().invoke(
        main, ["letters", str(season.folder.path), "--as-of", AS_OF, *options]
    )


def drafts(season: Season) -> list[EmailMessage]:
    found = []
    for path in sorted(season.folder.outbox.glob("*.eml")):
        parsed = message_from_bytes(path.read_bytes(), policy=default)
        assert isinstance(parsed, EmailMessage)
        found.append(parsed)
    return found


def test_a_letter_holds_the_reports_and_their_first_lines(season: Season) -> None:
    """Both fields of the grower; the other grower has no address, which is told."""
    shown = command(season)
    told = problem("letter-no-address", grower="Tamar O'Neill & Sons", grower_id="G2")
    assert sentence(told) in shown.output
    assert shown.exit_code == 0
    (letter,) = drafts(season)
    assert letter["To"] == GROWER
    assert letter["From"] == OURS
    assert letter["Subject"] == "Your corn: Long eighty, Short forty"
    assert letter["Auto-Submitted"] is None
    attached = [one.get_content() for one in letter.iter_attachments()]
    assert attached == [b"%PDF of A1", b"%PDF of A2"]
    body = letter.get_body(("plain",))
    assert body is not None
    words = body.get_content()
    assert "Oda Fenwick, here is how your corn does." in words
    assert "Yield now looks like" in words
    assert "Nobody has looked at this field yet." in words
    assert "not promises" in words


def test_a_packet_takes_the_place_of_single_reports(season: Season) -> None:
    """One file that holds them all."""
    (season.folder.reports / f"packet.{grower_name('G1', 'Oda Fenwick')}.pdf").write_bytes(
        b"%PDF all"
    )
    command(season)
    (letter,) = drafts(season)
    assert [one.get_content() for one in letter.iter_attachments()] == [b"%PDF all"]


def test_the_same_reports_make_no_second_letter(season: Season) -> None:
    """A changed report makes a new one, which takes the place of the one that nobody sent."""
    command(season)
    (first,) = drafts(season)
    assert "(as before)" in command(season).output
    assert len(drafts(season)) == 1
    (report, *_) = sorted(season.folder.reports.glob("*.pdf"))
    report.write_bytes(b"%PDF changed")
    command(season)
    (second,) = drafts(season)
    assert first["Message-ID"] != second["Message-ID"]


def test_without_reports_there_is_no_letter(season: Season) -> None:
    """The line says what to run first; an unknown grower is wrong use."""
    for path in season.folder.reports.glob("*.pdf"):
        path.unlink()
    shown = command(season, "--grower", "G1")
    assert sentence(problem("letter-no-report", grower="Oda Fenwick")) in shown.output
    assert shown.exit_code == 1
    assert command(season, "--grower", "G9").exit_code == 2


def test_letters_are_sent_once(
    tmp_path: Path, season: Season, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By the word alone, to the grower; not again when the command is run again."""
    certificate = make_certificate(tmp_path / "tls")
    monkeypatch.setenv("SSL_CERT_FILE", str(certificate.cert))
    monkeypatch.setenv(SMTP_VARIABLE, PASSWORD)
    with postbox(certificate) as out:
        text = season.folder.settings.read_text("utf-8")
        settings = f'smtp_server = "{HOST}"\nsmtp_user = "{USER}"'
        text = text.replace("smtp_port = 465", f"smtp_port = {out.port}\n{settings}")
        season.folder.settings.write_text(text, "utf-8")
        assert command(season, "--send").exit_code == 0
        assert [to for to, _ in out.got] == [GROWER]
        assert command(season, "--send").exit_code == 0
        assert len(out.got) == 1
