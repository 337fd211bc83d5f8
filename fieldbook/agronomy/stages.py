"""What a hybrid needs to silk and to ripen, and how far along grain fill each stage is."""

import datetime
from dataclasses import dataclass

from fieldbook.figures import Figures, shipped_figures

R_STAGES = ("R1", "R2", "R3", "R4", "R5", "R6")
BEFORE_SILK = ("V", "VT")


@dataclass(frozen=True, kw_only=True)
class Needs:
    """Heat from planting to silking and to black layer [GDD F].

    ``silk_rated`` and ``black_layer_rated`` are True where the figure is the hybrid's own and not
    read off its maturity. Silking must come first, else ValueError.
    """

    silk_f: float
    black_layer_f: float
    silk_rated: bool = True
    black_layer_rated: bool = True

    def __post_init__(self) -> None:
        """Refuse a black layer that does not come after silking."""
        if not 0 < self.silk_f < self.black_layer_f:
            raise ValueError("black layer must need more heat than silking")

    @property
    def fill_f(self) -> float:
        """Heat from silking to black layer [GDD F]."""
        return self.black_layer_f - self.silk_f


def hybrid_needs(
    *,
    silk_gdd_f: float | None = None,
    black_layer_gdd_f: float | None = None,
    relative_maturity: float | None = None,
    basis: str = "planting",
    figures: Figures | None = None,
) -> Needs | None:
    """Return what a hybrid needs, from its own ratings first and its maturity otherwise.

    Parameters
    ----------
    silk_gdd_f, black_layer_gdd_f
        The hybrid's own ratings [GDD F].
    relative_maturity
        Days of relative maturity; fills in a rating that is missing (an approximation).
    basis
        What its ratings count from, ``planting`` or ``emergence``; the latter adds the heat that
        emergence takes.

    Returns
    -------
    Needs or None
        None where nothing is known. With one rating and no maturity, the maturity that the rating
        belongs to gives the other.

    Raises
    ------
    ValueError
        For another basis, or where black layer does not come after silking.
    """
    if basis not in ("planting", "emergence"):
        raise ValueError(f"heat counts from planting or emergence, not {basis!r}")
    known = figures or shipped_figures()
    extra = known.number("heat.emergence_gdd_f") if basis == "emergence" else 0.0
    silk = None if silk_gdd_f is None else silk_gdd_f + extra
    ripe = None if black_layer_gdd_f is None else black_layer_gdd_f + extra
    days = _maturity(silk, ripe, relative_maturity, known)
    if days is None:
        return None
    return Needs(
        silk_f=silk_from_maturity(days, figures=known) if silk is None else silk,
        black_layer_f=black_layer_from_maturity(days, figures=known) if ripe is None else ripe,
        silk_rated=silk is not None,
        black_layer_rated=ripe is not None,
    )


def silk_from_maturity(relative_maturity: float, *, figures: Figures | None = None) -> float:
    """Return heat from planting to silking [GDD F]: ``11.459 RM + 100.27`` (from memory)."""
    slope, start = _line("silk", figures or shipped_figures())
    return slope * relative_maturity + start


def black_layer_from_maturity(relative_maturity: float, *, figures: Figures | None = None) -> float:
    """Return heat from planting to black layer [GDD F]: ``24.16 RM - 15.388`` (from memory)."""
    slope, start = _line("black_layer", figures or shipped_figures())
    return slope * relative_maturity + start


def late_days(planted: datetime.date, *, figures: Figures | None = None) -> int:
    """Return the days of late planting that count: after May 1, at most up to June 15."""
    known = figures or shipped_figures()
    first, last = (
        datetime.date(planted.year, *(int(part) for part in known.numbers(f"late_planting.{end}")))
        for end in ("from_month_day", "to_month_day")
    )
    return max((min(planted, last) - first).days, 0)


def late_planting(needs: Needs, planted: datetime.date, *, figures: Figures | None = None) -> Needs:
    """Return what a hybrid needs when planted late, source `purdue-delayed-planting-units`.

    6.8 GDD F fewer to black layer for each day after May 1, of which 1.6 before silking; never
    before May 1 and not beyond mid June.
    """
    known = figures or shipped_figures()
    days = late_days(planted, figures=known)
    return Needs(
        silk_f=needs.silk_f - days * known.number("late_planting.silk_gdd_f_per_day"),
        black_layer_f=needs.black_layer_f
        - days * known.number("late_planting.black_layer_gdd_f_per_day"),
        silk_rated=needs.silk_rated,
        black_layer_rated=needs.black_layer_rated,
    )


