"""The writer's small tools: one styled workbook whose every refusal is an error.

xlsxwriter answers what it cannot do with a negative number and a warning at most; here that
number raises, so that no cell, list or title is ever dropped in silence.
"""

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import IO, Any, Self

import xlsxwriter
from xlsxwriter.worksheet import Worksheet

from fieldbook.words import ENGLISH, say

PAPER_SIZES = {"letter": 1, "a4": 9}
FONT = "Arial"
_INK, _FRAME, _QUIET = "#1A1A1A", "#4D4D4D", "#595959"
# Entry cells of one field and of the next: two pale fills, told apart by the line above as well.
_PALES = {"": "#FFF6DC", "-next": "#E6F1F8"}
_BASE = {"font_name": FONT, "font_size": 12, "font_color": _INK, "valign": "vcenter"}
_ENTRY = {"border": 1, "border_color": _FRAME, "locked": False, "align": "center"}

_PLAIN_STYLES: Mapping[str, Mapping[str, Any]] = {
    "title": {"bold": True, "font_size": 18},
    "hint": {"font_color": _QUIET},
    "text": {},
    "wrapped": {"text_wrap": True, "valign": "top"},
    "bold": {"bold": True},
    "head": {"bold": True, "text_wrap": True, "valign": "bottom", "align": "center"},
    "unit": {"font_color": _QUIET, "bottom": 2, "align": "center"},
    "locked": {"text_wrap": True, "indent": 1},
    "locked-number": {"align": "center"},
    "link": {"underline": 1, "align": "center"},
    "live": {"num_format": "0", "align": "center"},
    "live-tenth": {"num_format": "0.0", "align": "center"},
    "look": {"text_wrap": True, "indent": 1},
    "look-fault": {"bold": True, "border": 2},
    "table-head": {"bold": True, "text_wrap": True, "valign": "bottom", "bottom": 2},
    "table-head-number": {
        "bold": True,
        "text_wrap": True,
        "valign": "bottom",
        "align": "right",
        "bottom": 2,
    },
    "table-text": {"text_wrap": True, "bottom": 4},
    "table-day": {"num_format": "ddd d mmm yyyy", "align": "left", "bottom": 4},
    "table-number": {"num_format": "0", "align": "center", "bottom": 4},
    "table-tenth": {"num_format": "0.0", "align": "center", "bottom": 4},
}
_DATA = {"font_size": 11, "valign": "top"}
_DATA_STYLES: Mapping[str, Mapping[str, Any]] = {
    "data-head": {**_DATA, "bold": True, "text_wrap": True, "valign": "bottom", "bottom": 2},
    "data-text": {**_DATA, "align": "left", "indent": 1},
    "data-wrapped": {**_DATA, "align": "left", "indent": 1, "text_wrap": True},
    "data-day": {**_DATA, "num_format": "d mmm yyyy", "align": "right"},
    "data-tick": {**_DATA, "align": "center"},
    "data-whole": {**_DATA, "num_format": "0"},
    "data-tenths": {**_DATA, "num_format": "0.0"},
    "data-hundredths": {**_DATA, "num_format": "0.00"},
    "data-exact": {**_DATA, "num_format": "General"},
}
_ENTRY_STYLES: Mapping[str, Mapping[str, Any]] = {
    "entry": _ENTRY,
    "entry-text": {**_ENTRY, "num_format": "@", "align": "left", "indent": 1, "text_wrap": True},
    "entry-day": {**_ENTRY, "num_format": "d mmm yyyy"},
}


_TICK = "data-tick"
_ASKED = {"border": 5, "border_color": _INK, "bold": True}


def _styles() -> dict[str, dict[str, Any]]:
    """Every style by name; "-next" is the neighbouring field's, "-first" has a line above."""
    styles = {name: dict(style) for name, style in {**_PLAIN_STYLES, **_DATA_STYLES}.items()}
    for name, style in _ENTRY_STYLES.items():
        styles |= {f"{name}{pale}": {**style, "bg_color": fill} for pale, fill in _PALES.items()}
    styles |= {f"{name}-asked": {**styles[name], **_ASKED} for name in _ENTRY_STYLES}
    lined = {f"{name}-first": {**style, "top": 2} for name, style in styles.items()}
    return styles | lined


STYLES = _styles()


def must(result: Any) -> Any:
    """Return `result`; ValueError where xlsxwriter refused."""
    if isinstance(result, int) and result < 0:
        raise ValueError(f"the workbook writer refused a cell or a setting ({result})")
    return result


