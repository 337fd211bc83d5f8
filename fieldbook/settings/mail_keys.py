"""The keys of ``season.toml`` that are about mail; a password is never one of them."""

from dataclasses import replace

from fieldbook.settings.rules import (
    HOST,
    MAIL_ADDRESS,
    MAIL_ADDRESSES,
    MAIL_FOLDER,
    TEXT,
    whole,
)
from fieldbook.settings.shape import Key, Section

IMAP_PORT, SMTP_PORT = 993, 465
_PORT = whole("a port from 1 to 65535", least=1, most=65535)

_KEYS = (
    Key(
        name="server",
        rule=HOST,
        comment="The server of the mailbox (IMAP over TLS), its user and its folder.",
        example='"imap.example.org"',
    ),
    Key(name="port", rule=_PORT, default=IMAP_PORT),
    Key(name="user", rule=TEXT, example='"scouting@example.org"'),
    Key(name="folder", rule=MAIL_FOLDER, default="INBOX"),
    Key(
        name="move_to",
        rule=MAIL_FOLDER,
        comment="A folder to which messages move once they are handled. Without it they stay.",
        example='"Books"',
    ),
    Key(
        name="senders",
        rule=MAIL_ADDRESSES,
        default=(),
        comment="Addresses beside the scouts' whose books are taken in.",
    ),
    Key(
        name="authentication_server",
        rule=HOST,
        comment="The name under which your mail server says whether a sender is genuine: the "
        "first\nword of the header Authentication-Results. Messages that fail are set aside.",
        example='"mx.example.org"',
    ),
    Key(
        name="from",
        attribute="from_address",
        rule=MAIL_ADDRESS,
        comment="The address that answers come from, and the server that sends them (SMTP "
        "over TLS).\nNothing is sent without --send.",
        example='"scouting@example.org"',
    ),
    Key(name="smtp_server", rule=HOST, example='"smtp.example.org"'),
    Key(
        name="smtp_port",
        rule=_PORT,
        default=SMTP_PORT,
        comment="465 speaks TLS from the start; any other port has to offer STARTTLS.",
    ),
    Key(
        name="smtp_user",
        rule=TEXT,
        comment="Only where it differs from the user above.",
        example='"scouting@example.org"',
    ),
)
MAIL = Section(
    name="mail",
    comment="Mail. Passwords never stand here: 'silkbook intake --help' says where they belong.\n"
    "Books of the scouts' addresses below are taken in, and of those named under senders.",
    keys=tuple(replace(key, attribute=f"mail.{key.target}") for key in _KEYS),
)
