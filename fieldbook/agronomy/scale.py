"""What came over the scale: loads as weighed, and the yield that they make."""

from collections.abc import Sequence
from dataclasses import dataclass

from fieldbook.agronomy.yields import grain_weight_yield_bu_ac
from fieldbook.figures import Figures, shipped_figures


@dataclass(frozen=True, kw_only=True)
class Weighed:
    """One load over the scale, as wet as it came."""

    wet_lb: float
    moisture_pct: float


def load_lb(
    wet_lb: float | None, wet_bu: float | None, *, figures: Figures | None = None
) -> float | None:
    """Return the weight of a load [lb]: as printed, else from its wet bushels of 56 lb."""
    if wet_lb is not None or wet_bu is None:
        return wet_lb
    return wet_bu * (figures or shipped_figures()).number("bushel.weight_lb")


def harvested_bu_ac(
    loads: Sequence[Weighed], acres: float, *, figures: Figures | None = None
) -> float:
    """Return the harvest from scale tickets, each load shrunk to market moisture [bu/ac].

    ``sum of W1 (100 - M1) / (100 - M2) / 56 / acres``, source `purdue-water-shrink`.

    Raises
    ------
    ValueError
        If acres or a weight are not above zero.
    """
    if not (acres > 0 and all(load.wet_lb > 0 for load in loads)):
        raise ValueError("weights and acres must be above zero")
    return sum(
        grain_weight_yield_bu_ac(1, load.wet_lb / acres, load.moisture_pct, figures=figures)
        for load in loads
    )
