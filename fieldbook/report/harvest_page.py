"""The order of harvest: every standing field that a ripening visit looked at, a page and a PDF."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from urllib.parse import quote

from fieldbook.ledger.safely import write_safely
from fieldbook.report.amounts import Amounts
from fieldbook.report.context import ReportContext
from fieldbook.report.harvestwords import HarvestRow, harvest_row
from fieldbook.report.page import rendered
from fieldbook.report.pdf import page_pdf
from fieldbook.report.sources import Sources, sources_of
from fieldbook.report.words import joined
from fieldbook.results.result import FieldResult
from fieldbook.results.ripe import order_of_harvest
from fieldbook.words import number_words, say

HARVEST_STEM = "harvest-order"
HARVEST_FIGURES = (
    "stalks.line_pct",
    "mould.line_pct",
    "harvest.target_moisture_pct",
    "dry_down.start_pct",
    "dry_down.wet_gdd_f_per_pct",
    "dry_down.dry_gdd_f_per_pct",
    "sampling.confidence_pct",
)
"""Figures that the order and its dates rest on."""

_STYLES = (
    ("all", "report/page"),
    ("all", "harvest/page"),
    ("screen", "harvest/screen"),
    ("screen and (max-width: 959px)", "harvest/cards"),
)


@dataclass(frozen=True, kw_only=True)
class Group:
    """The fields of one grower or one scout, in their order."""

    name: str
    fields: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class HarvestView:
    """Everything that the template of the harvest order lays out.

    ``missing`` names the fields that are not in the order, empty where all are.
    """

    language: str
    season: str
    day: str
    lead: tuple[str, ...]
    ready_head: str
    rows: tuple[HarvestRow, ...]
    missing: str
    growers: tuple[Group, ...]
    scouts: tuple[Group, ...]
    cautions: tuple[str, ...]
    sources: Sources


def write_harvest_order(
    folder: Path,
    fields: Sequence[FieldResult],
    context: ReportContext,
    *,
    reports: Mapping[str, str],
    scouts: Mapping[str, str],
    pdf: bool,
    templates: Path | None = None,
) -> tuple[Path, ...]:
    """Write ``harvest-order.html``, and the same as PDF; nothing where no field was looked at.

    Once all that was looked at is cut the page says so, lest an older one went on to order them.

    Parameters
    ----------
    folder
        Where the reports lie.
    fields, context, reports, scouts
        See `harvest_view`.
    pdf
        Whether to write the PDF too; see `fieldbook.report.pdf_missing`.
    templates
        A folder of templates of the user's own, which win over the shipped ones.
    """
    view = harvest_view(fields, context, reports=reports, scouts=scouts)
    if view is None:
        return ()
    page, sheet = (folder / f"{HARVEST_STEM}.{ending}" for ending in ("html", "pdf"))
    write_safely(page, harvest_html(view, context, templates).encode("utf-8"))
    if not pdf:
        return (page,)
    # On paper a link leads nowhere, and the PDF maker warns of each.
    on_paper = replace(view, rows=tuple(replace(row, link="") for row in view.rows))
    write_safely(sheet, page_pdf(harvest_html(on_paper, context, templates)))
    return page, sheet


def harvest_html(view: HarvestView, context: ReportContext, templates: Path | None = None) -> str:
    """Write the page of a view: one whole HTML file that fetches nothing."""
    return rendered("harvest/page", view, _STYLES, context, templates)


def harvest_view(
    fields: Sequence[FieldResult],
    context: ReportContext,
    *,
    reports: Mapping[str, str],
    scouts: Mapping[str, str],
) -> HarvestView | None:
    """Turn the results of a season into the order of harvest in words.

    Parameters
    ----------
    fields
        The results of every field on one day.
    context
        Paper, language, units and figures.
    reports
        The file name of each field's report, by field ID; a field without one gets no link.
    scouts
        Who walks the field, by field ID; where that is open, whoever looked last is named.

    Returns
    -------
    HarvestView or None
        None where no ripening visit has looked at any field. Without rows where all are cut.
    """
    if all(field.ripe is None for field in fields):
        return None
    rows = _rows(fields, context, reports, scouts)
    amounts = Amounts(units=context.units, language=context.language)
    language, today = context.language, fields[0].as_of
    target = number_words(fields[0].outlook.dry_to_pct)
    return HarvestView(
        language=language,
        season=fields[0].season_name,
        day=amounts.full_day(today),
        lead=_lead(rows, fields, language),
        ready_head=say("At {target} % moisture", language, target=target),
        rows=rows,
        missing=_missing(fields, language),
        growers=_groups((row.grower, row) for row in rows),
        scouts=_groups((row.scout, row) for row in rows),
        cautions=_cautions(language),
        sources=sources_of(HARVEST_FIGURES, context.figures, language),
    )


def _rows(
    fields: Sequence[FieldResult],
    context: ReportContext,
    reports: Mapping[str, str],
    scouts: Mapping[str, str],
) -> tuple[HarvestRow, ...]:
    amounts = Amounts(units=context.units, language=context.language)
    looked = {field.field_id: (at, field.ripe) for at, field in enumerate(fields) if field.ripe}
    rows = []
    for turn in order_of_harvest(fields, figures=context.figures):
        at, found = looked[turn.field_id]
        field = fields[at]
        link = quote(reports.get(turn.field_id, ""))
        scout = scouts.get(turn.field_id) or _last_scout(field, context.language)
        rows.append(harvest_row(turn, field, found, amounts, link=link, scout=scout))
    return tuple(rows)


def _last_scout(field: FieldResult, language: str) -> str:
    return field.visits[-1].scout if field.visits else say("nobody named", language)


def _groups(pairs: Iterable[tuple[str, HarvestRow]]) -> tuple[Group, ...]:
    """Gather the fields by name; whoever has the first turn stands first."""
    groups: dict[str, list[str]] = {}
    for name, row in pairs:
        groups.setdefault(name, []).append(f"{row.turn}. {row.field}")
    return tuple(Group(name=name, fields=tuple(some)) for name, some in groups.items())


def _lead(
    rows: Sequence[HarvestRow], fields: Sequence[FieldResult], language: str
) -> tuple[str, ...]:
    """Say which field is first, how the order comes about, and what is not in it."""
    if not rows:
        still = any(field.ripe and not field.is_harvested for field in fields)
        none = "No field that had a ripening visit stands for grain."
        text = none if still else "Every field that had a ripening visit is harvested."
        parts = [say(text, language)]
    else:
        many = "{first} comes first of {count} fields."
        text = many if len(rows) > 1 else "Only {first} is in it."
        parts = [
            say(text, language, first=rows[0].field, count=len(rows)),
            say(
                "Fields with more failing stalks than the line go before those with more mouldy "
                "ears, and these before the driest grain.",
                language,
            ),
        ]
    missing = len(_not_visited(fields))
    if rows and missing == 1:
        parts.append(say("One field is not in it yet: see below the table.", language))
    elif rows and missing:
        text = "{count} fields are not in it yet: see below the table."
        parts.append(say(text, language, count=missing))
    apart = (_silage(fields, language), _done(fields, language))
    return tuple(one for one in (*parts, *apart) if one)


def _missing(fields: Sequence[FieldResult], language: str) -> str:
    """Name the fields without a ripening visit, by ID as well: their names may hold commas."""
    text = "No ripening visit yet, so not in the order: {fields}."
    return _named(text, _not_visited(fields), language)


def _not_visited(fields: Iterable[FieldResult]) -> list[FieldResult]:
    standing = (field for field in fields if not (field.is_harvested or field.is_silage))
    return [field for field in standing if field.ripe is None]


def _silage(fields: Iterable[FieldResult], language: str) -> str:
    """Name the fields that stand for silage, which is cut by other moisture than grain."""
    found = [field for field in fields if field.is_silage and not field.is_harvested]
    return _named("For silage, so not in the order: {fields}.", found, language)


def _done(fields: Sequence[FieldResult], language: str) -> str:
    """Name the fields that are harvested."""
    cut = [field for field in fields if field.is_harvested]
    return _named("Harvested, so not in the order: {fields}.", cut, language)


def _named(text: str, fields: Sequence[FieldResult], language: str) -> str:
    names = [f"{field.field_id} {field.field}" for field in fields]
    return say(text, language, fields=joined(names, language)) if names else ""


def _cautions(language: str) -> tuple[str, ...]:
    return (
        say(
            "An order to start from, not a promise. That a field over the line goes among the "
            "first is published; the rest of the order is ours. A share over the line counts as "
            "over it even where the walk is too small to tell.",
            language,
        ),
        say(
            "Moisture is one reading a field, of different days, so fields near each other may as "
            "well change places. Dates are worked out from that reading where there is one, else "
            "from black layer, and from past autumns.",
            language,
        ),
        say(
            "Mould seen does not prove a toxin, and clean ears do not rule one out: check with "
            "your buyer and feed adviser. Wear an N95 mask in the dust of mouldy grain.",
            language,
        ),
    )
