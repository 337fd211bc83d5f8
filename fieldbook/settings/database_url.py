"""The address of a database as a person writes it: PostgreSQL, and never with a password."""

from urllib.parse import parse_qs, urlsplit

_SCHEMES = ("postgresql", "postgres")
_SECRETS = ("password", "passfile", "sslpassword")


def carries_password(url: str) -> bool:
    """Say whether a URL holds a secret; it belongs where PostgreSQL's own tools look for it."""
    parts = urlsplit(url)
    return parts.password is not None or any(name in parse_qs(parts.query) for name in _SECRETS)


def is_url(text: str) -> bool:
    """Say whether this names a PostgreSQL database."""
    try:
        parts = urlsplit(text)
        port_is_fine = parts.port is None or parts.port > 0
    except ValueError:
        return False
    return parts.scheme in _SCHEMES and len(parts.path) > 1 and port_is_fine
