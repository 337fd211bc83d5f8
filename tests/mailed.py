"""Many messages of all kinds through a real mailbox, and kills in the middle of it.

``python tests/mailed.py --messages 500 --kills 50`` puts 500 seeded messages into a Dovecot, 40 of
them with a good book each, and takes all in by the command; then it kills the command, which takes
in and sends, with signal 9 at 50 seeded moments over a smaller mailbox, half of them while it
sends, and runs it again to the end. It prints lines for `validation.md`. The tests run a share.
"""

import argparse
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from email import message_from_bytes
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent)]

from launcher import LAUNCHER  # noqa: E402
from mailserver import HOST, PASSWORD, USER, Mailbox, Postbox, mailbox, postbox  # noqa: E402
from post import (  # noqa: E402
    ANA,
    AS_OF,
    JOSS,
    MX,
    OURS,
    book,
    mail_season,
    message,
    part,
    raw,
    zipped,
)
from seasons import ROWS  # noqa: E402

from fieldbook.ledger.events import book_events, read_events  # noqa: E402
from fieldbook.ledger.ledger import Ledger  # noqa: E402
from fieldbook.ledger.mail_events import MessageEvent  # noqa: E402
from fieldbook.season.doctor import checkup  # noqa: E402
from fieldbook.season.season import Season, open_season  # noqa: E402
from fieldbook.settings.mail import MailSettings  # noqa: E402

MESSAGES, GOOD, KILLS, SEED = 500, 40, 50, "mailed-1"
KILLED_MESSAGES, KILLED_GOOD = 60, 12
_SPARE = "Z99"  # the field of books that strangers send
_COMMAND = "from fieldbook.cli import main; main()"
_GIVEN_UP_S = 900.0
PASS = ("Authentication-Results", f"{MX}; dmarc=pass header.from=example.org")
FAIL = ("Authentication-Results", f"{MX}; dmarc=fail header.from=example.org")


# ---- messages ------------------------------------------------------------------------------


def good_books(season: Season, count: int) -> dict[str, bytes]:
    """Write a filled book for each of some fields."""
    return {f"K{n:02d}": book(season, f"K{n:02d}") for n in range(count)}


def good_messages(books: Mapping[str, bytes]) -> dict[str, bytes]:
    """Send each book by the scout of its field, wrapped in one of the usual ways."""
    return {
        f"good-{field_id}": _wrapped(number, field_id, data)
        for number, (field_id, data) in enumerate(books.items())
    }


def _wrapped(number: int, field_id: str, data: bytes) -> bytes:
    sender, name = (ANA, JOSS)[number % 2], f"good-{field_id}"
    if number % 4 == 0:
        return message((f"{field_id}.xlsx", data), sender=sender, name=name, heads=[PASS])
    if number % 4 == 1:
        return message(("b.zip", zipped({"x/a.xlsx": data})), sender=sender, name=name)
    if number % 4 == 2:
        inner = message(("fwd.xlsx", data), sender="eve@example.net", name="inner")
        kind = "Content-Type: message/rfc822"
        return part(kind, body=inner, sender=sender, name=name, boundary="outer")
    sent = (("logo.png", b"\x89PNG"), ("../../k.xlsx", data))
    return message(*sent, sender=sender, name=name)


