"""Who is let in: the scouts' addresses and those that the season names beside them."""

from dataclasses import dataclass

from fieldbook.mail.authentication import Genuine
from fieldbook.mail.message import Message
from fieldbook.problems import Problem, problem
from fieldbook.season.season import Season


@dataclass(frozen=True, kw_only=True)
class Correspondent:
    """A person whose books are taken in; answers go to the address that the season has."""

    mail: str
    name: str
    scout: str | None = None


def correspondents(season: Season) -> dict[str, Correspondent]:
    """Return everyone whose books are taken in, by address in lower case; scouts come first."""
    settings = season.settings
    others = {
        mail.casefold(): Correspondent(mail=mail, name=mail) for mail in settings.mail.senders
    }
    scouts = {
        scout.mail.casefold(): Correspondent(mail=scout.mail, name=scout.name, scout=scout.scout_id)
        for scout in settings.scouts
        if scout.mail
    }
    return others | scouts


def let_in(
    season: Season, message: Message, authenticated: Genuine
) -> tuple[Correspondent | None, Problem | None]:
    """Say who sent a message, or why it is set aside: one of the two is None."""
    if message.sender is None:
        return None, problem("mail-sender-unclear")
    own = season.settings.mail.from_address
    if own and message.sender == own.casefold():
        return None, problem("mail-own", sender=message.sender)
    known = correspondents(season).get(message.sender)
    if known is None:
        code = "mail-sender-unknown" if message.books else "mail-not-ours"
        return None, problem(code, sender=message.sender)
    if authenticated is Genuine.FAIL:
        server = season.settings.mail.authentication_server or ""
        return None, problem("mail-not-genuine", sender=message.sender, server=server)
    return known, None
