"""Messages in a mailbox on a server: IMAP over TLS, read without marking, never deleted."""

import imaplib
import re
import ssl
from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager, suppress
from functools import partial
from typing import Any

from imap_tools import BaseMailBox, MailBox
from imap_tools.errors import ImapToolsError, MailboxFolderSelectError, MailboxLoginError

from fieldbook.mail.message import MAX_MESSAGE_BYTES, RawMessage
from fieldbook.mail.passwords import IMAP_VARIABLE, password
from fieldbook.mail.refusal import MailRefusal, refusal, told
from fieldbook.mail.source import Piece
from fieldbook.problems import Problem, problem
from fieldbook.settings.mail import MailSettings

_TIMEOUT_S = 60.0
_SIZE = re.compile(rb"RFC822\.SIZE (\d+)")
_FAULTS = (imaplib.IMAP4.error, ImapToolsError, OSError, UnicodeError, ValueError)


@contextmanager
def imap_source(settings: MailSettings) -> Iterator["ImapSource"]:
    """Open the season's mailbox, and leave it politely whatever happens."""
    server, user = settings.server, settings.user
    if server is None or user is None:
        key = "server" if server is None else "user"
        raise refusal("mail-not-set", key=f"mail.{key}")
    secret = password(user, server, IMAP_VARIABLE)
    if secret is None:
        raise refusal("mail-no-password", user=user, server=server, variable=IMAP_VARIABLE)
    box = _connected(server, settings.port)
    try:
        _log_in(box, settings, user, secret)
        yield ImapSource(box, settings)
    finally:
        with suppress(*_FAULTS):
            box.logout()
        with suppress(*_FAULTS):  # a server that is gone can't be left politely
            box.client.shutdown()


def _connected(server: str, port: int) -> BaseMailBox:
    try:
        context = ssl.create_default_context()
        return MailBox(server, port, timeout=_TIMEOUT_S, ssl_context=context)
    except ssl.SSLCertVerificationError as fault:
        detail = told(fault.verify_message)
        raise refusal("mail-certificate", server=server, detail=detail) from None
    except (OSError, UnicodeError, imaplib.IMAP4.error) as fault:
        raise refusal("mail-server-gone", server=server, detail=told(fault)) from None


def _log_in(box: BaseMailBox, settings: MailSettings, user: str, secret: str) -> None:
    server = settings.server or ""
    try:
        log_in = box.login if (user + secret).isascii() else box.login_utf8
        log_in(user, secret, initial_folder=settings.folder)
    except MailboxFolderSelectError as fault:
        params = {"server": server, "folder": settings.folder, "detail": _said(fault, secret)}
        raise refusal("mail-folder-refused", **params) from None
    except imaplib.IMAP4.abort as fault:
        raise refusal("mail-server-gone", server=server, detail=told(fault, secret)) from None
    except (MailboxLoginError, imaplib.IMAP4.error) as fault:
        detail = _said(fault, secret)
        raise refusal("mail-login-refused", server=server, user=user, detail=detail) from None
    except _FAULTS as fault:
        raise refusal("mail-server-gone", server=server, detail=told(fault, secret)) from None


def _said(fault: Exception, secret: str | None = None) -> str:
    """Return a server's own words from a fault of the library."""
    result: Any = getattr(fault, "command_result", None)
    words = result[1] if result and len(result) > 1 else [str(fault)]
    return told(words[0] if isinstance(words, list) and words else words, secret)


class ImapSource:
    """The messages of one folder; `imap_source` opens it."""

    def __init__(self, box: BaseMailBox, settings: MailSettings) -> None:
        self._box = box
        self._settings = settings
        self._server = settings.server or ""
        self._is_made = False
        self.problems: list[Problem] = []

    def pieces(self, known: Collection[str]) -> tuple[int, Iterator[Piece]]:
        """Go through the messages in the order they came; a place is folder, validity, number."""
        status = self._asked(partial(self._box.folder.status, self._settings.folder))
        start = f"{self._settings.folder};{status.get('UIDVALIDITY', 0)};"
        uids: list[str] = self._asked(self._box.uids)
        fresh = [uid for uid in uids if start + uid not in known]
        for uid in uids:
            if start + uid in known:  # handled before, but the move was broken off
                self._move(uid)
        return len(fresh), (self._piece(start, uid) for uid in fresh)

    def _piece(self, start: str, uid: str) -> Piece:
        label = f"{self._settings.folder} #{uid}"
        return Piece(place=start + uid, label=label, load=partial(self._load, uid))

    def _load(self, uid: str) -> RawMessage | None:
        """Fetch a message without marking it as seen; of one too large only its head."""
        found = _SIZE.search(_joined(self._fetch(uid, "(RFC822.SIZE)")))
        is_cut = bool(found and int(found[1]) > MAX_MESSAGE_BYTES)
        part = "(BODY.PEEK[HEADER])" if is_cut else "(BODY.PEEK[])"
        rows = self._fetch(uid, part)
        data = next((row[1] for row in rows if isinstance(row, tuple)), None)
        return None if data is None else RawMessage(data=data, is_cut=is_cut)

    def _fetch(self, uid: str, part: str) -> list[Any]:
        def fetch() -> list[Any]:
            kind, rows = self._box.client.uid("FETCH", uid, part)
            if kind != "OK":
                raise imaplib.IMAP4.error(kind)
            return rows

        found: list[Any] = self._asked(fetch)
        return found

    def put_away(self, piece: Piece) -> None:
        """Move a handled message to the folder that the season names."""
        self._move(piece.place.rpartition(";")[2])

    def _move(self, uid: str) -> None:
        """Move one message; where the server refuses, say so once and leave the rest as well."""
        folder = self._settings.move_to
        if folder is None or self.problems:
            return
        try:
            self._make(folder)
            self._box.move(uid, folder)
        except ImapToolsError as fault:
            params = {"server": self._server, "folder": folder, "detail": _said(fault)}
            self.problems.append(problem("mail-folder-refused", **params))
        except _FAULTS as fault:
            raise self._gone(fault) from None

    def _make(self, folder: str) -> None:
        """Make the folder that messages move to, where the server can move at all.

        Without that the library would copy and delete, and a break could leave two or none.
        """
        if self._is_made:
            return
        if b"MOVE" not in self._abilities():
            raise ImapToolsError("it cannot move messages; take move_to out of season.toml")
        if not self._box.folder.exists(folder):
            self._box.folder.create(folder)
        self._is_made = True

    def _abilities(self) -> bytes:
        """Ask what the server can do: it may say more after the login than before."""
        client = self._box.client
        _, said = client.capability()
        known = bytes(said[-1] or b"").upper() if said else b""
        client.capabilities = tuple(known.decode("ascii", "replace").split())
        return known

    def _asked(self, ask: Callable[[], Any]) -> Any:
        """Ask the server something; one that is gone in the middle ends the run plainly."""
        try:
            return ask()
        except _FAULTS as fault:
            raise self._gone(fault) from None

    def _gone(self, fault: Exception) -> MailRefusal:
        return refusal("mail-server-gone", server=self._server, detail=_said(fault))


def _joined(rows: list[Any]) -> bytes:
    parts = (row[0] if isinstance(row, tuple) else row for row in rows)
    return b" ".join(part for part in parts if isinstance(part, bytes))