def other_message(
    kind: int, number: int, spare: bytes, good: list[bytes], luck: random.Random
) -> bytes:
    """Make a message that may change nothing: of strangers, machines, or made to do harm."""
    name = f"other-{number}"
    damaged = spare[: luck.randrange(1, len(spare))]
    made: tuple[Callable[[], bytes], ...] = (
        lambda: message(("a.xlsx", spare), sender="eve@example.net", name=name),
        lambda: message(sender="news@example.net", name=name, heads=[("List-Id", "<n.example>")]),
        lambda: message(("a.xlsx", spare), sender=OURS, name=name),
        lambda: raw(f"From: {ANA}", "From: eve@example.net", f"X-Number: {number}", "", "x"),
        lambda: message(name=name, text="thanks", heads=[("Auto-Submitted", "auto-replied")]),
        lambda: message(("p.jpg", b"\xff\xd8"), name=name, sender=(ANA, JOSS)[number % 2]),
        lambda: message(("a.xlsx", damaged), name=name),
        lambda: message(("winmail.dat", b"\x78\x9f\x3e\x22"), name=name),
        lambda: message(("z.zip", zipped({"a.xlsx": b"\0" * 30_000_000})), name=name),
        lambda: message(("z.zip", zipped({"b.zip": zipped({"a.xlsx": spare})})), name=name),
        lambda: message(("z.zip", zipped({"../../a.xlsx": spare})), name=name),
        lambda: raw(
            f"From: {ANA}",
            f"Message-ID: <{name}@x>",
            'Content-Type: multipart/mixed; boundary="b"',
            "",
            *["--b", "", "x"] * 3000,
        ),
        lambda: _nested(200, name),
        lambda: raw(*["X-Long: " + "a" * 900] * 400, f"From: {ANA}", f"X: {number}", "", "x"),
        lambda: message(("a.xlsx", damaged), subject="Hi\u202e there", name=name),
        lambda: message(("a.xlsx", spare), name=name, heads=[FAIL]),
        lambda: raw(f"From: {'(' * 5000}{number}", "Subject: =?x?q?" + "=" * 5000, "", "x"),
        lambda: luck.choice(good),  # delivered twice
        lambda: _scratched(luck.choice(good), luck),
        lambda: luck.randbytes(luck.randrange(1, 3000)),
    )
    return made[kind % len(made)]()


def _nested(depth: int, name: str) -> bytes:
    data = message(name=name)
    for level in range(depth):
        data = part("Content-Type: message/rfc822", body=data, boundary=f"q{level}", name=name)
    return data


def _scratched(data: bytes, luck: random.Random) -> bytes:
    """Change bytes of a good message anywhere."""
    changed = bytearray(data)
    for _ in range(luck.randrange(1, 12)):
        changed[luck.randrange(len(changed))] = luck.randrange(256)
    return bytes(changed)


def all_messages(season: Season, count: int, good: int, seed: str) -> list[bytes]:
    """Make all messages, the good ones spread among the others."""
    luck = random.Random(seed)
    fine = list(good_messages(good_books(season, good)).values())
    spare = book(season, _SPARE)
    found = [other_message(n, n, spare, fine, luck) for n in range(count - good)]
    for data in fine:
        found.insert(luck.randrange(len(found) + 1), data)
    return found


# ---- the season, and what must be true of it -----------------------------------------------


def make_season(path: Path, *, good: int, port: int = 993, smtp_port: int = 465) -> Season:
    """Make a season with a field for each good book, and one that no book may reach."""
    settings = MailSettings(
        server=HOST,
        port=port,
        user=USER,
        authentication_server=MX,
        from_address=OURS,
        smtp_server=HOST,
        smtp_port=smtp_port,
    )
    ids = [*(f"K{n:02d}" for n in range(good)), _SPARE]
    rows = tuple(
        replace(ROWS[0], field_id=one, field=f"Bend {one}", scout=("ana", "joss")[at % 2])
        for at, one in enumerate(ids)
    )
    return mail_season(path, mail=settings, rows=rows)


def cells(season: Season) -> dict[str, object]:
    """Return every cell that the ledger holds, by visit."""
    with Ledger(season.folder) as ledger:
        return dict(ledger.typed_now([visit.visit_id for visit in ledger.visits()]))


def wrong_with(season: Season, good: int, wanted: Mapping[str, object] | None) -> Iterator[str]:
    """Tell what is not as it must be: every good book once, nothing else, a whole season."""
    events = Counter(event.sha256 for event in book_events(season.folder))
    if sorted(events.values()) != [1] * good:
        yield f"{len(events)} books taken in, {sum(events.values())} times, not {good} once"
    found = cells(season)
    if wanted is not None and found != wanted:
        yield "cells are not as undisturbed"
    if any(visit.startswith(_SPARE) for visit in found):
        yield "a book of a stranger was taken in"
    keys = Counter(one.key for one in read_events(season.folder) if isinstance(one, MessageEvent))
    if any(count > 1 for count in keys.values()):
        yield "a message was handled twice"
    yield from (f"the doctor says {found.code}" for found in checkup(season.folder.path).problems)
    for path in season.folder.path.rglob("*"):
        if path.is_file() and PASSWORD.encode() in path.read_bytes():
            yield f"the password stands in {path.name}"


