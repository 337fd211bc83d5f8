"""Keep the languages' catalogues: every text that a user meets, under its English words.

``python tests/catalogue.py`` brings every ``fieldbook/locale/LANG/LC_MESSAGES/silkbook.po`` up to
the texts of the code, keeps what is translated and drops what is gone, and writes the compiled
``silkbook.mo`` beside it, which is what is read; then it counts what is still to be said in each
language. With ``--open FOLDER`` it writes these as JSON, by room;
``--fill FILE...`` puts filled ones back. A new language begins with an empty file of that name.
"""

import argparse
import io
import json
import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from jinja2 import nodes
from said import Texts

import fieldbook
from fieldbook.figures import shipped_figures
from fieldbook.forms.migrations import STEPS
from fieldbook.forms.roster import ROSTER_FORM
from fieldbook.forms.rounds import ROUNDS
from fieldbook.problems import Weight
from fieldbook.problems import catalogue as problem_catalogue
from fieldbook.render import environment
from fieldbook.report.sources import first_sentence
from fieldbook.schema import Column, Sheet

PACKAGE = Path(fieldbook.__file__).parent
LOCALE = PACKAGE / "locale"
FILE = Path("LC_MESSAGES") / "silkbook.po"
_KEY = re.compile(r"[a-z]+([-_][a-z]+)+|yes")  # what a table is asked by, and never shown
_QUIET = {"commands", "demo", "simulate"}  # rooms that say nothing by themselves
_REGIONS = {"es": "es_US"}  # whose dates are written; a language alone where it is not named
_WIDTH = 96

Found = dict[str, set[str]]


@cache
def followed() -> Texts:
    """Follow all that the package says; its code stays the same while a program runs."""
    return Texts(PACKAGE)


@cache
def all_texts() -> Mapping[str, tuple[str, ...]]:
    """Return every text that may be said, with the files that say it."""
    found: Found = {}
    for text, places in followed().found.items():
        files = {place.rpartition(":")[0] for place in places}
        files = {file for file in files if file.split("/")[1] not in _QUIET}
        if files and not _KEY.fullmatch(text):
            found.setdefault(text, set()).update(files)
    for where, text in (*templates(), *declared()):
        if text:
            found.setdefault(text, set()).add(where)
    return {text: tuple(sorted(found[text])) for text in sorted(found)}


def templates() -> Iterator[tuple[str, str]]:
    """Yield the texts of the page templates."""
    made = environment()
    for name in made.list_templates(extensions=["j2"]):
        assert made.loader
        source, _, _ = made.loader.get_source(made, name)
        for call in made.parse(source).find_all(nodes.Call):
            if isinstance(call.node, nodes.Name) and call.node.name == "say":
                yield from ((f"templates/{name}", text) for text in _literals(call.args[0]))


def _literals(node: nodes.Expr) -> Iterator[str]:
    """Yield the literals of what a template says, which must be written out there."""
    match node:
        case nodes.Const():
            yield node.value
        case nodes.CondExpr():
            yield from (*_literals(node.expr1), *_literals(node.expr2))
        case _:
            raise ValueError(f"line {node.lineno}: a template says what is not written there")


def declared() -> Iterator[tuple[str, str]]:
    """Yield what forms, problems and figures declare."""
    sheets = {ROSTER_FORM.sheet.name: ROSTER_FORM.sheet}
    for round_ in ROUNDS.values():
        yield "fieldbook/forms/rounds.py", round_.label
        sheets |= {one.sheet.name: one.sheet for one in round_.form(full=True).sheets}
    for sheet in sheets.values():
        yield from ((f"fieldbook/forms/{sheet.name}.py", text) for text in _of_sheet(sheet))
    for step in STEPS:
        former = [one.label for one in step.columns_renamed.values()]
        former += [label for labels in step.choices.values() for label in labels]
        yield from (("fieldbook/forms/migrations.py", label) for label in former)
    for entry in problem_catalogue().values():
        told = (entry.message, entry.mailed, entry.look)
        words = (entry.family, entry.title, *told, entry.description)
        yield from (("fieldbook/problems.toml", text) for text in words)
    yield from (("fieldbook/problems.py", str(weight)) for weight in Weight)
    figures = shipped_figures()
    for entry in map(figures.entry, figures):
        yield "fieldbook/figures/figures.toml", entry.unit
        yield "fieldbook/figures/figures.toml", first_sentence(entry.note)


