"""Where a file came from, and what became of it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from fieldbook.check.verdict import CheckedBook
from fieldbook.problems import Problem, Weight, worst
from fieldbook.words import one_line, say


@dataclass(frozen=True, kw_only=True)
class Origin:
    """Where files come from: a folder, or a message of a sender, who may be a scout.

    ``message`` is the message's key; ``names`` are the names that its attachments came with, which
    are only data.
    """

    source: str = "folder"
    sender: str | None = None
    scout: str | None = None
    message: str | None = None
    names: Mapping[Path, str] = field(default_factory=dict)

    def name_of(self, path: Path) -> str:
        """Return the name that a file came with, as any screen can show it."""
        return one_line(self.names.get(path, path.name))


FOLDER = Origin()


@dataclass(frozen=True, kw_only=True)
class Taken:
    """What became of one file; ``aside`` is where it lies now if it was set aside.

    ``given`` is the name that it came with, where that is not the name of its path;
    ``seen_as`` is the event that took the same content in before.
    """

    path: Path
    given: str = ""
    book_id: str = ""
    accepted: bool
    verdict: CheckedBook | None
    problems: tuple[Problem, ...]
    visits: tuple[str, ...] = ()
    aside: Path | None = None
    seen_as: int | None = None

    @property
    def name(self) -> str:
        """The file's name as any screen can show it."""
        return one_line(self.given or self.path.name)

    @property
    def open_problems(self) -> tuple[Problem, ...]:
        """Everything a person should look at now."""
        return (*self.problems, *(self.verdict.open_problems if self.verdict else ()))

    @property
    def was_seen(self) -> bool:
        """Say whether the same content was taken in before."""
        return any(found.code == "book-seen" for found in self.problems)

    @property
    def needs_a_look(self) -> bool:
        """Say whether something should be looked at: refused, seen before, or questioned."""
        return not self.accepted or worst(self.open_problems) in (Weight.ERROR, Weight.ASK)

    def said(self, language: str) -> str:
        """Say in a line what became of the file."""
        text = "{file}: not taken in"
        if self.accepted:
            text = "{file}: taken in: {visits}"
        elif self.was_seen:
            text = "{file}: nothing new"
        elif self.aside:
            text = "{file}: not taken in; set aside as {aside}"
        return say(text, language, file=self.name, visits=", ".join(self.visits), aside=self.aside)
