"""Messages from files: whose books are taken in, what is answered, and that none counts twice."""

import mailbox
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from database import Postgres
from post import ANA, AS_OF, JOSS, MX, OURS, book, laid, mail_season, message, part, raw
from seasons import good_visit

from fieldbook.cli import main
from fieldbook.ledger.events import book_events, read_events
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.mail_events import Delivery, Ending, MessageEvent
from fieldbook.ledger.safely import write_safely
from fieldbook.mail import intake as mail_intake
from fieldbook.mail.intake import Handled, mail_lock, take_mail
from fieldbook.mail.open import opened_source
from fieldbook.mail.outbox import Waiting, claim, note, waiting
from fieldbook.problems import problem, sentence
from fieldbook.season.doctor import checkup
from fieldbook.season.rebuild import rebuild
from fieldbook.season.season import Season, open_season
from fieldbook.settings.mail import MailSettings

NOW = datetime(2026, 8, 20, 20, tzinfo=UTC)


@pytest.fixture
def season(tmp_path: Path) -> Season:
    """Make a season whose scouts have addresses."""
    return mail_season(tmp_path / "season")


def handled(season: Season, place: Path, *, now: datetime = NOW) -> list[Handled]:
    """Take in what lies at a place; what is new of it."""
    with mail_lock(season.folder), opened_source(season, place) as source:
        _, found = take_mail(season, source, now=now)
        return [one for one in found if one is not None]


def one(season: Season, tmp_path: Path, data: bytes, **params: datetime) -> Handled:
    """Take in one message."""
    (found,) = handled(season, laid(tmp_path / f"one{len(data)}", {"m": data}), **params)
    return found


def answer(found: Handled) -> EmailMessage:
    assert found.answer is not None
    parsed = message_from_bytes(found.answer.read_bytes(), policy=default)
    assert isinstance(parsed, EmailMessage)
    return parsed


def words(found: EmailMessage) -> str:
    body = found.get_body(("plain",))
    assert body is not None
    return str(body.get_content())


def command(season: Season, *options: str) -> Result:
    return CliRunner().invoke(
        main, ["intake", "--season", str(season.folder.path), "--as-of", AS_OF, *options]
    )


def codes(found: Handled) -> list[str]:
    return [told.code for told in found.problems]


# ---- taken in and answered -----------------------------------------------------------------


def test_a_good_book_is_taken_in_and_answered(season: Season, tmp_path: Path) -> None:
    """The book's event names sender and message; the answer is a thread of its own, a draft."""
    data = message(("ana.xlsx", book(season)), heads=[("References", "<first@x.example>")])
    found = one(season, tmp_path, data)
    (event,) = book_events(season.folder)
    assert (event.source, event.sender, event.sent_by) == ("mail", "Ana@example.org", "ana")
    assert event.file == "ana.xlsx"
    said = answer(found)
    assert said["To"] == "Ana@example.org"
    assert said["From"] == OURS
    assert said["Subject"] == "Re: Books"
    assert said["In-Reply-To"] == "<m1@phone.example.org>"
    assert said["References"] == "<first@x.example> <m1@phone.example.org>"
    assert said["Auto-Submitted"] == "auto-replied"
    assert said["X-Unsent"] == "1"
    assert list(said.iter_attachments()) == []
    assert "ana.xlsx: Long eighty (A1.KC1)" in words(said)
    assert "There is nothing to mend." in words(said)
    assert found.ending is Ending.TAKEN
    assert not found.needs_a_look


def test_questions_come_with_the_correction_book(season: Season, tmp_path: Path) -> None:
    """The questions in plain words, and the very book that `ask` writes."""
    entries = good_visit("A1") | {("ears", ("A1", 1, 1), "rows_around"): 15}
    said = answer(one(season, tmp_path, message(("a.xlsx", book(season, entries=entries)))))
    assert "A1 Ears, Stop 1, Ear 1, Rows around: 15 rows can't be" in words(said)
    (attached,) = said.iter_attachments()
    assert (season.folder.blank / "ask" / str(attached.get_filename())).read_bytes() == (
        attached.get_content()
    )
    mended = one(season, tmp_path, message((str(attached.get_filename()), attached.get_content())))
    assert mended.ending is Ending.TAKEN


