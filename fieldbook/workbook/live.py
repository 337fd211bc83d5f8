"""The live formulas: kernels on an ear, yield at a stop, progress and yield of a field.

They use only functions that every common spreadsheet app knows, find rows by their printed keys,
and leave out exactly what the checks leave out. What they show is never read back. Formulas about
a row's own cells are written for any row; `in_row` names it.
"""

from collections.abc import Mapping

from fieldbook.forms.fields import GRAIN_FILL, PLANTS_LOOKED_AT
from fieldbook.forms.rounds import Form
from fieldbook.forms.stops import OFF_FIELD_FIGURE
from fieldbook.units import HA_PER_AC, ROW_LENGTH, YIELD, System
from fieldbook.words import number_words, say
from fieldbook.workbook.grid import Grid, quoted
from fieldbook.workbook.look import LEFT_OUT, OK, faults_formula

KERNELS, YIELD_HERE = "kernels", "yield_here"


def counts_kernels(form: Form) -> bool:
    """Say whether the kernels on an ear can be worked out from a form."""
    return form.has("ears", "rows_around", "kernels_set")


def gives_yield(form: Form) -> bool:
    """Say whether a yield can be worked out from a form."""
    return (
        counts_kernels(form)
        and form.has("stops", "ears", "length_ft", "place")
        and form.has("fields", "grain_fill")
    )


def kernels_formula(grid: Grid) -> str:
    """Kernels on one ear: (rows around - lost rows) x kernels per row."""
    cells = grid.cells
    rows, along = cells.ref("rows_around"), cells.ref("kernels_set")
    used = ["rows_around", "kernels_set"]
    if grid.has("lost_rows"):
        rows = f"({rows}-N({cells.ref('lost_rows')}))"
        used.append("lost_rows")
    if grid.has("opposite_set"):
        along = f"AVERAGE({along},{cells.ref('opposite_set')})"
        used.append("opposite_set")
    doubt = faults_formula(grid, used)
    if grid.has("bare_cob"):
        doubt = f'OR({doubt},{cells.ref("bare_cob")}<>"")'
    empty = f'OR({cells.ref("rows_around")}="",{cells.ref("kernels_set")}="")'
    return f'=IF({empty},"",IF({doubt},"",{rows}*{along}))'


def stop_yield_formula(grids: Mapping[str, Grid], *, standard_length_ft: float) -> str:
    """Yield at one stop: ears per 1/1000 ac x mean kernels per ear / kernels per bushel."""
    stops, ears, fields = (grids[name] for name in ("stops", "ears", "fields"))
    cells = stops.cells
    count, length = cells.ref("ears"), cells.ref("length_ft")
    field_id, stop = cells.ref("field_id"), cells.ref("stop")
    printed = number_words(ROW_LENGTH.shown(standard_length_ft, stops.units))
    kernels = (
        f"AVERAGEIFS({ears.span(KERNELS)},{ears.span('field_id')},{field_id},"
        f"{ears.span('stop')},{stop})"
    )
    per_area = f'{count}*{_area_factor(stops.units)}*IF({length}="",1,{printed}/{length})'
    bushels = f"{per_area}*{kernels}/{_kernel_count(fields, field_id)}"
    doubt = faults_formula(stops, ("ears", "length_ft"))
    return f'=IF(OR({count}="",{doubt}),"",IFERROR({bushels},""))'


def _area_factor(units: System) -> str:
    """Turn ears per printed length and kernels per bushel into the shown yield."""
    return repr(HA_PER_AC * YIELD.factor) if units is System.METRIC else "1"


def _kernel_count(fields: Grid, field_id: str) -> str:
    """Find the thousands of kernels per bushel for a field's grain fill, average if unsaid."""
    counts = fields.lists["kernel_counts"]
    labels = fields.lists["fields.grain_fill"]
    at = f"MATCH({field_id},{fields.span('field_id')},0)"
    chosen = f"INDEX({counts},MATCH(INDEX({fields.span('grain_fill')},{at}),{labels},0))"
    average = [choice.key for choice in GRAIN_FILL].index("average") + 1
    return f"IFERROR({chosen},INDEX({counts},{average}))"


def field_yield_formula(stops: Grid, field_id: str) -> str:
    """Mean yield of a field's stops that stand for the field."""
    labels = [stops.cells.label("place", place) for place in OFF_FIELD_FIGURE]
    place = stops.span("place")
    others = "".join(f',{place},"<>"&{label}' for label in labels)
    ids = stops.span("field_id")
    return f'=IFERROR(AVERAGEIFS({stops.span(YIELD_HERE)},{ids},{field_id}{others}),"")'


def silked_formula(stops: Grid, field_id: str) -> str:
    """Share of plants with silks over a field's stops, in percent; rows in question left out."""
    fine = f"{stops.span('field_id')},{field_id},{stops.span('look')},{_ok(stops)}"
    scale = number_words(100 / PLANTS_LOOKED_AT)
    return f'=IFERROR({scale}*AVERAGEIFS({stops.span("silked")},{fine}),"")'


def failed_formula(stalks: Grid, field_id: str) -> str:
    """Share of tried stalks that failed, in percent; rows in question left out."""
    fine = f"{stalks.span('field_id')},{field_id},{stalks.span('look')},{_ok(stalks)}"
    failed, tried = stalks.span("failed"), stalks.span("tried")
    counted = f'SUMIFS({tried},{fine},{failed},">=0")'
    return f'=IFERROR(100*SUMIFS({failed},{fine})/{counted},"")'


def _ok(grid: Grid) -> str:
    return quoted(say(OK, grid.language))


def progress_formula(grid: Grid, field_id: str, planned: int) -> str:
    """Count a field's rows in which something is typed, of those planned."""
    filled = f'COUNTIFS({grid.span("field_id")},{field_id},{grid.span("look")},"?*")'
    return f'={filled}&" / {planned}"'


def questions_formula(grids: Mapping[str, Grid], field_id: str) -> str:
    """Count a field's rows whose Look column is neither empty nor content."""
    parts = []
    for grid in grids.values():
        ids, look = grid.span("field_id"), grid.span("look")
        parts.append(f'COUNTIFS({ids},{field_id},{look},"?*")')
        for fine in (say(OK, grid.language), say(LEFT_OUT, grid.language)):
            parts.append(f"-COUNTIFS({ids},{field_id},{look},{quoted(fine)})")
    return "=" + "+".join(parts).replace("+-", "-")