def milk_line_fractions(line: float, *, figures: Figures | None = None) -> tuple[float, float]:
    """Return between which shares of the heat of grain fill a milk line lies.

    Parameters
    ----------
    line
        How far the solid starch has come from the crown, 0 to 1; read in quarters, so that it
        may truly stand half a quarter to either side.

    Notes
    -----
    From dent on the heat goes with the days that the line takes from quarter to quarter, source
    `iowa-state-milk-line` (derived).

    Raises
    ------
    ValueError
        Where the line is not from 0 to 1.
    """
    import numpy as np

    if not 0 <= line <= 1:
        raise ValueError("a milk line lies from 0 to 1")
    known = figures or shipped_figures()
    lines, steps = known.numbers("milk_line.shares"), known.numbers("milk_line.days_to_next")
    behind = np.cumsum([0.0, *steps]) / sum(steps)
    half = (lines[1] - lines[0]) / 2
    start = fill_fraction("R5", figures=known)
    ends = np.interp([line - half, line + half], lines, behind)
    first, last = start + (1 - start) * ends
    return float(first), float(last)


def fill_fraction(stage: str, *, figures: Figures | None = None) -> float:
    """Return the share of the heat of grain fill that is behind at the start of a stage.

    0 at R1 and 1 at R6. The rows of the table (source `carter-1991`) are equal fifths; a stage
    between two rows, such as R3 or R4, lies on the line between them (derived).

    Raises
    ------
    ValueError
        For anything but R1 to R6, parts such as R3.5 included.
    """
    import numpy as np

    known = figures or shipped_figures()
    numbers = known.numbers("fill.stage_numbers")
    number = float(stage[1:]) if stage.startswith("R") else -1.0
    if not numbers[0] <= number <= numbers[-1]:
        raise ValueError(f"no grain fill stage {stage!r}")
    return float(np.interp(number, numbers, known.numbers("fill.fractions")))


def fill_remaining_f(stage: str, fill_f: float, *, figures: Figures | None = None) -> float:
    """Return the heat still needed to black layer at the start of a stage [GDD F]."""
    return (1 - fill_fraction(stage, figures=figures)) * fill_f


def days_after_silk(stage: str, *, figures: Figures | None = None) -> tuple[int, int]:
    """Return the fewest and most days from silking to a stage, R1 to R6.

    Raises
    ------
    ValueError
        For another stage.
    """
    if stage not in R_STAGES:
        raise ValueError(f"no grain fill stage {stage!r}")
    if stage == R_STAGES[0]:
        return 0, 0
    fewest, most = (figures or shipped_figures()).numbers(f"days_after_silk.{stage.lower()}")
    return int(fewest), int(most)


def dry_down_gdd_f(
    to_pct: float, from_pct: float | None = None, *, figures: Figures | None = None
) -> float | None:
    """Return the heat to dry from one kernel moisture to another after black layer [GDD F].

    30 a point down to 25 %, 45 a point down to 20 %, source `ohio-state-dry-down`.

    Parameters
    ----------
    to_pct
        Wanted moisture [%]; below 20 there is no published rate and None is returned.
    from_pct
        Moisture now [%]; None: the assumed moisture at black layer.
    """
    known = figures or shipped_figures()
    start = known.number("dry_down.start_pct") if from_pct is None else from_pct
    turn = known.number("dry_down.turn_pct")
    if to_pct < known.number("dry_down.least_pct"):
        return None
    wet = max(start - max(to_pct, turn), 0.0)
    dry = max(min(start, turn) - to_pct, 0.0)
    return wet * known.number("dry_down.wet_gdd_f_per_pct") + dry * known.number(
        "dry_down.dry_gdd_f_per_pct"
    )


def _line(part: str, figures: Figures) -> tuple[float, float]:
    slope = figures.number(f"hybrid.{part}_slope_gdd_f_per_day")
    return slope, figures.number(f"hybrid.{part}_start_gdd_f")


def _maturity(
    silk: float | None, ripe: float | None, relative_maturity: float | None, figures: Figures
) -> float | None:
    """Return the relative maturity stated, else the one that a rating belongs to."""
    if relative_maturity is not None:
        return relative_maturity
    for rating, part in ((ripe, "black_layer"), (silk, "silk")):
        if rating is not None:
            slope, start = _line(part, figures)
            return (rating - start) / slope
    return None
