"""Messages and a season with addresses, for tests of mail."""

import io
import zipfile
from collections.abc import Iterable, Mapping
from email.message import EmailMessage
from pathlib import Path

from seasons import ROWS, begun, good_visit

from fieldbook.forms.roster import RosterRow
from fieldbook.forms.rounds import KERNEL_COUNT
from fieldbook.season.blank import Order, book_plans
from fieldbook.season.season import Season
from fieldbook.season.start import TIME_ZONE
from fieldbook.settings.mail import MailSettings
from fieldbook.settings.settings import Grower, Scout, Settings, Station
from fieldbook.units import System
from fieldbook.workbook.plan import EntryKey, EntryValue
from fieldbook.workbook.write import write_book

ANA, JOSS, OURS = "ana@example.org", "joss@example.org", "scouting@example.org"
MX = "mx.example.org"
AS_OF = "2026-08-20"


def mail_season(
    path: Path,
    *,
    mail: MailSettings | None = None,
    rows: tuple[RosterRow, ...] = ROWS,
    growers: Mapping[str, str] | None = None,
) -> Season:
    """Make and open a season whose scouts have addresses."""
    settings = Settings(
        season_id="test-2026",
        name="Test season 2026",
        year=2026,
        units=System.US,
        time_zone=TIME_ZONE,
        stations={"home": Station(name="home", units=System.US)},
        scouts=(
            Scout(scout_id="ana", name="Ana", mail="Ana@example.org"),
            Scout(scout_id="joss", name="Joss", mail=JOSS),
        ),
        mail=mail or MailSettings(from_address=OURS),
        growers=tuple(Grower(grower_id=name, mail=own) for name, own in (growers or {}).items()),
    )
    season = begun(path, settings, rows)
    season.folder.make()
    return season


def book(
    season: Season, field_id: str = "A1", entries: Mapping[EntryKey, EntryValue] | None = None
) -> bytes:
    """Write a filled book of one field; without entries one that has no fault."""
    order = Order(round_=KERNEL_COUNT, field_id=field_id, one_field=True)
    filled = {field_id: entries or good_visit(field_id)}
    return write_book(next(iter(book_plans(season, order, entries=filled))))


def message(
    *attached: tuple[str, bytes],
    name: str = "m1",
    sender: str = f"Ana <{ANA}>",
    subject: str = "Books",
    heads: Iterable[tuple[str, str]] = (),
    text: str = "Here they are.",
) -> bytes:
    """Write a message as a usual mail program does, with files attached."""
    made = EmailMessage()
    made["From"] = sender
    made["To"] = OURS
    made["Subject"] = subject
    made["Message-ID"] = f"<{name}@phone.example.org>"
    made["Date"] = "Thu, 20 Aug 2026 12:00:00 +0000"
    made.set_content(text)
    for file, data in attached:
        made.add_attachment(data, maintype="application", subtype="octet-stream", filename=file)
    above = "".join(f"{head}: {value}\r\n" for head, value in heads)
    return above.encode("utf-8") + made.as_bytes()


def raw(*parts: str | bytes) -> bytes:
    """Join lines as they stand in a message, for what no library would write."""
    lines = (part.encode("utf-8") if isinstance(part, str) else part for part in parts)
    return b"\r\n".join(lines)


def part(
    *heads: str, body: str | bytes = "", sender: str = ANA, name: str = "m1", boundary: str = "b"
) -> bytes:
    """Write a message of one part with just these heads of its own."""
    return raw(
        f"From: {sender}",
        f"Message-ID: <{name}@phone.example.org>",
        f'Content-Type: multipart/mixed; boundary="{boundary}"',
        "",
        f"--{boundary}",
        *heads,
        "",
        body,
        f"--{boundary}--",
        "",
    )


def zipped(files: Mapping[str, bytes]) -> bytes:
    """Pack files into a zip file."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return out.getvalue()


def laid(folder: Path, messages: Mapping[str, bytes]) -> Path:
    """Lay messages into a folder as .eml files."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, data in messages.items():
        (folder / f"{name}.eml").write_bytes(data)
    return folder
