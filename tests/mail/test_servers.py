"""Real servers on loopback: a mailbox by IMAP, answers by SMTP, both in TLS; and how they fail."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from email import message_from_bytes
from pathlib import Path

import keyring
import pytest
from click.testing import CliRunner, Result
from keyring.backend import KeyringBackend
from mailserver import (
    HOST,
    PASSWORD,
    USER,
    Certificate,
    Mailbox,
    Postbox,
    dovecot_missing,
    free_port,
    mailbox,
    make_certificate,
    postbox,
)
from parts import need
from post import ANA, AS_OF, OURS, book, laid, mail_season, message

from fieldbook.cli import main
from fieldbook.ledger.events import book_events, read_events
from fieldbook.ledger.mail_events import Delivery, DeliveryEvent
from fieldbook.ledger.safely import write_safely
from fieldbook.mail import imap_source, send
from fieldbook.mail.passwords import IMAP_VARIABLE, SMTP_VARIABLE
from fieldbook.problems import problem, sentence
from fieldbook.season.season import Season, open_season
from fieldbook.settings.fresh import settings_text
from fieldbook.settings.mail import MailSettings

NOW = datetime(2026, 8, 20, 20, tzinfo=UTC)


@pytest.fixture
def box(monkeypatch: pytest.MonkeyPatch) -> Iterator[Mailbox]:
    """Run a mailbox whose certificate is trusted, with the password in the environment."""
    need(dovecot_missing())
    with mailbox() as found:
        monkeypatch.setenv("SSL_CERT_FILE", str(found.certificate.cert))
        monkeypatch.setenv(IMAP_VARIABLE, PASSWORD)
        yield found


@pytest.fixture
def certificate(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Certificate:
    """Make a certificate that is trusted, and put the password into the environment."""
    made = make_certificate(tmp_path / "tls")
    monkeypatch.setenv("SSL_CERT_FILE", str(made.cert))
    monkeypatch.setenv(SMTP_VARIABLE, PASSWORD)
    return made


@pytest.fixture
def out(certificate: Certificate) -> Iterator[Postbox]:
    """Run a server for outgoing mail."""
    with postbox(certificate) as found:
        yield found


def reading(tmp_path: Path, port: int, **other: str) -> Season:
    """Make a season that reads a mailbox."""
    settings = MailSettings(server=HOST, port=port, user=USER, from_address=OURS, **other)  # type: ignore[arg-type]
    return mail_season(tmp_path / "season", mail=settings)


def sending(tmp_path: Path, port: int) -> Season:
    """Make a season that sends, with the answers to two messages waiting."""
    settings = MailSettings(from_address=OURS, smtp_server=HOST, smtp_port=port, smtp_user=USER)
    season = mail_season(tmp_path / "season", mail=settings)
    messages = {
        field_id: message((f"{field_id}.xlsx", book(season, field_id)), name=field_id)
        for field_id in ("A1", "A2")
    }
    shown = command(season, "--mail", str(laid(tmp_path / "in", messages)))
    assert shown.exit_code == 0, shown.output
    assert len(waiting(season)) == 2
    return season


def changed(season: Season, settings: MailSettings) -> Season:
    """Write other settings into the season."""
    text = settings_text(replace(season.settings, mail=settings))
    write_safely(season.folder.settings, text.encode("utf-8"))
    found, problems = open_season(season.folder.path)
    assert found is not None, problems
    return found


def command(season: Season, *options: str) -> Result:
    shown = CliRunner().invoke(
        main, ["intake", "--season", str(season.folder.path), "--as-of", AS_OF, *options]
    )
    assert PASSWORD not in shown.output
    return shown


def waiting(season: Season) -> list[Path]:
    return sorted(season.folder.outbox.glob("*.eml"))


def states(season: Season) -> list[Delivery]:
    return [one.state for one in read_events(season.folder) if isinstance(one, DeliveryEvent)]


def no_secret_in(folder: Path) -> bool:
    files = (path for path in folder.rglob("*") if path.is_file())
    return all(PASSWORD.encode() not in path.read_bytes() for path in files)


# ---- the mailbox ---------------------------------------------------------------------------


def test_a_mailbox_is_read_without_marking_or_deleting(box: Mailbox, tmp_path: Path) -> None:
    """Books of two messages are taken in; the mailbox is as before; the next run finds nothing."""
    season = reading(tmp_path, box.port)
    for number, field_id in enumerate(("A1", "A2")):
        data = message((f"{field_id}.xlsx", book(season, field_id)), name=field_id)
        box.deliver(data, number=number)
    before = box.messages()
    shown = command(season, "--mail")
    assert shown.exit_code == 0, shown.output
    assert "taken in: A1.KC1" in shown.output
    assert len(list(book_events(season.folder))) == 2
    assert box.messages() == before
    assert all("S" not in flags and "T" not in flags for flags in box.flags())
    assert command(season, "--mail").output == "No new messages.\n"
    assert no_secret_in(season.folder.path)


def test_handled_messages_move_to_the_named_folder(box: Mailbox, tmp_path: Path) -> None:
    """The folder is made; a move that was broken off before is made good."""
    season = reading(tmp_path, box.port)
    box.deliver(message(("a.xlsx", book(season))), number=1)
    command(season, "--mail")
    season = changed(season, replace(season.settings.mail, move_to="Books"))
    box.deliver(message(name="other"), number=2)
    command(season, "--mail")
    assert box.messages() == []
    assert len(box.messages("Books")) == 2
    assert len(list(book_events(season.folder))) == 1


def test_a_folder_that_takes_no_message_is_told_and_stops_nothing(
    box: Mailbox, tmp_path: Path
) -> None:
    """All books are taken in, the messages stay, one line says so; nothing is handled twice."""
    season = reading(tmp_path, box.port, move_to="Full")
    box.lock_up("Full")
    for number, field_id in enumerate(("A1", "A2")):
        data = message((f"{field_id}.xlsx", book(season, field_id)), name=field_id)
        box.deliver(data, number=number)
    shown = command(season, "--mail")
    assert shown.exit_code == 1
    assert shown.output.count("refuses the folder 'Full'") == 1
    assert len(list(book_events(season.folder))) == 2
    assert len(box.messages()) == 2
    again = command(season, "--mail")
    assert again.exit_code == 1
    assert "taken in" not in again.output


def test_a_folder_that_is_not_there_is_told(box: Mailbox, tmp_path: Path) -> None:
    """Its name is in the line."""
    shown = command(reading(tmp_path, box.port, folder="Nowhere"), "--mail")
    told = problem("mail-folder-refused", server=HOST, folder="Nowhere", detail="")
    assert sentence(told).partition(": ")[0] in shown.output
    assert shown.exit_code == 1


def test_a_wrong_password_is_told_and_never_shown(
    box: Mailbox, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The server's words, the user, the way out; with the right one the next run goes on."""
    season = reading(tmp_path, box.port)
    box.deliver(message(("a.xlsx", book(season))), number=1)
    monkeypatch.setenv(IMAP_VARIABLE, "not-the-password")
    shown = command(season, "--mail")
    params = {"server": HOST, "user": USER, "detail": "Authentication failed."}
    start = sentence(problem("mail-login-refused", **params)).partition(": ")[0]
    assert start in shown.output
    assert "not-the-password" not in shown.output
    assert shown.exit_code == 1
    monkeypatch.setenv(IMAP_VARIABLE, PASSWORD)
    assert command(season, "--mail").exit_code == 0