def command(season: Path, *options: str) -> "subprocess.Popen[str]":
    """Start the command in a process of its own."""
    return subprocess.Popen(
        words(season, *options),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
        start_new_session=True,
    )


def words(season: Path, *options: str) -> list[str]:
    """Return the words that start the command."""
    run = [sys.executable, "-c", _COMMAND, "intake", "--season", str(season), "--as-of", AS_OF]
    return [*run, *options]


def measured(season: Path, *options: str) -> tuple[float, float]:
    """Run the command to its end as `finished` does; return seconds and the peak of memory [MB]."""
    begun = time.monotonic()
    run = [sys.executable, "-c", LAUNCHER, *words(season, *options)]
    ran = subprocess.run(
        run, check=False, capture_output=True, text=True, errors="replace", timeout=_GIVEN_UP_S
    )
    *said, peak_kb = ran.stderr.splitlines()
    assert ran.returncode in (0, 1), said[-20:]
    assert "Traceback" not in ran.stderr, said[-20:]
    assert PASSWORD not in ran.stdout + ran.stderr
    return time.monotonic() - begun, float(peak_kb) / 1024


def finished(season: Path, *options: str) -> tuple[float, str]:
    """Run the command to its end; return seconds and words; a traceback is a failure."""
    begun = time.monotonic()
    process = command(season, *options)
    said, _ = process.communicate(timeout=_GIVEN_UP_S)
    assert process.returncode in (0, 1), said[-2000:]
    assert "Traceback" not in said, said[-2000:]
    assert PASSWORD not in said
    return time.monotonic() - begun, said


def trusting(box: Mailbox) -> dict[str, str]:
    """Return what the environment must hold, and put it there."""
    needed = {
        "SSL_CERT_FILE": str(box.certificate.cert),
        "SILKBOOK_MAIL_PASSWORD": PASSWORD,
        "PYTHONPATH": str(Path(__file__).parents[1]),
    }
    os.environ.update(needed)
    return needed


def delivered(box: Mailbox, messages: list[bytes]) -> None:
    """Put messages into the mailbox."""
    for number, data in enumerate(messages):
        box.deliver(data, number=number, give=False)
    box.give()


# ---- all kinds of messages -----------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Flood:
    """How many messages were handled, in what time and memory, and what is wrong."""

    messages: int
    events: Counter[str]
    answers: int
    seconds: float
    peak_mb: float
    wrong: tuple[str, ...]


def flood(folder: Path, *, count: int, good: int, seed: str) -> Flood:
    """Take in many messages of all kinds from a real mailbox."""
    with mailbox() as box:
        trusting(box)
        season = make_season(folder / "season", good=good, port=box.port)
        messages = all_messages(season, count, good, seed)
        delivered(box, messages)
        before = sorted(box.messages())
        seconds, peak_mb = measured(season.folder.path, "--mail")
        events = list(read_events(season.folder))
        endings = Counter(str(one.ending) for one in events if isinstance(one, MessageEvent))
        again, said = finished(season.folder.path, "--mail")
        wrong = [*wrong_with(season, good, None)]
        if sorted(box.messages()) != before:
            wrong.append("the mailbox is not as it was")
        if list(read_events(season.folder)) != events:
            wrong.append(f"a second run changed something in {again:.0f} s: {said[:300]}")
        answers = len(list(season.folder.outbox.glob("*.eml")))
    return Flood(
        messages=len(messages),
        events=endings,
        answers=answers,
        seconds=seconds,
        peak_mb=peak_mb,
        wrong=tuple(wrong),
    )


# ---- kills ---------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Kills:
    """How many runs were killed, how many drafts were left in doubt, and what went wrong."""

    killed: int
    doubts: int
    answers: int
    seconds: float
    wrong: tuple[str, ...]


