"""The half of the LibreOffice driver that runs under a Python with ``import uno``.

Started by `office.py` as ``python3 -I office_worker.py SOFFICE HOME/profile``. It starts one
headless LibreOffice, then answers JSON lines: a request ``{"op": ..., ...}`` on stdin, a reply
``{"ok": true, "result": ...}`` or ``{"ok": false, "error": ..., "died": ...}`` on stdout. When
stdin ends, for whatever reason, it takes HOME and its whole process group down with it.
"""

import contextlib
import datetime
import json
import os
import queue
import re
import shutil
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import uno
from com.sun.star.beans import NamedValue, PropertyValue
from com.sun.star.connection import NoConnectException
from com.sun.star.io import IOException
from com.sun.star.lang import DisposedException, IllegalArgumentException, Locale
from com.sun.star.table import CellRangeAddress, TableSortField
from com.sun.star.table.CellContentType import EMPTY
from com.sun.star.uno import Exception as UnoException
from com.sun.star.uno import RuntimeException

START_LIMIT_S = 60.0
END_LIMIT_S = 10.0
DEATH_LIMIT_S = 2.0
SAVE_FILTERS = {
    ".xlsx": "Calc MS Excel 2007 XML",
    ".ods": "calc8",
    ".xls": "MS Excel 97",
    ".pdf": "calc_pdf_Export",
}
DATE_FORMAT = 2  # com.sun.star.util.NumberFormat.DATE
ERROR_RESULT = 4  # com.sun.star.sheet.FormulaResult.ERROR

# Sheets of the open book: fetching an object takes 1-2 ms, a call on one that is there 0.2 ms.
SHEETS = {}


class RefusedError(Exception):
    """The app, or a person in front of it, could not have done this."""


def prop(name, value):
    """Return one named UNO property."""
    return PropertyValue(Name=name, Value=value)


# Starting and stopping


def start_office(soffice, profile):
    """Start LibreOffice on its own pipe and profile; return (process, desktop)."""
    pipe = f"silkbook{os.getpid()}"
    switches = ["--headless", "--norestore", "--nologo", "--nodefault", "--nolockcheck"]
    process = subprocess.Popen(
        [
            soffice,
            *switches,
            f"-env:UserInstallation={uno.systemPathToFileUrl(profile)}",
            f"--accept=pipe,name={pipe};urp;",
        ],
        stdin=subprocess.DEVNULL,
        stdout=sys.stderr,
    )
    return process, connect(process, pipe)


def connect(process, pipe):
    """Try to reach the office until it answers; raise when it ends or the limit has passed."""
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstance("com.sun.star.bridge.UnoUrlResolver")
    end = time.monotonic() + START_LIMIT_S
    while process.poll() is None and time.monotonic() < end:
        try:
            context = resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
        except NoConnectException:
            time.sleep(0.02)
            continue
        manager = context.ServiceManager
        return manager.createInstanceWithContext("com.sun.star.frame.Desktop", context)
    raise RefusedError("LibreOffice did not come up")


def stop_office(process, desktop):
    """Ask the office to end and give it a moment."""
    with contextlib.suppress(UnoException, subprocess.TimeoutExpired):
        desktop.terminate()
        process.wait(END_LIMIT_S / 2)


# Books


def open_book(desktop, path, password):
    """Open a workbook out of sight and return its document."""
    SHEETS.clear()
    settings = [prop("Hidden", True), prop("MacroExecutionMode", 0)]
    if password:
        settings.append(prop("Password", password))
    name = Path(path).name
    try:
        url = uno.systemPathToFileUrl(path)
        doc = desktop.loadComponentFromURL(url, "_blank", 0, tuple(settings))
    except (IllegalArgumentException, IOException) as error:
        raise RefusedError(f"{name}: cannot be opened: {error.Message}") from error
    if doc is None or not doc.supportsService("com.sun.star.sheet.SpreadsheetDocument"):
        if doc is not None:
            doc.close(True)
        raise RefusedError(f"{name}: LibreOffice does not open it as a workbook")
    return doc


def save_book(doc, path, password):
    """Save under the filter that the suffix names, encrypted where a password is given."""
    suffix = Path(path).suffix.lower()
    if suffix not in SAVE_FILTERS:
        raise RefusedError(f"cannot save as {suffix!r}: one of {', '.join(SAVE_FILTERS)}")
    settings = [prop("FilterName", SAVE_FILTERS[suffix]), prop("Overwrite", True)]
    if password:
        settings.append(lock_with(suffix, password))
    doc.storeToURL(uno.systemPathToFileUrl(path), tuple(settings))


