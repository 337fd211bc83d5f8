"""Checks of leaf disease: how bad it is needs plants that have it."""

from collections.abc import Iterator

from fieldbook.check.context import Context
from fieldbook.check.rows import Draft, Finding
from fieldbook.check.visit import Located, VisitCheck, VisitDraft
from fieldbook.forms.leaves import NO_DISEASE
from fieldbook.problems import problem
from fieldbook.words import phrase


def severity_without_plants(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find diseased leaf area beside no plant with the disease."""
    for key, draft in visit.rows.get("leaves", {}).items():
        if _is_severe(draft) and not _has_plants(draft) and not _is_told_already(draft):
            found = problem(
                "severity-without-plants",
                draft.place("severity_pct"),
                typed=draft.typed("severity_pct"),
                column=phrase(draft.form.sheet.column("severity_pct").label),
                needs=phrase(draft.form.sheet.column("with_it").label),
            )
            yield "leaves", key, Finding(problem=found, marks=("severity_pct",))


def _is_severe(draft: Draft) -> bool:
    return draft.stands("severity_pct") and draft.values["severity_pct"] > 0


def _has_plants(draft: Draft) -> bool:
    return draft.is_faulty("with_it") or bool(draft.values.get("with_it"))


def _is_told_already(draft: Draft) -> bool:
    """Say whether the row's own rules speak: none seen, or no number of plants looked at."""
    disease = draft.values.get("disease")
    return disease == NO_DISEASE or (disease is not None and not draft.has("looked"))


LEAF_CHECKS: tuple[VisitCheck, ...] = (severity_without_plants,)
