"""What the value of a setting must be, in words and as a test.

A rule turns a value from TOML into the value that the program uses, or raises `UnfitError`; the
reader of ``season.toml`` turns that into a problem. `UnfitError` never leaves that reader.
"""

import re
from collections.abc import Callable, Collection
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import PurePosixPath, PureWindowsPath
from typing import Any, TypeGuard
from unicodedata import category
from zoneinfo import ZoneInfo, available_timezones

from fieldbook.settings.database_url import carries_password, is_url
from fieldbook.settings.look import LEAST_CONTRAST, PAPER, contrast
from fieldbook.words import number_words

NO_PASSWORD = (
    "an address without a password; keep that in the environment as PGPASSWORD, or in the file "
    "pgpass of PostgreSQL"
)
_SHOWN = 40
_LONGEST_ID = 40
_LONGEST_TEXT = 200
_OF_THREE, _FEWEST_KERNELS, _MOST_KERNELS = 3, 40, 200
_LARGEST = 1e300  # far from where whole numbers stop fitting a float
_NOT_IN_A_LINE = ("Cc", "Zl", "Zp")  # control signs, line and paragraph ends
_SHORT_TEXT = 90  # what stands on one line under a sheet
_PICTURES = (".png", ".jpg", ".jpeg")
_HEX_COLOUR = re.compile("#[0-9A-Fa-f]{6}")
_NOT_IN_FILE_NAMES = frozenset('\\/:*?"<>|')


class UnfitError(ValueError):
    """A value that its setting cannot have; the message, if any, says better what is wanted."""


class SecretError(UnfitError):
    """The same, of a value that must not be shown."""


@dataclass(frozen=True, kw_only=True)
class Rule:
    """What is wanted, in words, and how a value becomes the one that the program uses."""

    wanted: str
    read: Callable[[Any], Any]


def shown(value: object) -> str:
    """Write a value of a settings file as its author would know it, cut to a sane length."""
    text = str(value).lower() if isinstance(value, bool) else _plain(value)
    clean = "".join(sign if sign.isprintable() else " " for sign in text)
    return clean if len(clean) <= _SHOWN else clean[: _SHOWN - 3] + "..."


def _plain(value: object) -> str:
    if isinstance(value, dict):
        return "[...]"
    if isinstance(value, float):
        return number_words(value)
    try:
        return ", ".join(map(str, value)) if isinstance(value, list) else str(value)
    except (ValueError, RecursionError):  # over 4,300 digits, or brackets in brackets
        return "[...]"


def one_of(*choices: Any) -> Rule:
    """Take one of a few values."""
    known = {str(choice): choice for choice in choices}
    wanted = " or ".join(f"'{name}'" for name in known)

    def read(value: Any) -> Any:
        if not isinstance(value, str) or value not in known:
            raise UnfitError
        return known[value]

    return Rule(wanted=wanted, read=read)


def number(wanted: str, *, least: float, most: float, above_least: bool = False) -> Rule:
    """Take a number between two limits; ``above_least`` leaves out the lower one itself."""

    def read(value: Any) -> float:
        if not is_number(value) or not least <= value <= most or (above_least and value == least):
            raise UnfitError
        return float(value)

    return Rule(wanted=wanted, read=read)


def whole(wanted: str, *, least: int, most: int) -> Rule:
    """Take a whole number between two limits."""

    def read(value: Any) -> int:
        if not isinstance(value, int) or isinstance(value, bool) or not least <= value <= most:
            raise UnfitError
        return value

    return Rule(wanted=wanted, read=read)


def is_number(value: object) -> TypeGuard[int | float]:
    """Whether a value of TOML is a number: true and false are none, nor are inf and nan."""
    if not isinstance(value, int | float) or isinstance(value, bool):
        return False
    return abs(value) <= _LARGEST


def _text(value: Any) -> str:
    if not isinstance(value, str) or not value.strip() or len(value) > _LONGEST_TEXT:
        raise UnfitError
    if any(category(sign) in _NOT_IN_A_LINE for sign in value):
        raise UnfitError
    return value.strip()


def _yes_or_no(value: Any) -> bool:
    if not isinstance(value, bool):
        raise UnfitError
    return value


def _id(value: Any) -> str:
    text = _text(value)
    if len(text) > _LONGEST_ID or not text[0].isalnum():
        raise UnfitError
    if not all(sign.isalnum() or sign in "-_." for sign in text):
        raise UnfitError
    return text


def _station_name(value: Any) -> str:
    text = _text(value)
    if _NOT_IN_FILE_NAMES & set(text) or text.startswith(".") or len(text) > 2 * _LONGEST_ID:
        raise UnfitError
    return text


def _mail(value: Any) -> str:
    text = _text(value)
    name, at, host = text.rpartition("@")
    if not (name and at and host) or "@" in name or set(" ,;<>") & set(text):
        raise UnfitError
    return text


def _mails(value: Any) -> tuple[str, ...]:
    if not isinstance(value, list):
        raise UnfitError
    return tuple(map(_mail, value))


