"""Which tables leave a season, and their columns in order."""

from collections.abc import Iterator
from dataclasses import fields as dataclass_fields

from fieldbook.check.roster import Field
from fieldbook.export.columns import Origin, TableColumn, declared
from fieldbook.export.field_columns import FIELD_COLUMNS
from fieldbook.export.worked import (
    BAG_COLUMNS,
    STAGE_COLUMNS,
    STOP_COLUMNS,
)
from fieldbook.figures import ASSUMED, COMMON_PRACTICE, DERIVED, MEMORY, PUBLISHED, SET
from fieldbook.forms.leaves import GRAY_LEAF_SPOT, NORTHERN_BLIGHT
from fieldbook.forms.roster import ROSTER
from fieldbook.forms.rounds import ROUNDS
from fieldbook.schema import Choice, Kind, Sheet
from fieldbook.units import AREA, ROW_WIDTH, System

FIELD_NAMES = tuple(
    name
    for name in dict.fromkeys(("field_id", "field", *(one.name for one in ROSTER.entries)))
    if name in {part.name for part in dataclass_fields(Field)}
)
RATINGS_BY_COLUMN = {
    "gray_leaf_spot_rating": GRAY_LEAF_SPOT,
    "northern_blight_rating": NORTHERN_BLIGHT,
}
_PLANTING_NAMES = ("relative_maturity", "silk_gdd_f", "black_layer_gdd_f", "gdd_from")
_STATES = (
    Choice(key="open", label="Open"),
    Choice(key="confirmed", label="Confirmed"),
    Choice(key="lost", label="Cannot recount"),
)
_WEIGHTS = (
    Choice(key="error", label="Error"),
    Choice(key="ask", label="Ask"),
    Choice(key="note", label="Note"),
)
_ROUNDS = tuple(Choice(key=one.name, label=one.label) for one in ROUNDS.values())
_FIGURE_KINDS = (
    Choice(key=PUBLISHED, label="Published"),
    Choice(key=COMMON_PRACTICE, label="Common practice"),
    Choice(key=MEMORY, label="Memory"),
    Choice(key=DERIVED, label="Derived"),
    Choice(key=ASSUMED, label="Assumed"),
    Choice(key=SET, label="Set for this season"),
)


def _text(
    name: str, label: str, meaning: str, origin: Origin, *, width: int = 11, wrap: bool = False
) -> TableColumn:
    return TableColumn(
        name=name,
        label=label,
        kind=Kind.TEXT,
        meaning=meaning,
        origin=origin,
        width=width,
        wrap=wrap,
    )


def _whole(name: str, label: str, meaning: str, origin: Origin) -> TableColumn:
    return TableColumn(name=name, label=label, kind=Kind.WHOLE, meaning=meaning, origin=origin)


def _choice(
    name: str, label: str, meaning: str, origin: Origin, choices: tuple[Choice, ...]
) -> TableColumn:
    return TableColumn(
        name=name, label=label, kind=Kind.CHOICE, meaning=meaning, origin=origin, choices=choices
    )


VISIT = _text("visit_id", "Visit", "The visit, as printed in its book.", Origin.TAKEN_IN, width=10)
FIELD_ID = _text("field_id", "Field ID", "The field's code in the roster.", Origin.ROSTER, width=8)
FIELD = _text("field", "Field", "What the grower calls it.", Origin.ROSTER, width=20)
GROWER = _text("grower", "Grower", "Name as on a report.", Origin.ROSTER, width=20)
ROUND = _choice("round", "Round", "Which kind of walk it was.", Origin.TAKEN_IN, _ROUNDS)
VISIT_DATE = TableColumn(
    name="visit_date",
    label="Visit date",
    kind=Kind.DAY,
    meaning="The day on which this was read, as the Fields sheet of the book says.",
    origin=Origin.BOOK,
)
READ_BY = _text(
    "read_by",
    "Read by",
    "Who walked: the person typed in the book, else the scout whom it was made for.",
    Origin.TAKEN_IN,
    width=14,
)
_OF_A_FIELD = (FIELD_ID, FIELD, GROWER)


def field_columns(system: System) -> tuple[TableColumn, ...]:
    """Return the columns of the fields' table."""
    return (
        *(_roster(name, system) for name in FIELD_NAMES),
        _roster("hybrid", system),
        _roster("planted", system),
        *FIELD_COLUMNS,
    )


def planting_columns(system: System) -> tuple[TableColumn, ...]:
    """Return the columns of the plantings' table."""
    area = TableColumn(
        name="acres",
        label="Area",
        kind=Kind.NUMBER,
        meaning="The part of the field with this hybrid and planting date.",
        origin=Origin.ROSTER,
        unit=AREA,
    )
    given = (_roster(name, system) for name in ("planted", "hybrid", *_PLANTING_NAMES))
    return (*_OF_A_FIELD, area, *given, *(_roster(name, system) for name in RATINGS_BY_COLUMN))


def _roster(name: str, system: System) -> TableColumn:
    return declared(ROSTER.column(name), Origin.ROSTER, system)


def stage_columns(_: System) -> tuple[TableColumn, ...]:
    """Return the columns of the stages' table."""
    return (*_OF_A_FIELD, *STAGE_COLUMNS)