def lock_with(suffix, password):
    """Return the setting that encrypts; with a plain Password an .xlsx is saved open, silently."""
    if suffix != ".xlsx":
        return prop("Password", password)
    data = (
        NamedValue(Name="OOXPassword", Value=password),
        NamedValue(Name="CryptoType", Value="Standard"),
    )
    return prop("EncryptionData", uno.Any("[]com.sun.star.beans.NamedValue", data))


def sheet_of(doc, name):
    """Return the sheet of that name; raise `RefusedError` with the known names."""
    if name not in SHEETS:
        if not doc.Sheets.hasByName(name):
            known = ", ".join(doc.Sheets.ElementNames)
            raise RefusedError(f"no sheet {name!r}; there are {known}")
        SHEETS[name] = doc.Sheets.getByName(name)
    return SHEETS[name]


def range_of(sheet, where):
    """Return a cell or range of a sheet by its A1 name."""
    try:
        return sheet.getCellRangeByName(where)
    except UnoException as error:
        raise RefusedError(f"{sheet.Name}: no cell or range {where!r}") from error


def column_index(letters):
    """Return the 0-based index of a column given by its letters."""
    index = 0
    for letter in letters.upper():
        index = index * 26 + ord(letter) - 64
    return index - 1


def unprotected(doc, sheet_name):
    """Return the sheet after taking its protection (without password) off, for good."""
    sheet = sheet_of(doc, sheet_name)
    unlock(sheet, sheet_name)
    return sheet


def unlock(guarded, name):
    """Take off the protection of a sheet or book; a password stands in the way."""
    if not guarded.isProtected():
        return
    with contextlib.suppress(UnoException):  # an unknown password: the check below says so
        guarded.unprotect("")
    if guarded.isProtected():
        raise RefusedError(f"{name} is protected with a password")


# Edits of one cell


def edit_cell(doc, edit):
    """Apply one typed, picked or cleared value."""
    sheet = sheet_of(doc, edit["sheet"])
    if ":" in edit["cell"]:
        raise RefusedError(f"{edit['cell']} is not one cell")
    cell = range_of(sheet, edit["cell"])
    place = f"{edit['sheet']}!{edit['cell']}"
    shut = sheet.isProtected() and cell.CellProtection.IsLocked
    if shut and not edit["force"]:
        raise RefusedError(f"{place} is locked")
    if shut:
        unlock(sheet, edit["sheet"])
    (pick if edit["how"] == "pick" else type_in)(doc, cell, edit["value"], place)
    if shut:
        sheet.protect("")


def type_in(doc, cell, value, place):
    """Enter a value as a person at the keys would."""
    if value is None:
        cell.clearContents(1 | 2 | 4 | 16)  # values, dates, text, formulas; formats stay
    elif isinstance(value, dict):
        set_date(doc, cell, datetime.date.fromisoformat(value["date"]))
    elif not isinstance(value, str):
        cell.setValue(value)
    elif value.startswith("'"):
        cell.setString(value[1:])
    else:
        cell.FormulaLocal = value
    if (cell.Type == EMPTY) != (value in (None, "", "'")):
        raise RefusedError(f"{place}: LibreOffice did not take {value!r}")


def set_date(doc, cell, day):
    """Set a real date, with a date format unless the cell has one."""
    zero = doc.NullDate
    cell.setValue((day - datetime.date(zero.Year, zero.Month, zero.Day)).days)
    formats = doc.NumberFormats
    if not formats.getByKey(cell.NumberFormat).Type & DATE_FORMAT:
        cell.NumberFormat = formats.getStandardFormat(DATE_FORMAT, Locale("en", "US", ""))


def pick(doc, cell, value, place):
    """Choose a value from the cell's drop-down list."""
    rule = cell.Validation
    if rule.Type.value != "LIST":
        raise RefusedError(f"{place} has no list to pick from")
    items = list_items(doc, cell, rule)
    if items is None:
        raise RefusedError(f"{place}: the driver cannot read the list {rule.getFormula1()}")
    if value not in items:
        raise RefusedError(f"{place}: {value!r} is not in the list {items}")
    if isinstance(value, str):
        cell.setString(value)
    else:
        cell.setValue(value)


# Validations