def kills(folder: Path, *, moments: int, count: int, good: int, seed: str) -> Kills:
    """Kill the command that takes in and sends at seeded moments; run it again to the end."""
    luck = random.Random(seed)
    with mailbox() as box, postbox(box.certificate) as out:
        trusting(box)
        template = make_season(
            folder / "season", good=good, port=box.port, smtp_port=out.port
        ).folder.path
        delivered(box, all_messages(_opened(template), count, good, seed))
        calm = Path(shutil.copytree(template, folder / "calm"))
        reading_s, _ = finished(calm, "--mail")
        sending_s, _ = finished(calm, "--send")
        wanted, answers = cells(_opened(calm)), _sent(out)
        wrong = [*wrong_with(_opened(calm), good, None)]
        killed = doubts = 0
        for number in range(moments):
            out.got.clear()
            path = Path(shutil.copytree(template, folder / f"run-{number}"))
            share = luck.random()
            if number % 2:
                finished(path, "--mail")
                killed += _killed(path, share * sending_s, "--send")
            else:
                killed += _killed(path, share * (reading_s + sending_s), "--mail", "--send")
            _, said = finished(path, "--mail", "--send")
            odd, in_doubt = _odd(_opened(path), out, answers, good, wanted)
            doubts += in_doubt
            wrong += [f"moment {number} ({share:.3f}): {text}; {said[-200:]}" for text in odd]
            shutil.rmtree(path)
    return Kills(
        killed=killed,
        doubts=doubts,
        answers=len(answers),
        seconds=reading_s + sending_s,
        wrong=tuple(wrong),
    )


def _opened(path: Path) -> Season:
    season, problems = open_season(path)
    assert season is not None, problems
    return season


def _sent(out: Postbox) -> Counter[str]:
    return Counter(str(message_from_bytes(data)["Message-ID"]) for _, data in out.got)


def _killed(path: Path, seconds: float, *options: str) -> bool:
    """Kill the command with all its workers after so many seconds; say whether it still ran."""
    process = command(path, *options)
    try:
        process.communicate(timeout=seconds)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        process.communicate()
        return True
    return False


def _odd(
    season: Season,
    out: Postbox,
    answers: Counter[str],
    good: int,
    wanted: Mapping[str, object],
) -> tuple[list[str], int]:
    """Tell what is wrong after a kill and another run, and how many drafts are in doubt."""
    wrong = [*wrong_with(season, good, wanted)]
    sent = _sent(out)
    if any(count > 1 for count in sent.values()):
        wrong.append("an answer was sent twice")
    left = [path.read_bytes() for path in season.folder.outbox.glob("*.eml")]
    in_doubt = {str(message_from_bytes(data)["Message-ID"]) for data in left}
    lost = answers.keys() - sent.keys() - in_doubt
    if lost:
        wrong.append(f"{len(lost)} answers were neither sent nor left in doubt")
    if sent.keys() - answers.keys():
        wrong.append("an answer was sent that the undisturbed run does not know")
    if len(in_doubt) > 1:
        wrong.append(f"{len(in_doubt)} answers in doubt after one kill")
    return wrong, len(in_doubt)


# ---- the full run --------------------------------------------------------------------------


def main() -> None:
    """Run it all and print the lines."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--messages", type=int, default=MESSAGES)
    parser.add_argument("--kills", type=int, default=KILLS)
    parser.add_argument("--seed", default=SEED)
    wish = parser.parse_args()
    wrong: list[str] = []
    with tempfile.TemporaryDirectory() as scratch:
        if wish.messages:
            found = flood(Path(scratch) / "flood", count=wish.messages, good=GOOD, seed=wish.seed)
            wrong += found.wrong
            ends = ", ".join(f"{count} {name}" for name, count in sorted(found.events.items()))
            print(
                f"{found.messages} messages (seed `{wish.seed}`), {GOOD} of them with a good book, "
                f"from a mailbox: {ends}, the rest copies; {found.answers} answers written; "
                f"{found.seconds:.0f} s, at most {found.peak_mb:.0f} MB in a process; "
                f"{len(found.wrong)} things wrong."
            )
        if wish.kills:
            size = {"count": KILLED_MESSAGES, "good": KILLED_GOOD}
            shot = kills(Path(scratch) / "kills", moments=wish.kills, seed=wish.seed, **size)
            wrong += shot.wrong
            print(
                f"Kill -9 at {wish.kills} seeded moments of taking in {KILLED_MESSAGES} messages "
                f"and sending {shot.answers} answers ({shot.seconds:.1f} s undisturbed), half of "
                f"them while sending: {shot.killed} killed, {shot.doubts} answers left in doubt "
                f"and told, {len(shot.wrong)} things wrong."
            )
    for text in wrong:
        print(f"- **wrong**: {text}")
    sys.exit(bool(wrong))


if __name__ == "__main__":
    main()