def test_what_is_set_aside_is_answered_with_the_reason(season: Season, tmp_path: Path) -> None:
    """A damaged book beside a good one: each told by its own name; the file lies aside."""
    sent = [("good.xlsx", book(season)), ("../../bad.xlsx", b"PK\x03\x04 cut off")]
    found = one(season, tmp_path, message(*sent))
    said = words(answer(found))
    assert "good.xlsx: Long eighty (A1.KC1)" in said
    assert "- bad.xlsx: The file is damaged or cut off" in said
    (aside,) = (path for path in season.folder.aside.iterdir() if path.suffix == ".xlsx")
    assert aside.read_bytes() == b"PK\x03\x04 cut off"
    assert found.needs_a_look
    assert not list(tmp_path.glob("*.xlsx"))
    assert checkup(season.folder.path).problems == ()


def test_a_field_that_another_scout_has_is_asked_about(season: Season, tmp_path: Path) -> None:
    """Joss mails a book of Ana's field: taken in, and asked; a recheck says the same."""
    found = one(season, tmp_path, message(("a.xlsx", book(season)), sender=JOSS))
    assert found.ending is Ending.TAKEN
    (taken,) = found.taken
    assert [told.code for told in taken.open_problems] == ["mail-field-not-given"]
    assert "roster gives A1 Long eighty to ana" in words(answer(found))
    again = CliRunner().invoke(main, ["rebuild", str(season.folder.path), "--recheck"])
    assert "Nothing would be said differently" in again.output
    own = one(season, tmp_path, message(("b.xlsx", book(season, "B7")), sender=JOSS, name="m2"))
    assert own.taken[0].open_problems == ()


def test_heads_can_not_be_planted_in_an_answer(season: Season, tmp_path: Path) -> None:
    """Line ends in a subject or an id become blanks or nothing."""
    subject = "=?utf-8?q?Hi=0D=0ABcc:_eve@example.net=0A=0AX?="
    data = message(("a.xlsx", book(season))).replace(
        b"Subject: Books", b"Subject: " + subject.encode()
    )
    said = answer(one(season, tmp_path, data))
    assert said["Bcc"] is None
    assert said["Subject"] == "Re: Hi  Bcc: eve@example.net  X"


def test_answers_go_to_the_listed_address_alone(season: Season, tmp_path: Path) -> None:
    """Whatever the message asks for."""
    heads = [("Reply-To", "eve@example.net"), ("Return-Path", "<eve@example.net>")]
    said = answer(one(season, tmp_path, message(("a.xlsx", book(season)), heads=heads)))
    assert said["To"] == "Ana@example.org"


@pytest.mark.parametrize("mail", ['a"b@example.org', "ana@ex\u00e4mple.org", "a(b@example.org"])
def test_odd_addresses_in_the_settings_break_nothing(tmp_path: Path, mail: str) -> None:
    """Nobody can write from them as they stand; ours in them still makes a draft."""
    season = mail_season(tmp_path / "season", mail=MailSettings(from_address=mail))
    found = one(season, tmp_path, message(("a.xlsx", book(season))))
    assert found.answer is not None
    assert found.answer.read_bytes().startswith(b"Message-ID: <silkbook.")


# ---- who is let in -------------------------------------------------------------------------


def test_books_of_strangers_are_set_aside(season: Season, tmp_path: Path) -> None:
    """Not opened, not answered, told once; other mail of strangers is only noted."""
    found = one(season, tmp_path, message(("a.xlsx", book(season)), sender="eve@example.net"))
    assert codes(found) == ["mail-sender-unknown"]
    assert found.answer is None
    assert list(book_events(season.folder)) == []
    news = one(season, tmp_path, message(sender="news@example.net", name="m2"))
    assert codes(news) == ["mail-not-ours"]
    assert not news.needs_a_look