def list_items(doc, cell, rule):
    """Return the items of a list validation as the app would show them, or None."""
    formula = rule.getFormula1()
    if re.fullmatch(r'\s*("([^"]|"")*"\s*[;,]?\s*)+', formula):
        return [plain_item(part) for part in re.findall(r'"((?:[^"]|"")*)"', formula)]
    cells = referred_cells(doc, cell, formula)
    if cells is None:
        return None
    return [item for row in cells.getDataArray() for item in row if item != ""]


def plain_item(part):
    """Return a quoted list item; one that reads as a number is picked as a number."""
    text = part.replace('""', '"')
    return float(text) if re.fullmatch(r"-?\d+(\.\d+)?", text) else text


def referred_cells(doc, cell, formula):
    """Return the cells that a list formula points to: a defined name or an absolute range.

    None for anything else: what moves with the cell, or is computed, is not guessed at.
    """
    name = formula.strip()
    for names in (cell.Spreadsheet.NamedRanges, doc.NamedRanges):
        if names.hasByName(name):
            return names.getByName(name).getReferredCells()
    found = re.fullmatch(
        r"(?:\$?('(?:[^']|'')+'|[^'.!]+)[.!])?(\$[A-Z]+\$\d+(?::\$[A-Z]+\$\d+)?)", name
    )
    if not found:
        return None
    sheet_name, where = found.groups()
    sheet = cell.Spreadsheet
    if sheet_name:
        sheet = sheet_of(doc, sheet_name.strip("'").replace("''", "'"))
    return range_of(sheet, where)


def describe_validation(doc, sheet, cell):
    """Return everything the app knows of one cell's validation."""
    rule = cell.Validation
    kind = rule.Type.value
    return {
        "type": kind,
        "operator": rule.getOperator().value,
        "formula1": rule.getFormula1(),
        "formula2": rule.getFormula2(),
        "items": list_items(doc, cell, rule) if kind == "LIST" else None,
        "error_style": rule.ErrorAlertStyle.value,
        "shows_error": rule.ShowErrorMessage,
        "error_title": rule.ErrorTitle,
        "error_message": rule.ErrorMessage,
        "input_title": rule.InputTitle,
        "input_message": rule.InputMessage,
        "blank_ok": rule.IgnoreBlankCells,
        "locked": sheet.isProtected() and cell.CellProtection.IsLocked,
    }


# Changes of the book's shape


def rename_sheet(doc, edit):
    """Give a sheet another name."""
    unlock(doc, "the book")
    unprotected(doc, edit["old"]).setName(edit["new"])
    SHEETS.clear()


def move_sheet(doc, edit):
    """Bring a sheet to a position counted from 0 in the book as it will be."""
    unlock(doc, "the book")
    unprotected(doc, edit["name"])
    now = doc.Sheets.ElementNames.index(edit["name"])
    # The app means "in front of the sheet that is there now".
    doc.Sheets.moveByName(edit["name"], edit["position"] + (edit["position"] > now))


def insert_row(doc, edit):
    """Put an empty row in front of a row."""
    unprotected(doc, edit["sheet"]).Rows.insertByIndex(edit["row"] - 1, 1)


def delete_row(doc, edit):
    """Take a row out."""
    unprotected(doc, edit["sheet"]).Rows.removeByIndex(edit["row"] - 1, 1)


def hide_row(doc, edit):
    """Hide a row and leave its data."""
    unprotected(doc, edit["sheet"]).Rows.getByIndex(edit["row"] - 1).IsVisible = False


def insert_column(doc, edit):
    """Put an empty column in front of a column."""
    unprotected(doc, edit["sheet"]).Columns.insertByIndex(column_index(edit["column"]), 1)


def move_column(doc, edit):
    """Cut a column and insert it in front of another one; formulas follow."""
    sheet = unprotected(doc, edit["sheet"])
    source, target = column_index(edit["source"]), column_index(edit["before"])
    sheet.Columns.insertByIndex(target, 1)
    source += source >= target
    area = sheet.Columns.getByIndex(source).getRangeAddress()
    sheet.moveRange(sheet.getCellByPosition(target, 0).getCellAddress(), area)
    sheet.Columns.removeByIndex(source, 1)


def sort_rows(doc, edit):
    """Sort the rows of a range by one of its columns."""
    area = range_of(unprotected(doc, edit["sheet"]), edit["range"])
    first: CellRangeAddress = area.getRangeAddress()
    field = TableSortField(
        Field=column_index(edit["column"]) - first.StartColumn,
        IsAscending=not edit["descending"],
    )
    fields = uno.Any("[]com.sun.star.table.TableSortField", (field,))
    # A Python sequence of structs must be passed typed, or the sort does nothing.
    how = uno.Any(
        "[]com.sun.star.beans.PropertyValue",
        (prop("SortFields", fields), prop("ContainsHeader", False)),
    )
    uno.invoke(area, "sort", (how,))


