"""Earlier and later visits of a field, as far as checks hold a book against them."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from fieldbook.agronomy.lengths import per_acre
from fieldbook.agronomy.yields import kernels_on_ear
from fieldbook.forms.stops import INTERIOR, standard_length_ft
from fieldbook.units import System

PARTS = ("base_blank", "kernels_set", "inside_blank", "tip_unset", "tip_aborted")
"""The columns that together are the kernel places along one row."""
EAR_COLUMNS = ("rows_around", "lost_rows", *PARTS, "opposite_set", "no_other_gaps", "bare_cob")
STOP_COLUMNS = ("place", "length_ft", "plants", "ears", "latitude", "longitude")
"""What the two counts below are made of."""


@dataclass(frozen=True, kw_only=True)
class EarCount:
    """What was counted on one ear.

    ``places`` are the kernel places along one row as far as they were counted; ``complete`` says
    that none of them can be missing from the sum.
    """

    stop: int
    rows_around: int | None
    kernels: float | None
    places: int | None
    complete: bool


@dataclass(frozen=True, kw_only=True)
class StopCount:
    """The stand at one stop; None for what was not counted."""

    stop: int
    plants_per_ac: float | None
    ears_per_ac: float | None


@dataclass(frozen=True, kw_only=True)
class PastVisit:
    """A dated visit that was taken in before, with what stands of it and can be used.

    ``stage_confirmed`` says that its stage was asked about and is true; not where only its round
    is for others, since that question said nothing of other visits.
    """

    visit_id: str
    day: date
    stage: str | None = None
    stage_confirmed: bool = False
    scout: str = ""
    ears: tuple[EarCount, ...] = ()
    stops: tuple[StopCount, ...] = ()


def ear_count(stop: int, values: Mapping[str, Any]) -> EarCount:
    """Read one ear from its row's values; a bare cob has no kernels and no places."""
    rows, along = values.get("rows_around"), values.get("kernels_set")
    counted = along is not None and values.get("bare_cob") is None
    gaps = (values.get(name) for name in ("tip_unset", "tip_aborted"))
    looked = values.get("no_other_gaps") is not None or values.get("base_blank") is not None
    return EarCount(
        stop=stop,
        rows_around=rows,
        kernels=_kernels(values) if counted and rows is not None else None,
        places=sum(values.get(name) or 0 for name in PARTS) if counted else None,
        complete=counted and looked and all(gap is not None for gap in gaps),
    )


def _kernels(values: Mapping[str, Any]) -> float | None:
    rows, lost = values["rows_around"], values.get("lost_rows") or 0
    if not 0 <= lost <= rows:
        return None
    return kernels_on_ear(rows, values["kernels_set"], lost, values.get("opposite_set"))


def stop_count(
    stop: int, values: Mapping[str, Any], *, row_width_in: float, units: System
) -> StopCount | None:
    """Read the stand at one stop; None where it lies off the field's figure or elsewhere."""
    moved = values.get("latitude") is not None or values.get("longitude") is not None
    if moved or (values.get("place") or INTERIOR) != INTERIOR:
        return None
    length_ft = values.get("length_ft") or standard_length_ft(row_width_in, units)

    def stand(name: str) -> float | None:
        count = values.get(name)
        return None if count is None else per_acre(count, length_ft, row_width_in)

    return StopCount(stop=stop, plants_per_ac=stand("plants"), ears_per_ac=stand("ears"))
