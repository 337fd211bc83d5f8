"""Give every walk that a book tells of its visit, before anything is judged by it."""

from dataclasses import replace

from fieldbook.check.book import visit_drafts
from fieldbook.check.visit import VisitDraft
from fieldbook.check.walks import KnownWalk, Walk, typed_walk, visit_of
from fieldbook.entries import BookEntries
from fieldbook.ledger.earlier import Earlier
from fieldbook.problems import Place, Problem, problem


def as_walked(earlier: Earlier, book: BookEntries) -> BookEntries:
    """Return a book whose visits are those of its walks, with a note of each that changed.

    A correction book keeps its visits: it was written for what stands in them. The visits of most
    other books are new, so that nothing is looked up for them.
    """
    identity = book.identity
    if identity.revises is not None:
        return book
    field_of = earlier.visit_ids([slip.field_id for slip in identity.visits], identity.round)
    if field_of.keys().isdisjoint(slip.visit_id for slip in identity.visits):
        return book
    known = earlier.known_walks(field_of)
    drafts = {draft.slip.visit_id: draft for draft in visit_drafts(book)[0]}
    slips, notes = [], []
    for slip in identity.visits:
        draft = drafts.get(slip.visit_id)
        if draft is None:  # a field named twice, as no book of ours has it
            slips.append(slip)
            continue
        own = [one for one in known.values() if field_of[one.visit_id] == slip.field_id]
        walk = typed_walk(draft)
        visit_id = visit_of(slip.visit_id, identity.book_id, walk, own)
        slips.append(replace(slip, visit_id=visit_id))
        if visit_id != slip.visit_id:
            found = _told(draft, walk, known[slip.visit_id], visit_id)
            notes.append(found.in_file(book.file))
    return replace(
        book,
        identity=replace(identity, visits=tuple(slips)),
        problems=(*book.problems, *notes),
    )


def _told(draft: VisitDraft, walk: Walk, printed: KnownWalk, visit_id: str) -> Problem:
    typed, before = (one.day.isoformat() if one.day else "" for one in (walk, printed.walk))
    return problem(
        "visit-of-another-day",
        draft.head.place("visit_date") if draft.head else Place(),
        field=draft.name,
        typed=typed,
        visit=printed.visit_id,
        before=before,
        now=visit_id,
    )
