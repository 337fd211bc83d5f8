"""Write what reports say, section by section and drawing by drawing, as small texts to keep."""

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

from report import factory

from fieldbook.report.drawings import Drawing
from fieldbook.report.drawings.shapes import Label
from fieldbook.report.field_sections import Section
from fieldbook.report.sections import Page, field_view
from fieldbook.results.result import FieldResult

KEPT = Path(__file__).parent / "report" / "snapshots"


def shown_fields() -> dict[str, Callable[[], FieldResult]]:
    """Return the fields that are kept: together they have every section and drawing."""
    return {"failed": factory.failed, "no-visit": factory.no_visit, "ripe": _ripe}


def _ripe() -> FieldResult:
    sick = factory.leaves(factory.leaf("gray-leaf-spot", [(12, 4)] * 5, highest_leaf="below-1"))
    ripe = factory.ripening(looks=[("pink-tip", 2)])
    return replace(factory.full(), leaves=sick, fungicide=factory.asked(), ripe=ripe)


def section_text(name: str) -> str:
    """Write the sections of a report, a line a sentence."""
    return "\n".join(_lines(_view(name))) + "\n"


def drawing_text(name: str) -> str:
    """Write the drawings of a report: words, labels, and shapes by role."""
    view = _view(name)
    pictures = [one.picture for one in (*view.sections, *view.behind) if one.picture]
    drawn = [one for picture in pictures for one in (picture.wide, picture.narrow)]
    return "\n".join(line for one in drawn for line in _drawn(one)) + "\n"


def _view(name: str) -> Page:
    return field_view(shown_fields()[name](), factory.context())


def _lines(view: Page) -> Iterator[str]:
    yield from view.lead
    yield f"# {view.to_do.heading}"
    yield from (f"{step.what} | {step.when} | {step.who}" for step in view.to_do.steps)
    for section in view.sections:
        yield from _section(section)
    yield "---- behind"
    for section in view.behind:
        yield from _section(section)
    for notes in (view.cautions, *view.lists):
        yield f"# {notes.heading}"
        yield from notes.lines


def _section(section: Section) -> Iterator[str]:
    yield f"# {section.heading}"
    yield from (*section.sentences, *section.lines)
    if section.table:
        yield from (" | ".join(row) for row in (section.table.heads, *section.table.rows))
    if section.picture:
        yield f"[{section.picture.wide.name}] {section.picture.caption}"


def _drawn(drawing: Drawing) -> Iterator[str]:
    yield f"# {drawing.name}, {drawing.width:.0f} by {drawing.height:.0f}"
    yield f"{drawing.title}. {drawing.about}"
    yield " | ".join(label.text for label in drawing.labels)
    roles = Counter(
        f"{one.kind} {one.role}" for one in drawing.shapes if not isinstance(one, Label)
    )
    yield ", ".join(f"{count} {role}" for role, count in sorted(roles.items()))


def renew() -> None:
    """Write all texts anew."""
    KEPT.mkdir(exist_ok=True)
    for name in shown_fields():
        (KEPT / f"{name}.txt").write_text(section_text(name), "utf-8")
        (KEPT / f"{name}-drawings.txt").write_text(drawing_text(name), "utf-8")


if __name__ == "__main__":
    renew()
