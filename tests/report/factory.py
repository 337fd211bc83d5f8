"""Field results made by hand, one for every kind of report."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from fieldbook.agronomy.clipping import clipping_lines
from fieldbook.agronomy.drying import DryDates
from fieldbook.agronomy.freeze import EarlyFreezes
from fieldbook.agronomy.fungicide import (
    break_even_bu_ac,
    chance_to_break_even,
    price_cost_table,
    spray_window,
)
from fieldbook.agronomy.gap_looks import StopLook
from fieldbook.agronomy.leafrules import ILLINOIS_2015, Risks, judge_visit, unknown_seen
from fieldbook.agronomy.leaves import LeafCount, leaf_readings, trend
from fieldbook.agronomy.ranges import DayRange, Span
from fieldbook.agronomy.shake import ShakenEar, pollinated_field, shake_time
from fieldbook.agronomy.silk_curve import SilkCount
from fieldbook.agronomy.silking import silking_date
from fieldbook.agronomy.stalks import mould, mould_reading, stalk_reading
from fieldbook.agronomy.tassel import TasselReading, shed_window
from fieldbook.agronomy.wilson import Count
from fieldbook.agronomy.windows import WeatherDay, gibberella_watch, weather_between
from fieldbook.figures import shipped_figures
from fieldbook.forms.ears import Ear
from fieldbook.problems import Place, problem
from fieldbook.report.context import ReportContext
from fieldbook.results.gaps import gaps
from fieldbook.results.harvest import HarvestResult
from fieldbook.results.looks_result import (
    FungicideResult,
    GapsResult,
    LeavesResult,
    OutlookResult,
    PollinationResult,
    RipeResult,
    SeenMould,
    ShakenResult,
)
from fieldbook.results.pollination import silked_within
from fieldbook.results.result import (
    FieldResult,
    HeatResult,
    PlantingResult,
    StageResult,
    VisitResult,
)
from fieldbook.results.yield_result import EarsResult, LossResult, StopResult, YieldResult
from fieldbook.units import AREA, System
from fieldbook.words import phrase

TODAY = date(2026, 8, 17)
SEEN = date(2026, 8, 11)
FIGURES = (
    "kernels.average_thousand_per_bu",
    "bushel.weight_lb",
    "bushel.moisture_pct",
    "sampling.confidence_pct",
    "sampling.ac_per_stop",
    "ears.tip_allowance_in",
    "ears.pattern_least_share",
    "heat.base_f",
    "heat.cap_f",
    "fill.fractions",
    "late_planting.black_layer_gdd_f_per_day",
    "forecast.percentiles",
)


def context(**more: Any) -> ReportContext:
    """Make a context with the shipped figures."""
    return ReportContext(figures=shipped_figures(), **more)


def stop(number: int, yield_bu_ac: float | None, **more: Any) -> StopResult:
    """Make a stop; its parts agree with its yield at 87.5 thousand kernels a bushel."""
    made: dict[str, Any] = {
        "place": "interior",
        "ears_per_ac": 30_000.0,
        "plants_per_ac": 31_400.0,
        "kernels_per_ear": None if yield_bu_ac is None else yield_bu_ac * 87.5 / 30,
        "ears_used": 5,
        "left_out": None,
        **more,
    }
    return StopResult(stop=number, yield_bu_ac=yield_bu_ac, **made)


def stage(name: str, day: date | None, span: tuple[date, date] | None, **more: Any) -> StageResult:
    """Make a stage that is forecast by heat from R4."""
    made: dict[str, Any] = {
        "basis": "heat units",
        "years": 8,
        "anchor_stage": "R4",
        "anchor_date": SEEN,
        "passed": bool(day and day <= TODAY),
        **more,
    }
    earliest, latest = span or (None, None)
    return StageResult(stage=name, date=day, earliest=earliest, latest=latest, **made)


STAGES = (
    stage("R1", date(2026, 7, 14), None, basis="heat units", anchor_stage=None, anchor_date=None),
    stage("R4", SEEN, None, basis="seen", years=0),
    stage("R5", date(2026, 8, 20), (date(2026, 8, 18), date(2026, 8, 23))),
    stage("R6", date(2026, 9, 12), (date(2026, 9, 5), date(2026, 9, 24))),
)

STOPS = (
    stop(1, 186.0),
    stop(2, 171.4, remark="Some rolled leaves at noon"),
    stop(3, 179.6),
    stop(4, 190.2),
    stop(5, 148.0, place="edge", left_out="edge"),
    stop(6, None, left_out="no-kernels", kernels_per_ear=None, ears_used=0),
)

YIELD = YieldResult(
    low_bu_ac=159.1,
    likely_bu_ac=181.8,
    high_bu_ac=205.3,
    interval_95_bu_ac=(168.7, 194.9),
    range_bu_ac=(155.6, 208.7),
    counting_half_width_bu_ac=13.1,
    thousand_kernels_per_bu=(77.5, 87.5, 100.0),
    grain_fill="average",
    grain_fill_stated=True,
    stops_used=4,
    stops_left_out=2,
    stops_still_needed=2,
    wanted_half_width_bu_ac=10.0,
    sd_between_stops_bu_ac=8.2,
    sd_within_stops_bu_ac=15.0,
    ring_worth_bu_ac=5.1,
)


def ear_shares(places: int = 40) -> dict[str, tuple[float, ...]]:
    """Make shares by place that sum to one: a thin base, a bare tip, a few gaps."""
    unset, aborted, scattered = [], [], []
    for at in range(places):
        share = at / places
        base = max(0.0, 0.6 - share * 15)
        tip = max(0.0, (share - 0.86) * 6)
        unset.append(min(1.0, base + tip))
        aborted.append(min(1 - unset[-1], max(0.0, 0.5 - abs(share - 0.88) * 5)))
        scattered.append(min(1 - unset[-1] - aborted[-1], 0.03))
    kept = [1 - sum(parts) for parts in zip(unset, aborted, scattered, strict=True)]
    return {
        "share_set": tuple(kept),
        "share_unset": tuple(unset),
        "share_aborted": tuple(aborted),
        "share_scattered": tuple(scattered),
    }


EARS = EarsResult(
    ears=25,
    bare_cobs=1,
    kernels_per_ear=523.4,
    kernels_per_ear_sd=61.0,
    rows_around=15.8,
    kernels_per_row=34.1,
    complete_ears=24,
    rings=39.8,
    kernel_set_pct=91.2,
    loss=LossResult(
        base_rings=0.8,
        inside_rings=1.1,
        tip_unset_rings=2.4,
        tip_aborted_rings=1.9,
        base_ears=24,
        inside_ears=24,
        tip_unset_ears=25,
        tip_aborted_ears=25,
    ),
    pattern="none",
    **ear_shares(),
)

VISITS = (
    VisitResult(
        visit_id="K07.RS1",
        round="roadside",
        date=date(2026, 7, 16),
        scout="Mirela Austvik",
        stage="R1",
        grain_fill=None,
        remark=None,
        stops=0,
        ears=0,
    ),
    VisitResult(
        visit_id="K07.KC1",
        round="kernel-count",
        date=SEEN,
        scout="Mirela Austvik",
        stage="R4",
        grain_fill="average",
        remark="Lower leaves still green",
        stops=6,
        ears=25,
    ),
)

HEAT = HeatResult(
    station="home",
    gdd_since_planting_f=2010.5,
    weather_through=date(2026, 8, 16),
    past_years=8,
    days_filled=2,
    days_missing=0,
)


NO_FUNGICIDE = FungicideResult(
    window=None,
    cost_per_ac=None,
    price_per_bu=None,
    break_even_bu_ac=None,
    chance=None,
    gain_bu_ac=None,
    gain_sd_bu_ac=None,
    gain_source=None,
    table=None,
    severity=None,
    pre_harvest=None,
)
# ---- pollination, gaps and what lies ahead -------------------------------------------------

SHAKEN_ON = date(2026, 7, 24)
SILK_COUNTS = (
    SilkCount(day=date(2026, 7, 12), silked=5, of=20),
    SilkCount(day=date(2026, 7, 16), silked=14, of=20),
)


def weather(first: date = date(2026, 7, 1), days: int = 47) -> tuple[WeatherDay, ...]:
    """Make days with a hot spell from 13 to 15 July, and rain on every fifth day."""
    return tuple(
        WeatherDay(
            day=first + timedelta(at),
            tmax_f=98.0 if 12 <= at <= 14 else 86.0,
            tmin_f=73.0 if at == 13 else 64.0,
            rain_in=0.6 if at % 5 == 0 else 0.0,
        )
        for at in range(days)
    )


def shaken(pct: float = 92.0, day: date = SHAKEN_ON, stops: int = 4, ears: int = 5) -> ShakenResult:
    """Make shaken ears that all let go of about one share of their silks."""
    made = [
        ShakenEar(stop=stop, base_pct=pct + stop, middle_pct=pct, tip_pct=pct - stop - ear,
                  pale_tip_pct=60.0)
        for stop in range(1, stops + 1)
        for ear in range(ears)
    ]  # fmt: skip
    found = pollinated_field(made)
    silking = silking_date(SILK_COUNTS)
    assert found is not None
    assert silking is not None
    return ShakenResult(day=day, ears=found, time=shake_time(day, silking.within))


def pollination(**more: Any) -> PollinationResult:
    """Make a field that silked about 14 July, shed before 18 July and was shaken on 24 July."""
    readings = [
        TasselReading(stop=1, day=date(2026, 7, 12), reading="middle"),
        TasselReading(stop=1, day=date(2026, 7, 16), reading="branches"),
        TasselReading(stop=2, day=date(2026, 7, 14), reading="whole-spike"),
    ]
    made: dict[str, Any] = {
        "silk_counts": SILK_COUNTS,
        "silking": silking_date(SILK_COUNTS),
        "shed": shed_window(readings),
        "gap_days": Span(low=-2, high=4),
        "gap_points_to_stress": False,
        "shaken": shaken(),
        "clipping": (),
        **more,
    }
    return PollinationResult(**made)


def rootworm_lines(beetles: float, silk_length_in: float | None) -> dict[str, Any]:
    """Make the parts of a field with rootworm beetles, few silks fallen yet."""
    lines = clipping_lines(
        silk_length_in=silk_length_in,
        pollinated_pct=Span(low=20, high=30),
        beetles=beetles,
        beetles_on="rootworm-plant",
    )
    return {"clipping": lines, "shaken": None, "shed": None, "gap_days": None}


EAR = Ear(
    field_id="K07",
    stop=1, ear=1, rows_around=16, base_blank=0, kernels_set=36, inside_blank=0, tip_unset=2,
    tip_aborted=2, pattern="even",
)  # fmt: skip


def missing(
    silked: DayRange | None = None,
    *,
    plain: Ear = EAR,
    ears: int = 12,
    looks: Sequence[StopLook] = (),
    **parts: Any,
) -> GapsResult:
    """Make gaps of ears that are all alike; `parts` change what the plain ear holds."""
    found = gaps(
        [replace(plain, stop=1 + at % 4, ear=1 + at // 4, **parts) for at in range(ears)],
        ears_per_ac=30_000.0,
        yield_=YIELD,
        silked=silked,
        plant_spread_days=None,
        looks=looks,
        weather=weather(),
        figures=shipped_figures(),
    )
    assert found is not None
    return found


SILKED = silked_within(pollination(), ())
NO_OUTLOOK = OutlookResult(
    freezes=None,
    freeze_loss_pct=None,
    dry_to_pct=20.0,
    dry=None,
    gibberella=None,
    fill=None,
    hot_and_dry=None,
)
OUTLOOK = OutlookResult(
    freezes=EarlyFreezes(years=12, possible=3, killing=0),
    freeze_loss_pct=55.0,
    dry_to_pct=20.0,
    dry=DryDates(
        moisture_pct=20.0,
        date=date(2026, 10, 9),
        earliest=date(2026, 9, 28),
        latest=date(2026, 10, 20),
        years=12,
        years_short=0,
    ),
    gibberella=gibberella_watch(weather(), date(2026, 7, 14), late_silks=True),
    fill=weather_between(weather(), date(2026, 7, 14), date(2026, 8, 16)),
    hot_and_dry=False,
)


def full(**more: Any) -> FieldResult:
    """Make a field where every part is there."""
    planting = PlantingResult(hybrid="Larkspur 108", planted=date(2026, 4, 29), acres=62.0)
    made: dict[str, Any] = {
        "season_name": "Test season",
        "year": 2026,
        "as_of": TODAY,
        "units": "us",
        "field_id": "K07",
        "field": "Windmill seventy",
        "grower_id": "G9",
        "grower": "Tobias Renwick",
        "acres": 62.0,
        "row_width_in": 30.0,
        "plantings": (planting,),
        "forecast_planting": planting,
        "own_average_bu_ac": 192.0,
        "visits": VISITS,
        "yield_": YIELD,
        "weighed": None,
        "methods": None,
        "stops": STOPS,
        "ears": EARS,
        "heat": HEAT,
        "stages": STAGES,
        "leaves": None,
        "fungicide": NO_FUNGICIDE,
        "ripe": None,
        "pollination": pollination(),
        "gaps": missing(SILKED),
        "outlook": OUTLOOK,
        "around_silking": weather(),
        "may_enter": phrase("From {day}", day=date(2026, 7, 26)),
        "questions": (
            problem(
                "rows-odd",
                Place(sheet="Ears", cell="D14", table="ears"),
                typed=15,
                below=14,
                above=16,
            ),
        ),
        "notes": (
            problem(
                "few-stops",
                field="K07 Windmill seventy",
                stops=4,
                area=AREA.amount("62", System.US),
                wanted=7,
            ),
        ),
        "confirmed": (problem("rings-many", total=57, most=55),),
        "figures": FIGURES,
        **more,
    }
    return FieldResult(**made)


def no_visit() -> FieldResult:
    """Make a field that nobody has looked at."""
    return full(
        visits=(), yield_=None, stops=(), ears=None, questions=(), notes=(), confirmed=(),
        pollination=None, gaps=None, outlook=NO_OUTLOOK,
        stages=tuple(
            replace(one, anchor_stage=None, anchor_date=date(2026, 4, 29))
            for one in STAGES
            if one.basis != "seen"
        ),
    )  # fmt: skip


def one_stop() -> FieldResult:
    """Make a field with one usable stop: no range from counting."""
    alone = replace(
        YIELD,
        interval_95_bu_ac=None,
        range_bu_ac=(159.1, 205.3),
        counting_half_width_bu_ac=None,
        stops_used=1,
        stops_left_out=0,
        stops_still_needed=None,
        sd_between_stops_bu_ac=None,
    )
    return full(stops=(stop(1, 181.8),), yield_=alone)


def thirty_stops() -> FieldResult:
    """Make a field with thirty stops, five of them left out."""
    stops = tuple(
        stop(number, 150 + (number * 37 % 61), remark="Weeds in the row" if number == 7 else None)
        if number % 6
        else stop(number, 120 + number, place="end-rows", left_out="end-rows")
        for number in range(1, 31)
    )
    return full(stops=stops, yield_=replace(YIELD, stops_used=25, stops_still_needed=0))


def longest_names() -> FieldResult:
    """Make a field whose names are as long as anybody would type."""
    field = "The far quarter behind Grandmother Ottilie's orchard and the second windbreak"
    grower = "Featherstonehaugh-Wojciechowski Family Farms Limited Partnership of the North"
    hybrid = "Extraordinarily Long Hybrid Name 118 Special Edition With Traits"
    planting = PlantingResult(hybrid=hybrid, planted=date(2026, 5, 22), acres=1234.5)
    scout = "Maximiliana Konstantinopolska-Featherstonehaugh"
    return full(
        field=field,
        grower=grower,
        field_id="FEATHERSTONE-NORTH-114",
        plantings=(planting, replace(planting, planted=date(2026, 5, 29))),
        visits=tuple(replace(visit, scout=scout) for visit in VISITS),
        stops=tuple(replace(one, remark="Lodged, wet, and hail damaged in June") for one in STOPS),
    )


def only_edge() -> FieldResult:
    """Make a field where every stop lies outside of the field figure."""
    stops = (
        stop(1, 148.0, place="edge", left_out="edge"),
        stop(2, 150.0, place="end-rows", left_out="end-rows"),
        stop(3, 133.0, place="low-ground", left_out="low-ground"),
        stop(4, 121.0, place="replant", left_out="replant"),
    )
    return full(stops=stops, yield_=None, notes=(problem("all-off-figure", field="K07"),))


def no_past_years() -> FieldResult:
    """Make a field whose dates rest on days alone."""
    by_days = tuple(
        replace(
            one,
            basis="days after silking",
            years=0,
            anchor_stage="R1",
            anchor_date=date(2026, 7, 14),
            date=None,
        )
        if one.basis == "heat units" and not one.passed
        else one
        for one in STAGES
    )
    return full(stages=by_days, heat=replace(HEAT, past_years=0))


def hostile() -> FieldResult:
    """Make a field whose names try to be formulas, scripts and templates."""
    return full(
        field="<script>alert(1)</script>",
        grower='=HYPERLINK("http://evil.example")',
        visits=tuple(replace(visit, remark="{{7*7}} <img src=x onerror=y>") for visit in VISITS),
        stops=tuple(replace(one, remark="</td><script>1</script>") for one in STOPS),
        may_enter=phrase("{% raw %}<b>"),
    )


def base_gap(**more: Any) -> FieldResult:
    """Make a field whose ears lack ten kernels at the base, of a known silking date."""
    return full(gaps=missing(SILKED, base_blank=10, kernels_set=26), **more)


def failed(**more: Any) -> FieldResult:
    """Make a field of which a third of the kernel places is filled."""
    poor = replace(EARS, kernel_set_pct=34.0, kernels_per_ear=190.0)
    bare = missing(SILKED, tip_unset=24, kernels_set=14)
    return full(ears=poor, gaps=bare, use="silage", **more)


CUT_ON = date(2026, 10, 12)
CUT = HarvestResult(
    field_id="K07",
    day=CUT_ON,
    loads=3,
    acres=62.0,
    acres_typed=True,
    wet_lb=660_000.0,
    moisture_pct=20.4,
    test_weight_lb_bu=57.0,
    yield_bu_ac=176.2,
)


def harvested(result: FieldResult | None = None, cut: HarvestResult | None = CUT) -> FieldResult:
    """Make a field that was cut on 12 October, as of the day after."""
    made = result or full()
    home = replace(VISITS[-1], visit_id="K07.HV1", round="harvest", date=CUT_ON, stage=None)
    return replace(
        made, as_of=CUT_ON + timedelta(1), visits=(*made.visits, home), harvest=cut, questions=()
    )


def only_pollinated() -> FieldResult:
    """Make a field that was looked at during silking and not since."""
    return full(
        as_of=date(2026, 7, 25), yield_=None, stops=(), ears=None, gaps=None, outlook=NO_OUTLOOK
    )


METRIC = context(units=System.METRIC, paper="a4")

ALL = {
    "full": full,
    "no visit": no_visit,
    "one stop": one_stop,
    "thirty stops": thirty_stops,
    "longest names": longest_names,
    "only edge": only_edge,
    "no past years": no_past_years,
    "hostile": hostile,
    "base gap": base_gap,
    "failed": failed,
    "only pollinated": only_pollinated,
}


# ---- leaves, the fungicide question, stalks and ears before harvest --------------------------

AT_TASSEL, LATER = date(2026, 7, 14), date(2026, 8, 8)


def leaf(
    disease: str, stops: Sequence[tuple[int, int]], day: date = AT_TASSEL, **more: Any
) -> list[LeafCount]:
    """Make the rows of a disease: plants with it, and high up, of 20 at every stop."""
    return [
        LeafCount(
            visit_date=day,
            stop=number,
            disease=disease,
            looked=20,
            with_it=with_it,
            high=high,
            **more,
        )
        for number, (with_it, high) in enumerate(stops, start=1)
    ]


def leaves(
    *visits: list[LeafCount],
    stage: str = "R1",
    rule: str = ILLINOIS_2015,
    ratings: Mapping[str, str | None] | None = None,
    risks: Risks | None = None,
) -> LeavesResult:
    """Sum up visits, and judge the first one, as the season would."""
    rows = [row for visit in visits for row in visit]
    readings = leaf_readings(rows)
    own: dict[str, list[Any]] = {}
    for one in readings:
        own.setdefault(one.disease, []).append(one)
    trends = {disease: trend(some) for disease, some in own.items()}
    return LeavesResult(
        day=visits[0][0].visit_date,
        readings=readings,
        judged=judge_visit(
            visits[0], stage=stage, rule=rule, ratings=ratings or {}, risks=risks or Risks()
        ),
        trends={disease: change for disease, change in trends.items() if change},
        unknown=unknown_seen(visits[0]),
    )


def asked(
    *,
    seen: str = "R1",
    cost: float | None = 26.0,
    price: float | None = 4.5,
    r3: tuple[int, int] | None = (8, 12),
    **more: Any,
) -> FungicideResult:
    """Make the fungicide question; `r3` are days from today to milk, fewest and most."""
    spans = {"R3": (TODAY + timedelta(r3[0]), TODAY + timedelta(r3[1]))} if r3 else {}
    even = break_even_bu_ac(cost, price) if cost and price else None
    made: dict[str, Any] = {
        "window": spray_window(TODAY, spans, seen=seen),
        "cost_per_ac": cost,
        "price_per_bu": price,
        "break_even_bu_ac": even,
        "chance": chance_to_break_even(even, 4.5, 6.0) if even else None,
        "gain_bu_ac": 4.5,
        "gain_sd_bu_ac": 6.0,
        "gain_source": "Three county trials, 2021 to 2024",
        "table": price_cost_table((20.8, 26.0, 31.2), (3.6, 4.5, 5.4)) if even else None,
        **more,
    }
    return replace(NO_FUNGICIDE, **made)


def ripening(
    *,
    failed: Sequence[int] | None = (3, 1, 4, 2, 2),
    mouldy: Sequence[int] | None = (0, 1, 0, 0, 1),
    looks: Sequence[tuple[str, int]] = (),
    moisture_pct: float | None = 24.5,
) -> RipeResult:
    """Make what a ripening visit saw: failed stalks and mouldy ears, of 20 at each place."""

    def counts(hits: Sequence[int]) -> list[Count]:
        return [Count(hits=one, looked=20) for one in hits]

    return RipeResult(
        day=date(2026, 9, 8),
        stalks=None if failed is None else stalk_reading(counts(failed)),
        mouldy=None if mouldy is None else mould_reading(counts(mouldy)),
        moulds=tuple(SeenMould(mould=mould(look), stops=stops) for look, stops in looks),
        moisture_pct=moisture_pct,
    )


DRY = DryDates(
    moisture_pct=20.0,
    date=date(2026, 9, 28),
    earliest=date(2026, 9, 20),
    latest=date(2026, 10, 8),
    years=8,
    years_short=0,
)
