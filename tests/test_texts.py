"""The message catalogues: every text is in them, and each translation can stand for its text."""

import string
from collections import Counter
from pathlib import Path

import pytest
from catalogue import all_texts, compiled, followed, languages, renewed, said_in

from fieldbook.forms.roster import ROSTER_FORM
from fieldbook.forms.rounds import ROUNDS
from fieldbook.problems import catalogue, problem, sentence
from fieldbook.words import SHIPPED_LANGUAGES, say

LANGUAGES = SHIPPED_LANGUAGES[1:]
MADE_OF_DECLARED = {
    "fieldbook/explain.py": "families of problems.toml",
    "fieldbook/forms/ears.py": "a help of a declared column",
    "fieldbook/forms/stops.py": "labels of a declared choice",
    "fieldbook/problems.py": "a problem, whose words are in problems.toml",
    "fieldbook/report/sources.py": "first sentences of figures.toml",
    "fieldbook/words.py": "a list of phrases",
}
NOT_SAID = {
    "fieldbook/mail/attachments.py": "names of what was attached",
    "fieldbook/mail/folder_source.py": "where a message lies",
    "fieldbook/mail/imap_source.py": "where a message lies",
    "fieldbook/report/build.py": "results of a season",
    "fieldbook/report/leafwords.py": "the diseases that were seen, by their keys",
    "fieldbook/report/look.py": "a logo",
    "fieldbook/report/packet_page.py": "a page's title, made of names",
    "fieldbook/report/photos.py": "what a scout typed below a photo",
    "fieldbook/report/plan_page.py": "a page's title, and texts that are said already",
    "fieldbook/report/sections.py": "a page's title, made of names",
    "fieldbook/export/plan_words.py": "walks by their days",
    "fieldbook/season/recheck.py": "names of readings, made of what is said already",
    "fieldbook/results/results.py": "results of a season",
    "fieldbook/weather/read.py": "a file's name",
    "fieldbook/weather/files.py": "what a file holds",
    "fieldbook/simulate/leaves.py": "the invented season",
    "fieldbook/workbook/grid.py": "a formula",
    "fieldbook/workbook/write.py": "a file's title, made of what is said already",
}
"""Where following what is said ends at something that no translator could know, and why."""


def parts(text: str) -> Counter[str]:
    """Return the {named} parts of a text."""
    return Counter(name for _, name, _, _ in string.Formatter().parse(text) if name is not None)


def ends(text: str) -> tuple[str, str, str]:
    """Return what a text begins and ends with that its reader would miss: blanks, end marks."""
    bare = text.strip()
    return (
        text[: len(text) - len(text.lstrip())],
        text[len(text.rstrip()) :],
        bare[-1] if bare[-1:] in tuple(".?:;,") else "",
    )


def test_every_text_that_is_said_leads_to_a_literal() -> None:
    """A text made up at run time could never be translated; each such place has its reason."""
    lost = {place.partition(":")[0] for place in followed().lost}
    assert lost == {*MADE_OF_DECLARED, *NOT_SAID}


@pytest.mark.parametrize("path", languages(), ids=lambda path: path.parts[-3])
def test_a_catalogue_holds_the_texts_of_now(path: Path) -> None:
    """Run `python tests/catalogue.py` where texts came or went."""
    assert path.read_text("utf-8") == renewed(path, all_texts(), said_in(path))


@pytest.mark.parametrize("path", languages(), ids=lambda path: path.parts[-3])
def test_what_is_read_is_compiled_from_the_catalogue(path: Path) -> None:
    """`python tests/catalogue.py` compiles it; each text is then said as the catalogue has it."""
    language = path.parts[-3]
    assert path.with_suffix(".mo").read_bytes() == compiled(path)
    assert {text: say(text, language) for text in said_in(path)} == said_in(path)


@pytest.mark.parametrize("path", languages(), ids=lambda path: path.parts[-3])
def test_a_translation_can_stand_for_its_text(path: Path) -> None:
    """The same {named} parts, blanks and end marks, and no doubled blank."""
    said = said_in(path)
    assert [text for text, to in said.items() if parts(text) != parts(to)] == []
    assert [text for text, to in said.items() if ends(text) != ends(to)] == []
    assert [text for text, to in said.items() if "  " in to and "  " not in text] == []


@pytest.mark.parametrize("path", languages(), ids=lambda path: path.parts[-3])
def test_a_language_says_everything(path: Path) -> None:
    """No text of the catalogue is left in English for want of a translation."""
    assert set(all_texts()) - set(said_in(path)) == set()


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_message_can_be_told(language: str) -> None:
    """With the parameters of its example, each problem is a sentence without a gap."""
    for entry in catalogue().values():
        for mailed in (False, True):
            said = sentence(problem(entry.code, **entry.example), language, mailed=mailed)
            assert "?" * 3 not in said


@pytest.mark.parametrize("language", SHIPPED_LANGUAGES)
def test_labels_tell_apart_what_they_name(language: str) -> None:
    """Heads of a sheet, choices of a column and sheets of a book differ, and sheets fit a tab."""
    forms = [one for round_ in ROUNDS.values() for one in round_.form(full=True).sheets]
    for form in (*forms, ROSTER_FORM):
        for labels in (
            [say(column.label, language) for column in form.columns],
            *([say(c.label, language) for c in column.choices] for column in form.columns),
        ):
            assert len({label.casefold() for label in labels}) == len(labels), labels
    for round_ in ROUNDS.values():
        sheets = [one.sheet.label for one in round_.form(full=True).sheets]
        titles = [say(label, language) for label in ("Start", *sheets)]
        assert len({title.casefold() for title in titles}) == len(titles)
        assert all(len(title) <= 31 and not set(title) & set(r":\/?*[]'") for title in titles)
