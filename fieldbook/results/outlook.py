"""What lies ahead of a field that fills grain: frost, dry-down, the watch for mould. Pure."""

from collections.abc import Mapping, Sequence
from datetime import date

from fieldbook.agronomy.drying import DryDates, dry_dates
from fieldbook.agronomy.freeze import early_freezes, freeze_loss_pct
from fieldbook.agronomy.heat import DailyTemps
from fieldbook.agronomy.windows import (
    GibberellaWatch,
    WeatherDay,
    WindowWeather,
    gibberella_watch,
    is_hot_and_dry,
    weather_between,
)
from fieldbook.figures import Figures
from fieldbook.results.looks_result import OutlookResult, RipeResult
from fieldbook.results.result import StageResult

_RIPE, _DENT = "R6", "R5"


def outlook(
    stages: Sequence[StageResult],
    *,
    as_of: date,
    silked: date | None,
    late_silks: bool,
    measured: RipeResult | None,
    weather: Sequence[WeatherDay],
    own: DailyTemps | None,
    years: Mapping[int, DailyTemps],
    figures: Figures,
) -> OutlookResult:
    """Look ahead from the dated stages, the season's weather and the past years.

    `silked` is the likeliest day of silking, `measured` the ripening visit with its moisture.
    Every part that the weather cannot carry is None.
    """
    dates = {stage.stage: stage for stage in stages}
    ripe = dates.get(_RIPE)
    before = ripe.date if ripe and not ripe.passed else None
    reached = [stage.stage for stage in stages if stage.passed]
    fill = _fill(silked, dates.get(_DENT), as_of, weather, figures)
    to_pct = figures.number("harvest.target_moisture_pct")
    return OutlookResult(
        freezes=early_freezes(years, before, figures=figures) if before and years else None,
        freeze_loss_pct=freeze_loss_pct(reached[-1], figures=figures) if reached else None,
        dry_to_pct=to_pct,
        dry=_dry(ripe, measured, to_pct, years, own, figures),
        gibberella=_gibberella(silked, late_silks, weather, figures),
        fill=fill,
        hot_and_dry=is_hot_and_dry(fill, figures=figures) if fill else None,
    )


def _dry(
    ripe: StageResult | None,
    measured: RipeResult | None,
    to_pct: float,
    years: Mapping[int, DailyTemps],
    own: DailyTemps | None,
    figures: Figures,
) -> DryDates | None:
    """Dry down from the moisture that was measured, else from black layer."""
    if measured is not None and measured.moisture_pct is not None:
        return dry_dates(
            to_pct,
            ripe=measured.day,
            ripe_earliest=measured.day,
            ripe_latest=measured.day,
            years=years,
            own=own,
            from_pct=measured.moisture_pct,
            figures=figures,
        )
    if ripe is None or ripe.date is None:
        return None
    return dry_dates(
        to_pct,
        ripe=ripe.date,
        ripe_earliest=ripe.earliest or ripe.date,
        ripe_latest=ripe.latest or ripe.date,
        years=years,
        own=own,
        figures=figures,
    )


def _gibberella(
    silked: date | None, late_silks: bool, weather: Sequence[WeatherDay], figures: Figures
) -> GibberellaWatch | None:
    if silked is None or not weather or silked > weather[-1].day:
        return None
    return gibberella_watch(weather, silked, late_silks=late_silks, figures=figures)


def _fill(
    silked: date | None,
    dent: StageResult | None,
    as_of: date,
    weather: Sequence[WeatherDay],
    figures: Figures,
) -> WindowWeather | None:
    """Sum up the weather from silking to dent, or to today."""
    last = min(dent.date, as_of) if dent and dent.date else as_of
    if silked is None or not weather or silked > min(last, weather[-1].day):
        return None
    return weather_between(weather, silked, min(last, weather[-1].day), figures=figures)
