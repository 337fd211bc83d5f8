"""Send drafts by SMTP over TLS: each once, and none without a person who asked for it.

Before the server takes a message over, the event `sending` is kept; after its answer, `sent` or
`refused`. Where the answer never comes, the draft stays in doubt and a person is told.
"""

import smtplib
import ssl
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime
from functools import partial

from fieldbook.ledger.mail_events import Delivery
from fieldbook.mail.outbox import Waiting, claim, note, put_away, waiting
from fieldbook.mail.passwords import IMAP_VARIABLE, SMTP_VARIABLE, password
from fieldbook.mail.refusal import refusal, told
from fieldbook.problems import Place, Problem, problem
from fieldbook.season.season import Season
from fieldbook.settings.mail import MailSettings

_TIMEOUT_S = 60.0
_TLS_PORT = 465
_TAKEN_OVER, _FINE = 250, 2
_FAULTS = (smtplib.SMTPException, OSError)


@dataclass(frozen=True, kw_only=True)
class Sent:
    """What became of one draft: sent, or why not."""

    name: str
    recipient: str = ""
    problem: Problem | None = None


def send_drafts(season: Season, *, now: datetime) -> Iterator[Sent]:
    """Send every draft that waits; raise `MailRefusal` where the server refuses or goes away."""
    ready = []
    for one in waiting(season):
        if isinstance(one, Problem):
            yield Sent(name=one.place.file or "", problem=one)
        else:
            ready.append(one)
    if not ready:
        return
    with _server(season.settings.mail) as (server, secret):
        for one in ready:
            sent = _send(season, server, secret, one, now)
            if sent is not None:
                yield sent


@contextmanager
def _server(settings: MailSettings) -> Iterator[tuple[smtplib.SMTP, str]]:
    """Open the season's server for outgoing mail, always in TLS, and leave it politely."""
    host, user = settings.smtp_server, settings.smtp_user or settings.user
    needed = {"smtp_server": host, "user": user, "from": settings.from_address}
    for key, value in needed.items():
        if value is None:
            raise refusal("mail-not-set", key=f"mail.{key}")
    assert host is not None
    assert user is not None
    secret = password(user, host, SMTP_VARIABLE, IMAP_VARIABLE)
    if secret is None:
        raise refusal("mail-no-password", user=user, server=host, variable=SMTP_VARIABLE)
    server = _connected(host, settings.smtp_port)
    try:
        _log_in(server, host, user, secret)
        yield server, secret
    finally:
        with suppress(*_FAULTS):
            server.quit()
        server.close()


def _connected(host: str, port: int) -> smtplib.SMTP:
    context = ssl.create_default_context()
    try:
        if port == _TLS_PORT:
            return smtplib.SMTP_SSL(host, port, timeout=_TIMEOUT_S, context=context)
        return _with_starttls(host, port, context)
    except ssl.SSLCertVerificationError as fault:
        detail = told(fault.verify_message)
        raise refusal("mail-certificate", server=host, detail=detail) from None
    except (*_FAULTS, UnicodeError) as fault:
        raise refusal("mail-server-gone", server=host, detail=told(fault)) from None


def _with_starttls(host: str, port: int, context: ssl.SSLContext) -> smtplib.SMTP:
    server = smtplib.SMTP(host, port, timeout=_TIMEOUT_S)
    try:
        server.starttls(context=context)
    except BaseException:
        server.close()
        raise
    return server


def _log_in(server: smtplib.SMTP, host: str, user: str, secret: str) -> None:
    try:
        server.login(user, secret)
    except smtplib.SMTPAuthenticationError as fault:
        detail = told(fault.smtp_error, secret)
        raise refusal("mail-login-refused", server=host, user=user, detail=detail) from None
    except UnicodeError:
        params = {"server": host, "user": user, "detail": "only plain letters can be sent"}
        raise refusal("mail-login-refused", **params) from None
    except _FAULTS as fault:
        raise refusal("mail-server-gone", server=host, detail=told(fault, secret)) from None


def _send(
    season: Season, server: smtplib.SMTP, secret: str, one: Waiting, now: datetime
) -> Sent | None:
    """Send one draft, and keep what the server said of it; None where another one sends it."""
    settings = season.settings.mail
    asked = partial(_asked, settings.smtp_server or "", secret)
    refused = asked(partial(_envelope, server, settings.from_address or "", one))
    if refused is None:
        if not claim(season.folder, one, now=now):
            server.rset()
            return None
        refused = asked(partial(_content, server, one))
        state = Delivery.SENT if refused is None else Delivery.REFUSED
        note(season.folder, one, state, now=now)
    if refused is not None:
        place = Place(file=one.path.name)
        params = {"recipient": one.recipient, "detail": told(refused, secret)}
        return Sent(name=one.path.name, problem=problem("mail-refused", place, **params))
    put_away(season.folder, one.path)
    return Sent(name=one.path.name, recipient=one.recipient)


def _asked(host: str, secret: str, ask: Callable[[], bytes | None]) -> bytes | None:
    """Speak with the server; one that goes away ends the run plainly."""
    try:
        return ask()
    except _FAULTS as fault:
        raise refusal("mail-server-gone", server=host, detail=told(fault, secret)) from None


def _envelope(server: smtplib.SMTP, sender: str, one: Waiting) -> bytes | None:
    """Name sender and recipient; return the server's words where it does not take one of them."""
    code, words = server.mail(sender)
    if code // 100 == _FINE:
        code, words = server.rcpt(one.recipient)
    if code // 100 == _FINE:
        return None
    server.rset()
    return words


def _content(server: smtplib.SMTP, one: Waiting) -> bytes | None:
    """Hand the message over; return the server's words where it does not take it."""
    try:
        code, words = server.data(one.data)
    except smtplib.SMTPDataError as fault:  # refused before a byte of it was sent
        server.rset()
        said = fault.smtp_error
        return said if isinstance(said, bytes) else said.encode()
    return None if code == _TAKEN_OVER else words