def _host(value: Any) -> str:
    """Take the name of a server alone, not an address of the web."""
    text = _text(value)
    if not all(sign.isalnum() or sign in "-._" for sign in text):
        raise UnfitError
    return text


def _mail_folder(value: Any) -> str:
    text = _text(value)
    if set(text) & set('"*%'):
        raise UnfitError
    return text


def _file_names(value: Any) -> tuple[str, ...]:
    names = [value] if isinstance(value, str) else value
    if not isinstance(names, list) or not names:
        raise UnfitError
    return tuple(_file_name(name) for name in names)


def _file_name(value: Any) -> str:
    """Refuse a path that could leave the weather folder, on any system."""
    text = _text(value)
    here, windows = PurePosixPath(text), PureWindowsPath(text)
    if "\\" in text or here.is_absolute() or windows.drive or ".." in here.parts or not here.name:
        raise UnfitError
    return text


def _picture_name(value: Any) -> str:
    name = _file_name(value)
    if "/" in name or not name.lower().endswith(_PICTURES):
        raise UnfitError
    return name


def _short_text(value: Any) -> str:
    text = _text(value)
    if len(text) > _SHORT_TEXT:
        raise UnfitError
    return text


def _ink(value: Any) -> str:
    """Read a colour that words of it can be read on white paper, as WCAG 2 has it."""
    if not isinstance(value, str) or not _HEX_COLOUR.fullmatch(value):
        raise UnfitError
    if contrast(value, PAPER) < LEAST_CONTRAST:
        raise UnfitError(f"a darker colour, since '{value}' is hard to read on white paper")
    return value.lower()


def _time_zone(value: Any) -> str:
    text = _text(value)
    try:
        ZoneInfo(text)
    except (KeyError, ValueError, OSError):  # all three come from names of no zone
        raise UnfitError(_zone_wanted(text)) from None
    return text


def _zone_wanted(text: str) -> str:
    near = get_close_matches(text.replace(" ", "_"), sorted(available_timezones()), n=1)
    return f"a time zone such as '{near[0] if near else 'America/Chicago'}'"


def _database_url(value: Any) -> str:
    text = _text(value)
    if not is_url(text):
        raise UnfitError
    if carries_password(text):
        raise SecretError(NO_PASSWORD)
    return text


def _figure(value: Any) -> int | float | tuple[int | float, ...]:
    if is_number(value):
        return value
    if isinstance(value, list) and value and all(is_number(part) for part in value):
        return tuple(value)
    raise UnfitError


def _rising(value: Any) -> tuple[float, float, float]:
    """Read three counts from heavy kernels to light ones."""
    if not isinstance(value, list) or not all(is_number(part) for part in value):
        raise UnfitError
    heavy, likely, light = value if len(value) == _OF_THREE else (0.0, 0.0, 0.0)
    if not _FEWEST_KERNELS <= heavy <= likely <= light <= _MOST_KERNELS:
        raise UnfitError
    return float(heavy), float(likely), float(light)


def nearest(key: str, known: Collection[str]) -> str | None:
    """Return the known key that was probably meant, or None."""
    folded = {name.casefold(): name for name in known}
    near = get_close_matches(key.casefold(), folded, n=1)
    return folded[near[0]] if near else None


YES_OR_NO = Rule(wanted="true or false, without quotes", read=_yes_or_no)
TEXT = Rule(wanted="one line of text, at most 200 characters", read=_text)
ID = Rule(wanted="up to 40 letters, digits and - _ . without blanks", read=_id)
STATION_NAME = Rule(
    wanted='a name that a file can have, without \\ / : * ? " < > |', read=_station_name
)
MAIL_ADDRESS = Rule(wanted="one mail address such as 'ana@example.org'", read=_mail)
MAIL_ADDRESSES = Rule(wanted="mail addresses such as ['office@example.org']", read=_mails)
HOST = Rule(wanted="the name of a server such as 'imap.example.org'", read=_host)
MAIL_FOLDER = Rule(wanted='the name of a mail folder, without " * or %', read=_mail_folder)
FILE_NAMES = Rule(wanted="file names in the weather folder such as ['home.csv']", read=_file_names)
PICTURE_NAME = Rule(
    wanted="the name of a .png or .jpg file that lies beside season.toml", read=_picture_name
)
SHORT_TEXT = Rule(wanted="one line of text, at most 90 characters", read=_short_text)
INK = Rule(wanted="a colour such as '#1f4e79'", read=_ink)
TIME_ZONE = Rule(wanted="a time zone such as 'America/Chicago'", read=_time_zone)
DATABASE_URL = Rule(
    wanted="a PostgreSQL database such as 'postgresql://ana@db.example.org/corn'",
    read=_database_url,
)
KERNELS = Rule(
    wanted="three thousands of kernels from 40 to 200, rising, such as [80, 90, 100]", read=_rising
)
FIGURE = Rule(wanted="a number, or numbers in [ ]", read=_figure)