def test_unclear_senders_and_our_own_messages_are_set_aside(season: Season, tmp_path: Path) -> None:
    """Two senders name nobody; a copy of our own message starts no loop."""
    both = raw(f"From: {ANA}", "From: eve@example.net", "", "x")
    assert codes(one(season, tmp_path, both)) == ["mail-sender-unclear"]
    assert codes(one(season, tmp_path, message(sender=OURS))) == ["mail-own"]


def test_listed_senders_beside_the_scouts_are_let_in(tmp_path: Path) -> None:
    """The office may send any book; whose field it is, is not asked."""
    settings = MailSettings(from_address=OURS, senders=("Office@example.org",))
    season = mail_season(tmp_path / "season", mail=settings)
    found = one(season, tmp_path, message(("a.xlsx", book(season)), sender="office@example.org"))
    assert found.ending is Ending.TAKEN
    assert found.taken[0].open_problems == ()


@pytest.mark.parametrize(
    ("result", "told", "ending"),
    [
        ("dmarc=pass header.from=example.org", "pass", Ending.TAKEN),
        ("dmarc=fail header.from=example.org", "fail", Ending.ASIDE),
        ("none", "none", Ending.TAKEN),
    ],
)
def test_what_the_named_server_says_is_honoured_recorded_and_shown(
    tmp_path: Path, result: str, told: str, ending: Ending
) -> None:
    """A failure is set aside; pass and none are taken in; all three are kept and printed."""
    settings = MailSettings(from_address=OURS, authentication_server=MX)
    season = mail_season(tmp_path / "season", mail=settings)
    data = message(("a.xlsx", book(season)), heads=[("Authentication-Results", f"{MX}; {result}")])
    shown = command(season, "--mail", str(laid(tmp_path / "in", {"m": data})))
    (event,) = (one for one in read_events(season.folder) if isinstance(one, MessageEvent))
    assert event.authenticated == told
    assert event.ending is ending
    assert "mail server" in shown.output
    assert shown.exit_code == (ending is Ending.ASIDE)
    if ending is Ending.ASIDE:
        assert [one.code for one in event.problems] == ["mail-not-genuine"]
        assert event.answer is None


def test_a_forged_copy_does_not_hide_the_real_message(tmp_path: Path) -> None:
    """The same id and book, first with a failed proof, then with a good one."""
    settings = MailSettings(from_address=OURS, authentication_server=MX)
    season = mail_season(tmp_path / "season", mail=settings)
    data = message(("a.xlsx", book(season)))
    heads = [
        f"Authentication-Results: {MX}; dmarc={said} header.from=example.org"
        for said in ("fail", "pass")
    ]
    messages = {f"{n}": head.encode() + b"\r\n" + data for n, head in enumerate(heads)}
    found = handled(season, laid(tmp_path / "in", messages))
    assert [one.ending for one in found] == [Ending.ASIDE, Ending.TAKEN]


# ---- what gets no answer -------------------------------------------------------------------


def test_machines_are_never_answered(season: Season, tmp_path: Path) -> None:
    """A book that a machine of a scout sends is taken in without a word."""
    found = one(season, tmp_path, message(("a.xlsx", book(season)), heads=[("Precedence", "bulk")]))
    assert found.ending is Ending.TAKEN
    assert found.answer is None
    assert codes(found) == ["mail-automatic"]


def test_a_message_without_a_book_is_told_once_a_day(season: Season, tmp_path: Path) -> None:
    """A forgotten attachment is told; thanks for our answer end the talk."""
    first = one(season, tmp_path, message(("p.jpg", b"\xff\xd8")))
    assert codes(first) == ["mail-no-book"]
    assert "photo" not in words(answer(first))
    assert "- Your message had no book attached. What came with it was not opened: p.jpg." in (
        words(answer(first))
    )
    assert one(season, tmp_path, message(name="m2", text="again")).answer is None
    later = one(season, tmp_path, message(name="m3"), now=NOW + timedelta(days=2))
    assert codes(later) == ["mail-nothing-attached"]
    assert "- Your message had no book attached. Please send it again with the book." in (
        words(answer(later)).splitlines()
    )
    ours = answer(later)["Message-ID"]
    thanks = message(name="m4", text="thanks!!", heads=[("In-Reply-To", ours)])
    assert one(season, tmp_path, thanks, now=NOW + timedelta(days=4)).answer is None


