"""Passwords come from the environment or the system's keyring; no file and no log holds one."""

import os

SERVICE = "silkbook"
IMAP_VARIABLE, SMTP_VARIABLE = "SILKBOOK_MAIL_PASSWORD", "SILKBOOK_SMTP_PASSWORD"


def password(user: str, server: str, *variables: str) -> str | None:
    """Return the password of a user at a server; None where neither place has one.

    The first of the `variables` that is set wins; the keyring has it as ``silkbook``,
    ``USER@SERVER``.
    """
    named = next((os.environ[name] for name in variables if os.environ.get(name)), None)
    return named or _from_keyring(f"{user}@{server}")


def _from_keyring(name: str) -> str | None:
    import keyring
    from keyring.errors import KeyringError

    try:
        return keyring.get_password(SERVICE, name)
    except KeyringError:  # no keyring on this machine, or one that stays locked
        return None
