"""Between what heat, or what days, since planting a field can stand at a stage at all. Pure."""

import datetime

from fieldbook.agronomy.stages import (
    BEFORE_SILK,
    R_STAGES,
    Needs,
    days_after_silk,
    fill_fraction,
    late_planting,
)
from fieldbook.figures import Figures, shipped_figures

Limits = tuple[float, float | None]


def heat_limits_f(
    stage: str, needs: Needs, planted: datetime.date, *, figures: Figures | None = None
) -> Limits:
    """Return the least and the most heat since planting at which a field can be at a stage.

    From what its start and its end need, less and more a share that covers all that may lie
    between a rating, a weather station and a field. The least of V and VT is 0: no kernel hangs
    on them; the most of R6 is None.
    """
    known = figures or shipped_figures()
    needed = late_planting(needs, planted, figures=known)
    start, end = _ends(stage)
    least, most = known.numbers("checks.stage_heat_shares")

    def heat_f(name: str) -> float:
        return needed.silk_f + fill_fraction(name, figures=known) * needed.fill_f

    return least * heat_f(start) if start else 0.0, most * heat_f(end) if end else None


def day_limits(stage: str, *, figures: Figures | None = None) -> Limits:
    """Return the fewest and the most days since planting at which a field can be at a stage."""
    known = figures or shipped_figures()
    fewest, most = known.numbers("checks.silk_days")
    start, end = _ends(stage)
    return (
        fewest + days_after_silk(start, figures=known)[0] if start else 0.0,
        most + days_after_silk(end, figures=known)[1] if end else None,
    )


def _ends(stage: str) -> tuple[str | None, str | None]:
    """Return the stage that has begun and the one that has not, as far as they can be dated."""
    if stage in BEFORE_SILK:
        return None, R_STAGES[0]
    later = R_STAGES[R_STAGES.index(stage) + 1 :]
    return stage, later[0] if later else None