@pytest.mark.parametrize(
    ("language", "told"),
    [
        ("en", "This is a book of another season, 'north-2026', so nothing of it was taken in. "),
        ("es", "Esta es una libreta de otra temporada, 'north-2026'; no se usó nada de ella. "),
    ],
)
def test_who_has_no_folder_is_not_sent_to_one(tmp_path: Path, language: str, told: str) -> None:
    """A scout who mails a book of another season is told so; the terminal names both seasons."""
    other = mail_season(tmp_path / "other")
    foreign = replace(other, settings=replace(other.settings, season_id="north-2026"))
    season = mail_season(tmp_path / "season")
    scouts = tuple(replace(scout, language=language) for scout in season.settings.scouts)
    season = replace(season, settings=replace(season.settings, scouts=scouts))
    found = one(season, tmp_path, message(("a.xlsx", book(foreign))))
    (refused,) = found.taken
    assert [why.code for why in refused.problems] == ["book-other-season"]
    assert "this folder is 'test-2026'" in sentence(refused.problems[0])
    assert f"- a.xlsx: {told}" in words(answer(found))
    assert "test-2026" not in words(answer(found))


def test_a_flood_of_answers_stops(
    season: Season, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever no mark gives away ends at a number a day; a new book is answered all the same."""
    monkeypatch.setattr(mail_intake, "MOST_IDLE_ANSWERS_A_DAY", 2)
    messages = {f"{n}": message(("a.xlsx", b"PK\x03\x04%d" % n), name=f"n{n}") for n in range(4)}
    found = handled(season, laid(tmp_path / "in", messages))
    assert [one.answer is not None for one in found] == [True, True, False, False]
    assert codes(found[2]) == ["mail-many-answers"]
    assert one(season, tmp_path, message(("a.xlsx", book(season)))).answer is not None


# ---- each message once ---------------------------------------------------------------------


def test_each_message_is_handled_once(season: Season, tmp_path: Path) -> None:
    """Run again, or with the same message under another name: nothing new, nothing changed."""
    data = message(("a.xlsx", book(season)))
    folder = laid(tmp_path / "in", {"m": data, "copy": data})
    assert len(handled(season, folder)) == 1
    events = list(read_events(season.folder))
    assert handled(season, folder) == []
    assert list(read_events(season.folder)) == events
    assert (folder / "m.eml").read_bytes() == data
    shown = command(season, "--mail", str(folder))
    assert shown.output == "No new messages.\n"
    assert shown.exit_code == 0


def test_an_id_that_comes_again_with_another_book_is_a_new_message(
    season: Season, tmp_path: Path
) -> None:
    """Some programs give all messages one id."""
    first = message(("a.xlsx", book(season)))
    second = message(("b.xlsx", book(season, "A2")))
    found = handled(season, laid(tmp_path / "in", {"1": first, "2": second}))
    assert [one.ending for one in found] == [Ending.TAKEN, Ending.TAKEN]


def test_the_same_book_in_another_message_is_told_as_seen(season: Season, tmp_path: Path) -> None:
    """Sent twice by a person: nothing changes, and the answer says so."""
    data = book(season)
    one(season, tmp_path, message(("a.xlsx", data)))
    again = one(season, tmp_path, message(("a.xlsx", data), name="again"))
    assert "This very file was taken in before" in words(answer(again))
    assert len(list(book_events(season.folder))) == 1


@pytest.mark.parametrize("step", ["write_answer", "write_event"])
def test_a_break_in_the_middle_is_made_good(
    season: Season, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    """Broken off after the book is in: the next run tells it as taken in, once, in one draft."""
    entries = good_visit("A1") | {("ears", ("A1", 1, 1), "rows_around"): 15}
    folder = laid(tmp_path / "in", {"m": message(("a.xlsx", book(season, entries=entries)))})

    def breaks(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as broken:
        broken.setattr(mail_intake, step, breaks)
        with pytest.raises(KeyboardInterrupt):
            handled(season, folder)
    (found,) = handled(season, folder)
    assert found.ending is Ending.TAKEN
    assert "Taken in:" in words(answer(found))
    assert len(list(answer(found).iter_attachments())) == 1
    assert len(list(book_events(season.folder))) == 1
    assert len(list(season.folder.outbox.glob("*.eml"))) == 1
    assert not list(season.folder.mailed.iterdir())


def test_a_rebuilt_ledger_knows_all_messages(season: Season, tmp_path: Path) -> None:
    """Events of mail are replayed like all others."""
    folder = laid(tmp_path / "in", {"m": message(("a.xlsx", book(season))), "n": message(name="n")})
    handled(season, folder)
    with Ledger(season.folder) as ledger:
        before = list(ledger.dump())
    assert rebuild(season.folder) == (3, [])
    with Ledger(season.folder) as ledger:
        assert list(ledger.dump()) == before
    assert any(row.startswith("messages: ") for row in before)
    assert handled(season, folder) == []
    assert checkup(season.folder.path).problems == ()


# ---- places --------------------------------------------------------------------------------


def test_handled_files_move_to_the_named_folder(tmp_path: Path) -> None:
    """Within the folder of messages; two of one name keep both."""
    season = mail_season(tmp_path / "season", mail=MailSettings(move_to="Done"))
    data = message(("a.xlsx", book(season)))
    folder = laid(tmp_path / "in", {"m": data})
    handled(season, folder)
    laid(folder, {"m": message(name="other")})
    handled(season, folder)
    assert sorted(path.name for path in (folder / "Done").iterdir()) == ["m (2).eml", "m.eml"]
    assert (folder / "Done" / "m.eml").read_bytes() == data


def test_an_mbox_file_is_read_and_left_as_it_is(season: Season, tmp_path: Path) -> None:
    """Every message of it, once."""
    path = tmp_path / "mails"
    box = mailbox.mbox(path)
    for number, field_id in enumerate(("A1", "A2")):
        box.add(message((f"{field_id}.xlsx", book(season, field_id)), name=f"m{number}"))
    box.close()
    before = path.read_bytes()
    assert [one.ending for one in handled(season, path)] == [Ending.TAKEN, Ending.TAKEN]
    assert handled(season, path) == []
    assert path.read_bytes() == before


def test_a_place_without_messages_is_told(season: Season, tmp_path: Path) -> None:
    """No such file, or a file of another kind."""
    other = tmp_path / "mails.pst"
    other.write_bytes(b"!BDN")
    for place in (other, tmp_path / "nowhere"):
        shown = command(season, "--mail", str(place))
        assert sentence(problem("mail-source-missing", path=str(place))) in shown.output
        assert shown.exit_code == 1


def test_one_command_at_a_time_handles_the_mail(season: Season, tmp_path: Path) -> None:
    """The second one says so at once."""
    with mail_lock(season.folder):
        shown = command(season, "--mail", str(tmp_path))
    assert sentence(problem("mail-busy")) in shown.output
    assert shown.exit_code == 1


def test_a_mailbox_that_is_not_set_up_is_told(season: Season) -> None:
    """Which key is missing; files and mail at once are wrong use."""
    shown = command(season, "--mail")
    assert sentence(problem("mail-not-set", key="mail.server")) in shown.output
    assert shown.exit_code == 1
    assert command(season, "book.xlsx", "--mail", "here").exit_code == 2


def test_a_message_that_breaks_its_reader_harms_no_other(season: Season, tmp_path: Path) -> None:
    """Parts nested beyond the parser's depth: told, and the good neighbour is taken in."""
    deep: bytes = message(("x.xlsx", b"PK\x03\x04"))
    for level in range(600):
        deep = part("Content-Type: message/rfc822", body=deep, boundary=f"q{level}")
    folder = laid(tmp_path / "in", {"1": deep, "2": message(("a.xlsx", book(season)))})
    first, second = handled(season, folder)
    assert set(codes(first)) <= {"mail-sender-unclear", "mail-unreadable", "mail-too-deep"}
    assert second.ending is Ending.TAKEN


def test_templates_of_ones_own_win(season: Season, tmp_path: Path) -> None:
    """The words of an answer can be one's own."""
    own = tmp_path / "own" / "mail"
    own.mkdir(parents=True)
    (own / "answer.txt.j2").write_text("Got it, {{ page.name }} <&>")
    folder = laid(tmp_path / "in", {"m": message(("a.xlsx", book(season)))})
    command(season, "--mail", str(folder), "--templates", str(own.parent))
    (path,) = season.folder.outbox.glob("*.eml")
    assert "Got it, Ana <&>" in words(message_from_bytes(path.read_bytes(), policy=default))  # type: ignore[arg-type]


def test_half_written_files_of_a_killed_run_go(season: Season, tmp_path: Path) -> None:
    """Also where no book comes after it: an event, a draft, a correction book, an identity."""
    folder = season.folder
    places = (folder.events, folder.outbox, folder.blank / "ask", folder.identities)
    for place in places:
        place.mkdir(parents=True, exist_ok=True)
        (place / ".writing-left").write_bytes(b"half")
    handled(season, laid(tmp_path / "in", {}))
    assert checkup(folder.path).problems == ()


def test_attachments_left_by_a_killed_run_go(
    season: Season, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its message comes again; the usual intake does not see them."""
    write_safely(season.folder.mailed / "mail-left.xlsx", b"PK")
    assert "No files to take in." in command(season).output
    handled(season, laid(tmp_path / "in", {}))
    assert not list(season.folder.mailed.iterdir())


def test_mail_works_with_a_teams_ledger(season: Season, tmp_path: Path, postgres: Postgres) -> None:
    """A message, its book and its answer are known in PostgreSQL as in a file, either way."""
    settings = season.folder.settings
    words = settings.read_text("utf-8").replace(
        "\n[ledger]\n", f'\n[ledger]\nurl = "{postgres.new_url()}"\n'
    )
    settings.write_text(words, "utf-8")
    team, problems = open_season(season.folder.path)
    assert team is not None, problems
    folder = laid(tmp_path / "in", {"m": message(("a.xlsx", book(team))), "n": message(name="n")})
    assert [one.ending for one in handled(team, folder)] == [Ending.TAKEN, Ending.PASSED]
    draft, _ = (one for one in waiting(team) if isinstance(one, Waiting))
    assert claim(team.folder, draft, now=NOW)
    assert handled(team, folder) == []
    with Ledger(team.folder) as ledger:
        before = list(ledger.dump())
    with Ledger(replace(team.folder, database=None)) as ledger:
        assert list(ledger.dump()) == before
    assert rebuild(team.folder) == (4, [])
    with Ledger(team.folder) as ledger:
        assert list(ledger.dump()) == before


def test_a_draft_is_sent_by_one_computer_alone(season: Season, tmp_path: Path) -> None:
    """Two saw it wait; only the first one that takes its turn may send it, also after the end."""
    handled(season, laid(tmp_path / "in", {"m": message(("a.xlsx", book(season)))}))
    (draft,) = (one for one in waiting(season) if isinstance(one, Waiting))
    assert claim(season.folder, draft, now=NOW)
    assert not claim(season.folder, draft, now=NOW)
    note(season.folder, draft, Delivery.SENT, now=NOW)
    assert not claim(season.folder, draft, now=NOW)
    assert len(list(read_events(season.folder))) == 4
