"""How a key and a section of ``season.toml`` are declared."""

from dataclasses import dataclass
from typing import Any

from fieldbook.settings.rules import Rule


@dataclass(frozen=True, kw_only=True)
class Key:
    """One key: where its value goes, what it may be, and what a fresh file says above it.

    ``example`` stands commented out in a fresh file where the key is not set.
    """

    name: str
    rule: Rule
    comment: str = ""
    attribute: str = ""
    needed: bool = False
    default: Any = None
    example: str = ""

    @property
    def target(self) -> str:
        """The attribute of the record that takes the value."""
        return self.attribute or self.name


@dataclass(frozen=True, kw_only=True)
class Section:
    """A table of keys.

    With ``names`` the section holds one table a name, which must fit that rule; with ``free``
    it holds any key, and every value must fit that rule.
    """

    name: str
    comment: str
    keys: tuple[Key, ...] = ()
    names: Rule | None = None
    free: Rule | None = None
    example: str = ""
