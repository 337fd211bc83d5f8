"""Stalks, mouldy ears and moisture of the latest ripening visit, and the order of harvest. Pure."""

from collections import Counter
from collections.abc import Iterable, Sequence
from statistics import fmean

from fieldbook.agronomy.harvest_order import Ripening, Turn, harvest_order
from fieldbook.agronomy.stalks import mould, mould_reading, stalk_reading
from fieldbook.agronomy.wilson import Count
from fieldbook.figures import Figures
from fieldbook.forms.moulds import NO_MOULD
from fieldbook.forms.stalks import Stalk
from fieldbook.ledger.stored import StoredVisit, visit_day
from fieldbook.results.looks_result import RipeResult, SeenMould
from fieldbook.results.result import FieldResult


def ripe(visits: Sequence[StoredVisit], figures: Figures) -> RipeResult | None:
    """Sum up the latest visit that tried stalks or opened ears; None where none did."""
    for visit in reversed(visits):
        rows: Sequence[Stalk] = visit.records["stalks"]
        day = visit_day(visit)
        if day is None or not rows:
            continue
        moistures = [row.bag_moisture_pct for row in rows if row.bag_moisture_pct is not None]
        return RipeResult(
            day=day,
            stalks=stalk_reading(_counts((row.failed, row.tried) for row in rows), figures=figures),
            mouldy=mould_reading(
                _counts((row.ears_mouldy, row.ears_opened) for row in rows), figures=figures
            ),
            moulds=_moulds(rows),
            moisture_pct=fmean(moistures) if moistures else None,
        )
    return None


def _counts(pairs: Iterable[tuple[int | None, int | None]]) -> list[Count]:
    return [
        Count(hits=hits, looked=looked)
        for hits, looked in pairs
        if hits is not None and looked is not None
    ]


def _moulds(rows: Iterable[Stalk]) -> tuple[SeenMould, ...]:
    seen = Counter(row.mould for row in rows if row.mould not in (None, NO_MOULD))
    return tuple(
        SeenMould(mould=mould(look), stops=stops) for look, stops in seen.most_common() if look
    )


def order_of_harvest(fields: Iterable[FieldResult], *, figures: Figures) -> tuple[Turn, ...]:
    """Order the fields that a ripening visit has looked at and that still stand for grain."""
    standing = (field for field in fields if not (field.is_harvested or field.is_silage))
    return _turns(((one.field_id, one.ripe) for one in standing if one.ripe), figures)


def turn_alone(field: FieldResult, *, figures: Figures) -> tuple[Turn, ...]:
    """Return a field's turn as if it were the only one, cut or not; none where nobody looked."""
    return _turns([(field.field_id, field.ripe)] if field.ripe else (), figures)


def _turns(looked: Iterable[tuple[str, RipeResult]], figures: Figures) -> tuple[Turn, ...]:
    return harvest_order(
        [
            Ripening(
                field_id=field_id,
                stalks=found.stalks.share if found.stalks else None,
                mould=found.mouldy.share if found.mouldy else None,
                moisture_pct=found.moisture_pct,
            )
            for field_id, found in looked
        ],
        figures=figures,
    )