def test_without_a_password_nothing_is_asked(
    box: Mailbox, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The line says where it belongs; the keyring is the other place."""
    season = reading(tmp_path, box.port)
    monkeypatch.delenv(IMAP_VARIABLE)
    monkeypatch.setattr(keyring, "get_password", lambda *_: None)
    shown = command(season, "--mail")
    told = problem("mail-no-password", user=USER, server=HOST, variable=IMAP_VARIABLE)
    assert sentence(told) in shown.output
    assert shown.exit_code == 1
    asked: list[tuple[str, str]] = []

    def from_keyring(service: str, name: str) -> str:
        asked.append((service, name))
        return PASSWORD

    monkeypatch.setattr(keyring, "get_password", from_keyring)
    assert command(season, "--mail").exit_code == 0
    assert asked == [("silkbook", f"{USER}@{HOST}")]


def test_a_locked_keyring_is_like_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine without a keyring service gives the plain line, no traceback."""
    from keyring.backends.fail import Keyring

    season = reading(tmp_path, free_port())
    monkeypatch.delenv(IMAP_VARIABLE, raising=False)
    before: KeyringBackend = keyring.get_keyring()
    keyring.set_keyring(Keyring())  # type: ignore[no-untyped-call]
    try:
        shown = command(season, "--mail")
    finally:
        keyring.set_keyring(before)
    assert "There is no password of" in shown.output
    assert shown.exit_code == 1


def test_a_password_of_any_letters_is_carried(
    tmp_path: Path, certificate: Certificate, monkeypatch: pytest.MonkeyPatch
) -> None:
    """To a mailbox it goes as UTF-8; where outgoing mail can't carry it, a line says so."""
    need(dovecot_missing())
    with mailbox() as box, postbox(certificate) as out:
        monkeypatch.setenv("SSL_CERT_FILE", str(box.certificate.cert))
        monkeypatch.setenv(IMAP_VARIABLE, "geh\u00e4im")
        shown = command(reading(tmp_path / "in", box.port), "--mail")
        assert "does not let" in shown.output
        monkeypatch.setenv("SSL_CERT_FILE", str(certificate.cert))
        monkeypatch.setenv(SMTP_VARIABLE, "geh\u00e4im")
        shown = command(sending(tmp_path / "out", out.port), "--send")
        assert "only plain letters can be sent" in shown.output
        assert "geh" not in shown.output


@pytest.mark.parametrize("is_named_otherwise", [False, True])
def test_a_certificate_that_proves_nothing_ends_before_the_password(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, is_named_otherwise: bool
) -> None:
    """Unknown, or of another server: one line, and the server saw no login."""
    need(dovecot_missing())
    with mailbox(name="other.example.org" if is_named_otherwise else HOST) as box:
        monkeypatch.setenv(IMAP_VARIABLE, PASSWORD)
        if is_named_otherwise:
            monkeypatch.setenv("SSL_CERT_FILE", str(box.certificate.cert))
        shown = command(reading(tmp_path, box.port), "--mail")
        start = sentence(problem("mail-certificate", server=HOST, detail="")).partition(": ")[0]
        assert start in shown.output
        assert shown.exit_code == 1
        assert "Login" not in (box.base / "log").read_text()


@pytest.mark.parametrize("server", [HOST, "a..b", "nowhere.invalid"])
def test_a_server_that_is_not_there_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, server: str
) -> None:
    """Nobody listens, or nobody can be of that name."""
    monkeypatch.setenv(IMAP_VARIABLE, PASSWORD)
    season = reading(tmp_path, free_port())
    season = changed(season, replace(season.settings.mail, server=server))
    shown = command(season, "--mail")
    start = sentence(problem("mail-server-gone", server=server, detail="")).partition(",")[0]
    assert start in shown.output
    assert shown.exit_code == 1