def _of_sheet(sheet: Sheet) -> Iterator[str]:
    yield from (sheet.label, sheet.hint)
    for column in sheet.columns:
        yield from _of_column(column)


def _of_column(column: Column) -> Iterator[str]:
    yield from (column.label, column.help, column.unit.us, column.unit.metric)
    yield from (choice.label for choice in column.choices)
    if column.limits:
        yield column.limits.why


def read(path: Path) -> Catalog:
    """Read a language's file."""
    with path.open("rb") as file:
        return read_po(file, ignore_obsolete=True)


def renewed(path: Path, texts: Mapping[str, tuple[str, ...]], said: Mapping[str, str]) -> str:
    """Write a language's file anew: the texts of now, with what is said for them."""
    language = path.parent.parent.name
    made = Catalog(
        locale=_REGIONS.get(language, language), fuzzy=False, header_comment=f"# {language}"
    )
    for text, files in texts.items():
        made.add(text, said.get(text, ""), locations=[(file, None) for file in files])
    out = io.BytesIO()
    write_po(out, made, width=_WIDTH, omit_header=False, include_lineno=False)
    head = re.compile(
        r'^"(POT-Creation-Date|PO-Revision-Date|Last-Translator|Language-Team|'
        r"Project-Id-Version|Report-Msgid-Bugs-To|Generated-By|Plural-Forms):.*\n",
        re.MULTILINE,
    )
    return head.sub("", out.getvalue().decode("utf-8"))


def compiled(path: Path) -> bytes:
    """Compile a language's file; equal files give equal bytes, so it bears no date of now."""
    made = read(path)
    made.creation_date = made.revision_date = datetime(2026, 1, 1, tzinfo=UTC)
    out = io.BytesIO()
    write_mo(out, made)
    return out.getvalue()


def said_in(path: Path) -> dict[str, str]:
    """Return what a language says so far."""
    return {str(one.id): str(one.string) for one in read(path) if one.id and one.string}


def languages() -> list[Path]:
    """Return the files of all languages."""
    return sorted(LOCALE.glob(f"*/{FILE}"))


def rooms(texts: Mapping[str, tuple[str, ...]]) -> dict[str, dict[str, tuple[str, ...]]]:
    """Sort texts by the room that says them: books, problems, and pages."""
    sorted_: dict[str, dict[str, tuple[str, ...]]] = {}
    for text, files in texts.items():
        parts = files[0].split("/")
        room = parts[1] if len(parts) > 2 else Path(parts[1]).stem
        sorted_.setdefault(room, {})[text] = files
    return sorted_


def main(arguments: Iterable[str] | None = None) -> None:
    """Renew, fill, or list what is open."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--fill", type=Path, nargs="+", default=[], help="filled JSON files")
    parser.add_argument("--language", default="es", help="the language that --fill and --open mean")
    parser.add_argument("--open", type=Path, help="where to write what is not said yet")
    asked = parser.parse_args(arguments)
    texts = all_texts()
    for path in languages():
        said = said_in(path)
        is_meant = path.parent.parent.name == asked.language
        if is_meant:
            for file in asked.fill:
                said |= {text: to for text, to in json.loads(file.read_text("utf-8")).items() if to}
        path.write_text(renewed(path, texts, said), encoding="utf-8")
        path.with_suffix(".mo").write_bytes(compiled(path))
        open_ = {text: files for text, files in texts.items() if not said.get(text)}
        print(f"{path.parent.parent.name}: {len(texts)} texts, {len(open_)} not said yet")
        if asked.open and is_meant:
            asked.open.mkdir(parents=True, exist_ok=True)
            for room, some in rooms(open_).items():
                page = json.dumps(dict.fromkeys(some, ""), indent=1, ensure_ascii=False)
                (asked.open / f"{room}.json").write_text(f"{page}\n", encoding="utf-8")


if __name__ == "__main__":
    main()
