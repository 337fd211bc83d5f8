"""What ``season.toml`` sets about mail."""

from dataclasses import dataclass

from fieldbook.settings.mail_keys import IMAP_PORT, SMTP_PORT


@dataclass(frozen=True, kw_only=True)
class MailSettings:
    """Where mail comes from, whose is taken in, and how answers go out; never a password."""

    server: str | None = None
    port: int = IMAP_PORT
    user: str | None = None
    folder: str = "INBOX"
    move_to: str | None = None
    senders: tuple[str, ...] = ()
    authentication_server: str | None = None
    from_address: str | None = None
    smtp_server: str | None = None
    smtp_port: int = SMTP_PORT
    smtp_user: str | None = None