def test_a_server_gone_in_the_middle_leaves_the_rest_for_the_next_run(
    box: Mailbox, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After two of four messages the server dies: a line, exit 1; then all go in, each once."""
    season = reading(tmp_path, box.port)
    messages = [message(("x.xlsx", b"PK\x03\x04%d" % n), name=f"n{n}") for n in range(3)]
    for number, data in enumerate([*messages, message(("a.xlsx", book(season)), name="good")]):
        box.deliver(data, number=number)
    real, loads = imap_source.ImapSource._load, 0

    def dies(source: imap_source.ImapSource, uid: str) -> object:
        nonlocal loads
        loads += 1
        if loads == 3:
            box.kill()
        return real(source, uid)

    with monkeypatch.context() as broken:
        broken.setattr(imap_source.ImapSource, "_load", dies)
        shown = command(season, "--mail")
    assert "can't be reached, or broke off" in shown.output
    assert shown.exit_code == 1
    assert len(list(read_events(season.folder))) == 2
    with mailbox() as other:
        monkeypatch.setenv("SSL_CERT_FILE", str(other.certificate.cert))
        for number, data in enumerate([*messages, message(("a.xlsx", book(season)), name="good")]):
            other.deliver(data, number=number)
        season = changed(season, replace(season.settings.mail, port=other.port))
        command(season, "--mail")
    assert len(list(book_events(season.folder))) == 1
    assert len(list(read_events(season.folder))) == 5


# ---- outgoing ------------------------------------------------------------------------------


def test_nothing_is_sent_without_the_word(out: Postbox, tmp_path: Path) -> None:
    """Drafts wait; with the word each goes out once, in TLS, to the listed address."""
    season = sending(tmp_path, out.port)
    assert out.got == []
    drafts = [path.name for path in waiting(season)]
    shown = command(season, "--send")
    assert shown.exit_code == 0, shown.output
    assert [to for to, _ in out.got] == [ANA, ANA]
    assert waiting(season) == []
    assert sorted(path.name for path in season.folder.sent.iterdir()) == drafts
    assert states(season) == [Delivery.SENDING, Delivery.SENT] * 2
    sent = message_from_bytes(out.got[0][1])
    assert sent["X-Unsent"] is None
    assert sent["In-Reply-To"] in ("<A1@phone.example.org>", "<A2@phone.example.org>")
    assert command(season, "--send").output == ""
    assert len(out.got) == 2
    assert no_secret_in(season.folder.path)


def test_a_draft_that_lies_there_again_is_not_sent_again(out: Postbox, tmp_path: Path) -> None:
    """Copied back from sent/, or found after a restore: it only moves on."""
    season = sending(tmp_path, out.port)
    command(season, "--send")
    for path in season.folder.sent.iterdir():
        (season.folder.outbox / path.name).write_bytes(path.read_bytes())
    command(season, "--send")
    assert len(out.got) == 2
    assert waiting(season) == []


@pytest.mark.parametrize("where", ["recipient_replies", "replies"])
def test_a_full_mailbox_is_told_and_tried_again(out: Postbox, tmp_path: Path, where: str) -> None:
    """The server says no, to the recipient or to the content: the others go, this one later."""
    season = sending(tmp_path, out.port)
    getattr(out, where).append(f"452 4.2.2 mailbox full, {PASSWORD}")
    shown = command(season, "--send")
    told = problem("mail-refused", recipient=ANA, detail="4.2.2 mailbox full, ***")
    assert sentence(told) in shown.output
    assert shown.exit_code == 1
    assert len(out.got) == 1
    assert len(waiting(season)) == 1
    assert command(season, "--send").exit_code == 0
    assert len(out.got) == 2


def test_a_draft_in_doubt_is_sent_again_by_a_persons_word_alone(
    out: Postbox, tmp_path: Path
) -> None:
    """The server has it and goes away before it says so: told each time, sent once more on word."""
    season = sending(tmp_path, out.port)
    out.replies.append(lambda: None)
    shown = command(season, "--send")
    assert "can't be reached, or broke off" in shown.output
    assert shown.exit_code == 1
    assert len(out.got) == 1
    name = waiting(season)[0].name
    shown = command(season, "--send")
    assert sentence(problem("mail-doubt", name=name)) in shown.output
    assert shown.exit_code == 1
    assert len(out.got) == 2  # the other one
    assert [path.name for path in waiting(season)] == [name]
    nothing = command(season, "--send-again", "answer-other.eml")
    assert sentence(problem("mail-no-doubt", name="answer-other.eml")) in nothing.output
    assert command(season, "--send-again", name).exit_code == 0
    assert len(out.got) == 3
    ids = [message_from_bytes(data)["Message-ID"] for _, data in out.got]
    assert ids[0] == ids[2]
    assert command(season, "--send").output == ""


def test_drafts_go_to_listed_people_alone(out: Postbox, tmp_path: Path) -> None:
    """A changed recipient, or a second one: not sent. Other files in the outbox are left alone."""
    season = sending(tmp_path, out.port)
    one, two = waiting(season)
    one.write_bytes(one.read_bytes().replace(b"To: Ana@example.org", b"To: eve@example.net"))
    two.write_bytes(two.read_bytes().replace(b"Subject:", b"Bcc: eve@example.net\r\nSubject:", 1))
    (season.folder.outbox / "planted.eml").write_bytes(message(sender=OURS))
    shown = command(season, "--send")
    start = sentence(problem("mail-recipient-unknown", typed="eve@example.net"))
    assert start in shown.output
    assert shown.exit_code == 1
    assert out.got == []


def test_wrong_password_and_certificate_of_the_outgoing_server_are_told(
    out: Postbox, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One line each; nothing is sent, nothing is in doubt, and the next run sends."""
    season = sending(tmp_path, out.port)
    monkeypatch.setenv(SMTP_VARIABLE, "not-the-password")
    assert "does not let" in command(season, "--send").output
    monkeypatch.setenv(SMTP_VARIABLE, PASSWORD)
    with monkeypatch.context() as other:
        other.delenv("SSL_CERT_FILE")
        shown = command(season, "--send")
        assert "certificate that can't be trusted" in shown.output
        assert shown.exit_code == 1
    assert states(season) == []
    assert command(season, "--send").exit_code == 0
    assert len(out.got) == 2


def test_an_outgoing_server_that_is_not_set_or_not_there_is_told(
    certificate: Certificate, tmp_path: Path
) -> None:
    """Which key is missing; a port where nobody listens."""
    season = sending(tmp_path, free_port())
    assert "can't be reached" in command(season, "--send").output
    season = changed(season, replace(season.settings.mail, smtp_server=None))
    assert sentence(problem("mail-not-set", key="mail.smtp_server")) in (
        command(season, "--send").output
    )


def test_a_server_without_tls_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No password goes over a line that anybody reads."""
    from aiosmtpd.controller import Controller

    monkeypatch.setenv(SMTP_VARIABLE, PASSWORD)
    port = free_port()
    controller = Controller(Postbox(), hostname=HOST, port=port)
    controller.start()
    try:
        shown = command(sending(tmp_path, port), "--send")
    finally:
        controller.stop(no_assert=True)
    assert "STARTTLS" in shown.output
    assert shown.exit_code == 1


def test_a_disk_that_fills_up_before_the_event_sends_nothing(
    out: Postbox, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What can't be remembered is not sent."""
    season = sending(tmp_path, out.port)

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as broken:
        broken.setattr(send, "claim", full)
        shown = command(season, "--send")
    assert sentence(problem("disk-full")) in shown.output
    assert out.got == []
    assert command(season, "--send").exit_code == 0
    assert len(out.got) == 2