class _PlainSheet(Worksheet):  # type: ignore[misc]
    """A sheet whose formulas are written as they are.

    The library searches every formula for some thirty newer functions; ours use none, which a
    test holds, and that search took four fifths of the time to write a book.
    """

    constant_memory: bool
    row_data_fh: IO[str] | None
    row_data_filename: str

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        return formula.removeprefix("=")

    def add_native_table(self, name: str, heads: Sequence[str], *, last: int, style: str) -> None:
        """Make a table to filter of all rows to `last`, under heads that are written already.

        The library would write the heads itself, for which it has to keep every row in memory,
        and would remember every cell of every table to refuse overlapping ones.
        """
        kept = self.constant_memory
        self.constant_memory, self.table_cells = False, _Forgetful()
        self._write_string = _write_nothing
        options = {"name": name, "style": style, "columns": [{"header": head} for head in heads]}
        must(self.add_table(0, 0, last, len(heads) - 1, options))
        del self._write_string
        self.constant_memory = kept

    def let_go(self) -> None:
        """Remove the file that holds the rows until the workbook is closed, if it is not."""
        if self.row_data_fh is not None and not self.row_data_fh.closed:
            self.row_data_fh.close()
            Path(self.row_data_filename).unlink(missing_ok=True)


class _Forgetful(dict[Any, Any]):
    """Keeps nothing."""

    def __setitem__(self, _: Any, __: Any) -> None:
        pass


def _write_nothing(*_: Any) -> int:
    return 0


@dataclass
class Paper:
    """A workbook being written, in memory, with named styles.

    With ``row_by_row`` each row is done with once a later one is begun, so that a long sheet
    needs no more memory than a short one; then use it in `with`.
    """

    created: datetime
    paper: str
    title: str
    language: str = ENGLISH
    row_by_row: bool = False
    _buffer: io.BytesIO = field(default_factory=io.BytesIO)
    _formats: dict[str, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        options = {
            "in_memory": not self.row_by_row,  # which would overrule the next
            "constant_memory": self.row_by_row,
            "strings_to_formulas": False,
            "strings_to_urls": False,
        }
        self.book = xlsxwriter.Workbook(self._buffer, options)
        self.book.set_properties({"title": self.title, "created": self.created})
        self.book.set_calc_mode("auto")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        for sheet in self.book.worksheets():
            sheet.let_go()

    def style(self, name: str) -> Any:
        """Return a format by its name, made once."""
        if name not in self._formats:
            style = {**_BASE, **STYLES[name]}
            if name == _TICK:
                yes, no = (say(word, self.language) for word in ("Yes", "No"))
                style["num_format"] = f'"{yes}";"{yes}";"{no}"'
            self._formats[name] = self.book.add_format(style)
        return self._formats[name]

    def sheet(
        self,
        title: str,
        *,
        footer: str = "",
        pages_wide: int = 1,
        pictures: bool = False,
        locked: bool = True,
    ) -> Any:
        """Add a sheet that prints landscape, as many pages wide as said.

        It is protected if `locked`; with `pictures` a person may still place pictures on it.
        """
        sheet = self.book.add_worksheet(title, worksheet_class=_PlainSheet)
        if locked:
            may = {"format_columns": True, "format_rows": True, "objects": pictures}
            sheet.protect("", may)
        sheet.set_landscape()
        sheet.set_paper(PAPER_SIZES[self.paper])
        sheet.set_margins(left=0.5, right=0.5, top=0.5, bottom=0.6)
        sheet.fit_to_pages(pages_wide, 0)
        sheet.hide_gridlines(2)
        plain = footer.replace("&", "&&")
        sheet.set_footer(f"&L{plain}&R&P / &N")
        return sheet

    def text(self, sheet: Any, row: int, column: int, text: str, style: str = "text") -> None:
        """Write a text that can never become a formula or a link."""
        must(sheet.write_string(row, column, text, self.style(style)))

    def formula(self, sheet: Any, row: int, column: int, formula: str, style: str) -> None:
        """Write a formula without a cached result."""
        must(sheet.write_formula(row, column, formula, self.style(style), ""))

    def link(self, sheet: Any, row: int, column: int, target: str, text: str, style: str) -> None:
        """Write a link to another place in the book."""
        must(sheet.write_url(row, column, f"internal:{target}", self.style(style), text))

    def close(self) -> bytes:
        """Finish the workbook and return its bytes."""
        self.book.close()
        return self._buffer.getvalue()
