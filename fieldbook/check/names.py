"""The check of the names that a book was printed with."""

from collections.abc import Iterator, Sequence

from fieldbook.check.context import Context
from fieldbook.check.printed import printed_problems
from fieldbook.check.visit import VisitDraft
from fieldbook.problems import Problem


def printed_names(visits: Sequence[VisitDraft], context: Context) -> Iterator[Problem]:
    """Find a book that was printed for other fields than the roster has under its IDs."""
    slips = [visit.slip for visit in visits if visit.is_filled]
    yield from printed_problems(slips, context.roster)