EDITS = {
    "Edit": edit_cell,
    "RenameSheet": rename_sheet,
    "MoveSheet": move_sheet,
    "InsertRow": insert_row,
    "DeleteRow": delete_row,
    "HideRow": hide_row,
    "InsertColumn": insert_column,
    "MoveColumn": move_column,
    "SortRows": sort_rows,
}


# The operations


def do_fill(doc, request):
    """Apply the edits one after the other, recalculate and save."""
    for edit in request["edits"]:
        EDITS[edit["kind"]](doc, edit)
    doc.calculateAll()
    save_book(doc, request["saved_as"], request["password"])


def do_save(doc, request):
    """Save without a change; also the way to .pdf."""
    save_book(doc, request["saved_as"], request["password"])


def do_values(doc, request):
    """Recalculate everything and return values as {sheet: {cell or range: rows}}."""
    doc.calculateAll()
    return {
        name: {where: read_rows(range_of(sheet_of(doc, name), where)) for where in places}
        for name, places in request["places"].items()
    }


def read_rows(cells):
    """Return the rows of a range: number, text, None, or an error as {"error": text}."""
    texts = cells.getFormulaArray()
    rows = [
        [None if text == "" else value for value, text in zip(*pair, strict=True)]
        for pair in zip(cells.getDataArray(), texts, strict=True)
    ]
    corner = cells.getRangeAddress()
    for bad in cells.queryFormulaCells(ERROR_RESULT).getRangeAddresses():
        for row in range(bad.StartRow - corner.StartRow, bad.EndRow - corner.StartRow + 1):
            for col in range(bad.StartColumn, bad.EndColumn + 1):
                at = col - corner.StartColumn
                rows[row][at] = {"error": cells.getCellByPosition(at, row).String}
    return rows


def do_validations(doc, request):
    """Return the validation of each cell asked for."""
    sheet = sheet_of(doc, request["sheet"])
    return {
        where: describe_validation(doc, sheet, range_of(sheet, where)) for where in request["cells"]
    }


OPERATIONS = {
    "fill": do_fill,
    "save": do_save,
    "values": do_values,
    "validations": do_validations,
}


def answer(desktop, request):
    """Open the book, run one operation on it, close it."""
    doc = open_book(desktop, request["book"], request.get("open_password"))
    try:
        return OPERATIONS[request["op"]](doc, request)
    finally:
        close_book(doc)


def close_book(doc):
    """Close without asking; a dead office cannot be closed."""
    with contextlib.suppress(UnoException):
        doc.close(True)


def reply_to(process, desktop, line):
    """Return the reply to one request line; nothing a book does raises."""
    try:
        return {"ok": True, "result": answer(desktop, json.loads(line))}
    except RefusedError as error:
        return {"ok": False, "error": str(error), "died": False}
    except UnoException as error:
        message = f"{type(error).__name__}: {error.Message}"
        return {"ok": False, "error": message, "died": has_died(process, error)}


def has_died(process, error):
    """Tell whether the office is gone; after a crash its process takes a moment to end."""
    if isinstance(error, DisposedException):
        return True
    if isinstance(error, RuntimeException):
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(DEATH_LIMIT_S)
    return process.poll() is not None


def take_group_down():
    """Kill every process that this one started, and itself; take their files away."""
    shutil.rmtree(Path(sys.argv[2]).parent, ignore_errors=True)
    if os.getpgrp() == os.getpid():  # never the group of whoever tries the script by hand
        os.killpg(0, signal.SIGKILL)


def requests():
    """Yield request lines; once stdin ends the office may finish its work, but not for long."""
    lines = queue.Queue()

    def read():
        for line in sys.stdin:
            lines.put(line)
        lines.put(None)
        time.sleep(END_LIMIT_S)
        take_group_down()

    threading.Thread(target=read, daemon=True).start()
    return iter(lines.get, None)


def main():
    """Start the office, say so, answer until stdin ends, leave nothing behind."""
    replies = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)  # whatever prints must not get between the replies

    def say(reply):
        print(json.dumps(reply), file=replies, flush=True)

    process, desktop = start_office(*sys.argv[1:3])
    say({"ok": True, "result": "ready"})
    for line in requests():
        say(reply_to(process, desktop, line))
    stop_office(process, desktop)
    take_group_down()


if __name__ == "__main__":
    main()
