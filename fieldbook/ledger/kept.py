"""Whether all that was kept is whole: the events and the originals, from which all else follows."""

from fieldbook.ledger.events import (
    BookEvent,
    DamagedEventError,
    event_name,
    event_paths,
    read_event,
)
from fieldbook.ledger.folder import SeasonFolder, digest
from fieldbook.ledger.photos import photo_problems
from fieldbook.problems import Problem, problem

BESIDE_THE_LEDGER = ("kept-original-damaged", "kept-photo-damaged")
"""Damage that a replay of the events does not suffer from."""


def kept_problems(folder: SeasonFolder) -> list[Problem]:
    """Find what is missing or damaged among the kept events and originals."""
    problems: list[Problem] = []
    numbers = {int(path.stem) for path in event_paths(folder)}
    for number in sorted(set(range(1, max(numbers, default=0) + 1)) - numbers):
        problems.append(problem("kept-event-missing", event=event_name(number)))
    for path in event_paths(folder):
        try:
            event = read_event(path)
        except DamagedEventError:
            problems.append(problem("kept-event-damaged", event=path.name))
            continue
        if not isinstance(event, BookEvent):
            continue
        found = next(folder.originals.glob(f"{event.sha256}.*"), None)
        if found is None or digest(found.read_bytes()) != event.sha256:
            problems.append(problem("kept-original-damaged", typed=event.file, event=path.name))
        problems += photo_problems(folder, event.verdict.photos, path.name)
    return problems
