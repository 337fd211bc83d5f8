"""Open the place that messages come from: what a person named, or the season's mailbox."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from fieldbook.mail.folder_source import file_source
from fieldbook.mail.source import Source
from fieldbook.season.season import Season


@contextmanager
def opened_source(season: Season, path: Path | None) -> Iterator[Source]:
    """Open a folder, an .eml file, an mbox file; without a path the mailbox of the season."""
    settings = season.settings.mail
    if path is not None:
        yield file_source(path, settings.move_to)
        return
    from fieldbook.mail.imap_source import imap_source

    with imap_source(settings) as source:
        yield source