def visit_columns(sheet: Sheet, system: System) -> tuple[TableColumn, ...]:
    """Return the columns of the visits' table: who and when, then the Fields sheet."""
    taken_in = TableColumn(
        name="taken_in",
        label="Taken in",
        kind=Kind.DAY,
        meaning="The day (UTC) on which the last book of this visit was taken in.",
        origin=Origin.TAKEN_IN,
    )
    width = TableColumn(
        name="row_width_in",
        label="Row width",
        kind=Kind.NUMBER,
        meaning="The row width that the book was printed for.",
        origin=Origin.TAKEN_IN,
        unit=ROW_WIDTH,
    )
    file = _text("file", "File", "The file of that book.", Origin.TAKEN_IN, width=24)
    head = (VISIT, FIELD_ID, FIELD, GROWER, ROUND, READ_BY, taken_in, file, width)
    return (*head, *(declared(column, Origin.BOOK, system) for column in sheet.entries))


def sheet_columns(sheet: Sheet, system: System) -> tuple[TableColumn, ...]:
    """Return the columns of a book's sheet as a table."""
    head = (VISIT, FIELD_ID, FIELD, GROWER, ROUND, VISIT_DATE, READ_BY)
    keys = (column for column in sheet.keys if column.name != "field_id")
    given = (declared(column, Origin.BOOK, system) for column in (*keys, *sheet.entries))
    return (*head, *given, *extra_columns(sheet.name))


def extra_columns(sheet: str) -> tuple[TableColumn, ...]:
    """Return what is worked out for each row of a book's sheet."""
    return {"stops": STOP_COLUMNS, "stalks": BAG_COLUMNS}.get(sheet, ())


def question_columns(_: System) -> tuple[TableColumn, ...]:
    """Return the columns of the questions' table."""
    origin = Origin.WORKED_OUT
    state = _choice(
        "state",
        "State",
        "Open: not answered yet, and an error is not used. Confirmed: unusual but true, so used. "
        "Cannot recount: left out. Empty: nothing to answer.",
        origin,
        _STATES,
    )
    weight = "Error: cannot be. Ask: rare, used once confirmed. Note: changes nothing."
    return (
        state,
        _choice("weight", "Weight", weight, origin, _WEIGHTS),
        *_OF_A_FIELD,
        VISIT,
        _text("title", "What", "The kind of question, in short.", origin, width=26, wrap=True),
        _text("message", "Message", "What a person is told.", origin, width=70, wrap=True),
        _text("file", "File", "The file that it is about.", origin, width=24),
        _text("sheet", "Sheet", "The sheet of that file.", origin),
        _text("cell", "Cell", "The cell as the app shows it.", origin, width=8),
        _text("column", "Column", "The head of that column in the book.", origin, width=16),
        _text("code", "Code", "The name of the check.", origin, width=24),
    )


def figure_columns(_: System) -> tuple[TableColumn, ...]:
    """Return the columns of the figures' table."""
    origin = Origin.PROGRAM
    part = "Which number of the figure: most have one, a range has two or three."
    used = "How many fields' results rest on it."
    value = "In the unit beside it, which is the one of its source in every season."
    kind = "How well it is known; 'memory' and 'common practice' have no source."
    return (
        _text("key", "Figure", "Its key, by which season.toml can set it.", origin, width=34),
        _whole("part", "Part", part, origin),
        TableColumn(
            name="value", label="Value", kind=Kind.NUMBER, meaning=value, origin=origin, width=13
        ),
        _text("unit", "Unit", "The unit of the value.", origin, width=18),
        _choice("kind", "Kind", kind, origin, _FIGURE_KINDS),
        _text("sources", "Source", "Who published it.", origin, width=100, wrap=True),
        _text("note", "Note", "What it is, or how it was come by.", origin, width=80, wrap=True),
        _whole("fields", "Fields", used, origin),
    )


def dictionary_columns(_: System) -> tuple[TableColumn, ...]:
    """Return the columns of the dictionary itself."""
    return tuple(_dictionary())


def _dictionary() -> Iterator[TableColumn]:
    origin = Origin.PROGRAM
    yield _text("table", "Table", "The table, which is the file's name.", origin, width=12)
    yield _text("sheet", "Sheet", "The sheet of the results workbook.", origin, width=12)
    yield _text("name", "Name in files", "The column in CSV and Parquet.", origin, width=28)
    yield _text("head", "Head on the sheet", "The column in the workbook.", origin, width=28)
    yield _text("type", "Type", "What kind of value it holds.", origin, width=12)
    yield _text("unit", "Unit", "The unit of its numbers.", origin, width=10)
    yield _text("meaning", "Meaning", "What it says.", origin, width=60, wrap=True)
    yield _text("limits", "Limits", "What a number may be.", origin, width=30, wrap=True)
    choices = "Values of a list: as files have them = as the sheet shows them."
    yield _text("choices", "Choices", choices, origin, width=50, wrap=True)
    yield _text("origin", "From", "Where the values come from.", origin, width=15)
    json_key = "Where 'silkbook results --json' has the same figure, in US units."
    yield _text("json_key", "Key in JSON", json_key, origin, width=30)
