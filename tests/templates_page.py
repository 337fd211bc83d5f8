"""Write `templates/README.md`: which template makes which page, and what data it gets.

``python tests/templates_page.py`` writes it anew from the records themselves; a test says when
that is due.
"""

import inspect
import re
import sys
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any, get_args, get_type_hints

sys.path[:0] = [str(Path(__file__).parent)]

from markupsafe import Markup  # noqa: E402

from fieldbook.mail.answers import Answer  # noqa: E402
from fieldbook.mail.letters import LetterPage  # noqa: E402
from fieldbook.render import shipped  # noqa: E402
from fieldbook.report.board_page import BoardView  # noqa: E402
from fieldbook.report.harvest_page import HarvestView  # noqa: E402
from fieldbook.report.letter_page import LetterView  # noqa: E402
from fieldbook.report.look import PageLook  # noqa: E402
from fieldbook.report.packet_page import PacketView  # noqa: E402
from fieldbook.report.plain import PlainView  # noqa: E402
from fieldbook.report.plan_page import WeekView  # noqa: E402
from fieldbook.report.sections import Page  # noqa: E402

PAGE = shipped("templates") / "README.md"
PAGES: Mapping[str, tuple[type, str]] = {
    "report/page.html.j2": (Page, "the report of one field, around the next"),
    "report/field.html.j2": (Page, "what a field's report says, in a packet as well"),
    "packet/page.html.j2": (PacketView, "a grower's packet"),
    "letter/page.html.j2": (LetterView, "a grower's letter after a round"),
    "board/page.html.j2": (BoardView, "the board of a season"),
    "harvest/page.html.j2": (HarvestView, "the order of harvest"),
    "plain/page.html.j2": (PlainView, "a trial compared, and estimates settled"),
    "plan/week.html.j2": (WeekView, "a scout's week"),
    "mail/answer.txt.j2": (Answer, "an answer to a message, as plain text"),
    "mail/letter.txt.j2": (LetterPage, "a letter to a grower, as plain text"),
}
_HEAD = """\
# Templates

Written by `python tests/templates_page.py` from the records that the pages are made of.

`--templates DIR` lets your own files win: a file in DIR takes the place of the one here that has
the same path, all others stay. The language is Jinja2. Everything is escaped, a name that does not
exist is an error, and pages must not fetch anything: style, fonts and pictures stand inside.

| What you change | Where |
|---|---|
| name, logo, colour, footer | not here: `[look]` and `[growers.ID]` in season.toml |
| colours, sizes, margins | the `.css.j2` files; they get `paper`, `look` and `fonts` |
| order and shape of a page | its `.html.j2` file, as told below |
| a drawing | `drawings/NAME.svg.j2`: gets `drawing`, shapes in its own coordinates, and `id` |

Texts come finished, in the reader's language and units. `say(text, language)` puts a text of a
template into that language. Filters: `amount`, `span`, `day`, `place`, `csp_hash`, `css_string`.
Every page gets `page`, told below, `styles` (pairs of medium and style sheet) and `look`.
"""


def templates_page() -> str:
    """Write the whole page."""
    parts, told = [_HEAD], set[type]()
    for name, (record, about) in PAGES.items():
        parts.append(f"\n## `{name}`: {about}\n\n`page` is a {record.__name__}.\n")
        parts += _records(record, told)
    parts.append("\n## `look`, for every page\n")
    parts += _records(PageLook, told)
    return "".join(parts)


def _records(record: type, told: set[type]) -> Iterator[str]:
    """Tell a record, and then those that it holds; each is told once on the page."""
    waiting = [record]
    while waiting:
        one = waiting.pop(0)
        if one in told:
            continue
        told.add(one)
        first, *_ = (inspect.getdoc(one) or "").splitlines()
        yield f"\n**{one.__name__}**: {first}\n\n| Name | Holds |\n|---|---|\n"
        for name, kind in attributes(one).items():
            yield f"| `{name}` | {_words(kind)} |\n"
            waiting += [held for held in _held(kind) if held not in told]


def attributes(record: type) -> dict[str, Any]:
    """Return what a template may ask a record for: its fields and properties, with their types."""
    known = {"Markup": Markup, **vars(sys.modules[record.__module__])}
    hints = get_type_hints(record, known)
    found = {field.name: hints[field.name] for field in fields(record)}
    for name, member in inspect.getmembers(record, lambda one: isinstance(one, property)):
        found[name] = get_type_hints(member.fget, known)["return"]
    return {name: kind for name, kind in found.items() if not name.startswith("_")}


def _held(kind: Any) -> list[type]:
    """Return the records within a type."""
    if is_dataclass(kind) and isinstance(kind, type):
        return [kind]
    return [held for part in get_args(kind) for held in _held(part)]


def _words(kind: Any) -> str:
    if isinstance(kind, type) and not get_args(kind):
        return kind.__name__
    plain = re.sub(r"\b(?:[a-z_]+\.)+(?=[A-Za-z])", "", str(kind))
    return plain.replace("|", "or")


if __name__ == "__main__":
    PAGE.write_text(templates_page(), encoding="utf-8")
    print(f"wrote {PAGE.name}")
