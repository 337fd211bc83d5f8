"""What the receiving server says of a sender (RFC 8601), where the season names that server."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum

_MOST_LETTERS = 4_000
_COMMENT = re.compile(r"\([^()]*\)")
_METHOD = re.compile(r"\s*(dmarc|dkim|spf)\s*=\s*([a-z]+)")
_DOMAIN = re.compile(r"(?:header\.from|header\.d|header\.i|smtp\.mailfrom)\s*=\s*\"?([^\s;\"]+)")
_BAD = ("fail", "softfail", "permerror", "policy")


class Genuine(StrEnum):
    """Whether the sender is who the message says: unasked where no server is named."""

    PASS = "pass"
    FAIL = "fail"
    NONE = "none"
    UNASKED = "unasked"


@dataclass(frozen=True, kw_only=True)
class _Result:
    """One method's result, and the domains that it was looked at for."""

    method: str
    result: str
    domains: tuple[str, ...]

    def verdict(self, domain: str) -> Genuine:
        """Weigh the result for a sender's domain; a pass for another domain says nothing."""
        if self.result in _BAD:
            return Genuine.FAIL
        is_his = any(_is_same(one, domain) for one in self.domains)
        return Genuine.PASS if self.result == "pass" and is_his else Genuine.NONE


def genuine(results: Iterable[str], *, server: str | None, sender: str | None) -> Genuine:
    """Weigh the heads of the named server; those of any other are somebody's claim.

    A pass counts only for the domain that the message names as its sender's. DMARC decides where
    it says anything; otherwise one pass is enough, and a failure without any pass is a failure.
    """
    if server is None:
        return Genuine.UNASKED
    domain = (sender or "").rpartition("@")[2]
    found = [(one.method, one.verdict(domain)) for text in results for one in _read(text, server)]
    every = [verdict for _, verdict in found]
    dmarc = [verdict for method, verdict in found if method == "dmarc"]
    if Genuine.FAIL in dmarc:
        return Genuine.FAIL
    return next((one for one in (Genuine.PASS, Genuine.FAIL) if one in every), Genuine.NONE)


def _read(text: str, server: str) -> Iterator[_Result]:
    """Yield each method's result, if this head is the named server's."""
    name, *parts = _COMMENT.sub(" ", text[:_MOST_LETTERS].lower()).split(";")
    if name.split()[:1] != [server.lower()]:
        return
    for part in parts:
        found = _METHOD.match(part)
        if found:
            domains = tuple(one.rpartition("@")[2] for one in _DOMAIN.findall(part))
            yield _Result(method=found[1], result=found[2], domains=domains)


def _is_same(one: str, domain: str) -> bool:
    """Say whether two domains are one, or one lies below the other."""
    if not one or not domain:
        return False
    return one == domain or one.endswith(f".{domain}") or domain.endswith(f".{one}")
