"""Where kernels are missing, when that arose, what lies ahead, and what to do after a failure."""

import re
from dataclasses import replace
from datetime import date

import pytest

from fieldbook.agronomy.drying import DryDates
from fieldbook.agronomy.freeze import EarlyFreezes
from fieldbook.agronomy.gap_looks import StopLook
from fieldbook.agronomy.gaps import WHOLE_EAR
from fieldbook.agronomy.ranges import DayRange
from fieldbook.agronomy.timing import POLLEN_LATE
from fieldbook.agronomy.windows import WindowWeather, gibberella_watch, weather_between
from fieldbook.figures import shipped_figures
from fieldbook.forms.ears import Ear
from fieldbook.report.aheadwords import ahead_sentences
from fieldbook.report.amounts import Amounts
from fieldbook.report.gapwords import gaps_table, is_wide, pattern_sentences, when_lines
from fieldbook.report.headline import headline
from fieldbook.results.gaps import gaps
from fieldbook.results.looks_result import GapsResult
from fieldbook.results.result import FieldResult
from fieldbook.units import System
from report import factory
from report.test_page import page

FIGURES = shipped_figures()
US, METRIC = Amounts(units=System.US), Amounts(units=System.METRIC)


def when(result: FieldResult, amounts: Amounts = US) -> str:
    return " ".join(when_lines(result, amounts, FIGURES))


def ahead(**more: object) -> str:
    outlook = replace(factory.OUTLOOK, **more)  # type: ignore[arg-type]
    return " ".join(ahead_sentences(factory.full(outlook=outlook), US, FIGURES))


QUIET = replace(
    weather_between(factory.weather(), date(2026, 7, 14), date(2026, 7, 20)),
    hot_days=0,
    warm_nights=None,
    wet_days=0,
    longest_dry_run=0,
)


def narrow(found: GapsResult) -> GapsResult:
    """Date every gap to within five days."""
    within = DayRange(earliest=date(2026, 7, 21), latest=date(2026, 7, 26))
    dated = [replace(one, days=within) for one in found.dated if one.reading.reading == POLLEN_LATE]
    return replace(found, dated=tuple(dated))


# ---- where and when ------------------------------------------------------------------------


def test_a_base_gap_is_told_in_both_readings():
    """Late pollen and lost silks both stand, with the weather that coincides, and the caution."""
    text = when(factory.base_gap())
    assert "If pollen came late, the first good pollen fell on a day from" in text
    assert "If early silks were lost to heat, drying or clipping, that was on a day from" in text
    assert "coincides with 3 days over 95 °F, one night over 70 °F" in text
    assert "tested on simulated ears only; what coincides need not be the cause" in text


def test_a_range_too_wide_for_a_date_says_so():
    """Over eight days the date cannot be had; within them it can."""
    result = factory.base_gap()
    assert re.search(r"early silks were lost [^;]+ \*; coincides", when(result))
    assert "* Cannot be told to within 8 days." in when(result)
    assert result.gaps is not None
    text = when(replace(result, gaps=narrow(result.gaps)))
    assert "the first good pollen fell on a day from 21 to 26 July; coincides with" in text
    assert "*" not in text


@pytest.mark.parametrize(("days", "wide"), [(8, False), (9, True)])
def test_eight_days_are_the_line(days: int, wide: bool):
    """The line itself is still a date; an open end is none."""
    within = DayRange(earliest=date(2026, 7, 1), latest=date(2026, 7, 1 + days))
    assert is_wide(within, FIGURES) is wide
    assert is_wide(DayRange(latest=date(2026, 7, 1)), FIGURES)


def test_aborted_tips_look_at_the_weeks_after():
    """Shrunken kernels were pollinated: two weeks, at most four, and no talk of pollen."""
    result = factory.full(gaps=factory.missing(factory.SILKED, tip_aborted=12, kernels_set=26))
    text = when(result)
    assert "Look for stress in the two weeks after pollination" in text
    assert "Under hard stress it may be up to four weeks" in text
    assert "If pollen" not in text
    assert "*" not in text


def looks(day: date, **seen: object) -> list[StopLook]:
    return [StopLook(stop=stop, day=day, **seen) for stop in range(1, 5)]  # type: ignore[arg-type]


def test_what_visits_saw_fits_or_speaks_against():
    """One sentence holds what tassels and silks showed, and when; without looks there is none."""
    day = date(2026, 7, 18)
    gaps = factory.missing(
        factory.SILKED, base_blank=10, kernels_set=26, looks=looks(day, tassel="not-yet")
    )
    text = when(factory.full(gaps=gaps))
    said = "most tassels did not shed yet on Sat 18 July, which fits late pollen."
    assert f"What visits saw: {said}" in text
    early = looks(date(2026, 7, 16), tassel="whole-spike", beetles=4.0)
    gaps = factory.missing(factory.SILKED, base_blank=10, kernels_set=26, looks=early)
    assert (
        "What visits saw: most tassels already shed on Thu 16 July, which speaks against late "
        "pollen; many beetles sat on the silks on Thu 16 July, which fits early silks lost."
    ) in when(factory.full(gaps=gaps))
    assert "What visits saw" not in when(factory.base_gap())


def test_without_a_silking_date_there_is_no_date():
    """The reason stands in place of the date."""
    result = factory.full(gaps=factory.missing(None, base_blank=10, kernels_set=26))
    assert when(result) == "When cannot be told: no silking date is known."


def test_bare_cobs_alone_have_no_date():
    """Nothing on them could be counted from, whatever the silking date."""
    found = replace(factory.missing(factory.SILKED), standing_out=(WHOLE_EAR,), dated=())
    assert when(factory.full(gaps=found)) == (
        "When cannot be told: a bare cob shows no place to count from."
    )


@pytest.mark.parametrize("weather", [None, QUIET], ids=["none", "quiet"])
def test_without_unusual_weather_nothing_coincides(weather: WindowWeather | None):
    """No weather on file and weather as usual both leave the days alone."""
    result = factory.base_gap()
    assert result.gaps is not None
    dated = tuple(replace(one, weather=weather) for one in result.gaps.dated)
    lines = when_lines(replace(result, gaps=replace(result.gaps, dated=dated)), US, FIGURES)
    assert "coincides with" not in " ".join(lines)
    assert all(line.endswith(".") for line in lines)


def test_dates_from_a_forecast_say_so():
    """Silks that nobody counted are no observation."""
    text = when(factory.base_gap(pollination=None))
    assert "Silks were not counted, so these days start from a forecast." in text


def test_the_table_names_place_kind_and_bushels():
    """Butt end, both readings of never set, and an upper side in bushels."""
    result = factory.base_gap()
    assert result.gaps is not None
    table = gaps_table(result.gaps.found, US)
    assert table is not None
    base = next(row for row in table.rows if row[0].startswith("Base"))
    assert base[0] == "Base (butt end), never set, or lost in the first days"
    assert base[1] == "10.0"
    assert "At most bu/ac" in table.heads
    text = page(result)
    assert "At stake: at the most about" in text
    assert "the first inch of bare tip is not priced" in text


def test_places_not_looked_at_have_no_row_and_those_counted_have_theirs():
    """A blank is a blank: the rows are what was counted, and the sentence names the rest."""
    blank = dict.fromkeys(("base_blank", "inside_blank"))
    found = factory.missing(factory.SILKED, **blank)
    table = gaps_table(found.found, US)
    assert table is not None
    assert [row[:2] for row in table.rows] == [
        ("Tip, never set, or lost in the first days", f"{factory.EAR.tip_unset}.0"),
        ("Tip, shrunken: set first, lost later", f"{factory.EAR.tip_aborted}.0"),
    ]
    long_tips = factory.missing(factory.SILKED, tip_aborted=12, kernels_set=26, **blank)
    said = [*pattern_sentences(long_tips, US)]
    assert "have a longer bare tip than is common, with shrunken kernels in it" in said[0]
    assert "Not looked at: the base and between kernels." in said


def some_long_tips(*cobs: Ear, **more: float | None) -> GapsResult:
    """Make nine ears of which two have a long bare tip, and what bare cobs there are."""
    long, plain = (
        replace(factory.EAR, tip_unset=unset, base_blank=None, inside_blank=None)
        for unset in (12, 2)
    )
    ears = [replace(plain, stop=1, ear=at) for at in range(1, 8)]
    ears += [replace(long, stop=1, ear=at, **more) for at in (8, 9)]
    found = gaps(
        [*ears, *cobs],
        ears_per_ac=30_000.0,
        yield_=factory.YIELD,
        silked=None,
        looks=(),
        plant_spread_days=None,
        weather=(),
        figures=FIGURES,
    )
    assert found is not None
    return found


def test_tips_alone_follow_no_pattern_and_break_none():
    """A pattern is spoken of only where the base or the kernels between were looked at, too."""
    english, spanish = (
        " ".join(pattern_sentences(some_long_tips(), Amounts(units=System.US, language=one)))
        for one in ("en", "es")
    )
    assert "Some ears have a longer bare tip than is common." in english
    assert "Not looked at: the base and between kernels." in english
    assert "no single pattern" not in english
    assert "Algunas mazorcas tienen la punta sin granos más larga" in spanish
    assert "Sin revisar: la base y entre granos." in spanish
    bare = Ear(field_id="K07", stop=1, ear=10, bare_cob="yes")
    with_cob = " ".join(pattern_sentences(some_long_tips(bare), US))
    assert (
        "than is common. Some ears are bare cobs. Not looked at: the base and between" in with_cob
    )
    with_base = " ".join(pattern_sentences(some_long_tips(base_blank=0), US))
    assert "What is missing follows no single pattern." in with_base


def test_a_place_has_a_row_only_where_something_is_missing():
    """Full ears and common tips have no table; one-sided ears have a row of their own."""
    assert gaps_table(factory.missing(factory.SILKED).found, US) is None
    long_tips = factory.missing(factory.SILKED, tip_aborted=12, kernels_set=26)
    plain = gaps_table(long_tips.found, US)
    assert plain is not None
    assert [row[0][:14] for row in plain.rows] == ["Tip, shrunken:"]
    half = factory.missing(factory.SILKED, pattern="one-sided", opposite_set=16)
    sided = gaps_table(half.found, US)
    assert sided is not None
    assert sided.rows[-1][:2] == ("One side of the ear", "10.0")
    full = factory.missing(factory.SILKED, tip_unset=0, tip_aborted=0)
    assert gaps_table(full.found, US) is None


def test_ordinary_ears_lack_nothing():
    """A short bare tip is common, is not dated and not priced."""
    result = factory.full()
    assert when_lines(result, US, FIGURES) == ()
    assert "Nothing is missing beyond what is common." in page(result)
    assert "At stake" not in page(result)


@pytest.mark.parametrize(
    ("blank", "places"),
    [
        (("base_blank",), "the base"),
        (("base_blank", "inside_blank"), "the base and between kernels"),
        (("tip_aborted",), "shrunken kernels at the tip"),
        (("tip_unset", "tip_aborted"), "the tip"),
    ],
)
def test_what_was_not_looked_at_is_not_said_to_lack_nothing(blank: tuple[str, ...], places: str):
    """The sentence speaks of what was looked at, and names the rest."""
    found = factory.missing(factory.SILKED, **dict.fromkeys(blank))
    assert [*pattern_sentences(found, US)][:2] == [
        "Where it was looked at, nothing is missing beyond what is common.",
        f"Not looked at: {places}.",
    ]


def test_metric_readers_get_degrees_celsius():
    """Heat and the free tip read in metric."""
    text = when(factory.base_gap(), METRIC)
    assert "3 days over 35 °C, one night over 21 °C" in text
    assert "the first 2.5 cm of bare tip" in page(factory.base_gap(), factory.METRIC)


@pytest.mark.parametrize(
    ("units", "words"),
    [
        (System.US, "y la primera pulgada de punta sin granos no se valora."),
        (System.METRIC, "y los primeros 2.5 cm de punta sin granos no se valoran."),
    ],
)
def test_what_is_at_stake_is_said_in_spanish(units: System, words: str):
    """In both units; days join as Spanish joins them."""
    spanish, result = Amounts(units=units, language="es"), factory.base_gap()
    assert result.gaps is not None
    assert list(pattern_sentences(result.gaps, spanish))[-1].endswith(words)
    assert spanish.days(date(2026, 7, 14), date(2026, 8, 12)) == "14 de julio al 12 de agosto"


# ---- the headline and a failure ------------------------------------------------------------


def test_the_headline_says_how_pollination_went():
    """At most one sentence: well, what lacks, or that it failed."""
    assert "Pollination went well. Ears hold" in page(factory.full())
    lacking = page(factory.base_gap())
    assert "At least a third of the ears lack kernels at the base. Ears hold" in lacking
    assert "Pollination went well" not in lacking
    assert "Pollination went well: about 9 of 10 silks had let go" in page(
        factory.only_pollinated()
    )


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (date(2026, 7, 19), "It is too early to judge pollination: about 6 of 10 silks"),
        (date(2026, 7, 25), "Pollination fell short: about 6 of 10 silks"),
    ],
)
def test_a_low_share_is_judged_only_in_its_time(day: date, words: str):
    """Too early silks hang on whatever happened."""
    found = factory.pollination(shaken=factory.shaken(pct=62, day=day))
    assert words in page(replace(factory.only_pollinated(), pollination=found))


@pytest.mark.parametrize("state", ["ears counted", "harvested"])
def test_it_is_not_too_early_once_ears_were_counted_or_the_field_is_cut(state: str):
    """The lead drops it; the section on pollination keeps what was seen."""
    early = factory.pollination(shaken=factory.shaken(pct=52, day=date(2026, 7, 19)))
    field = replace(factory.only_pollinated(), pollination=early)
    assert "too early to judge pollination" in " ".join(headline(field, US, FIGURES))
    if state == "harvested":
        field = factory.harvested(field)
    else:
        counted = replace(factory.EARS, kernel_set_pct=None, complete_ears=0)
        field = replace(field, ears=counted)
    assert "too early to judge" not in " ".join(headline(field, US, FIGURES))
    assert "On Sun 19 July about 5 of 10 silks let go" in page(field)


def test_a_failure_says_whom_to_call_before_chopping():
    """Insurance, nitrate, silo gas, and what the corn is for."""
    text = page(factory.failed())
    assert "Pollination or kernel set failed; call your crop-insurance agent" in text
    assert "before anything is chopped, grazed or destroyed" in text
    assert "have nitrate tested before feeding, and stay away from silo gas" in text
    assert "On the roster this corn is for silage." in text
    assert "crop-insurance" not in page(factory.full())


def test_a_failed_shake_is_a_failure_only_in_its_time():
    """A low share on the main reading calls the agent; an early one does not."""
    late = factory.pollination(shaken=factory.shaken(pct=30, day=date(2026, 7, 25)))
    early = factory.pollination(shaken=factory.shaken(pct=30, day=date(2026, 7, 19)))
    only = factory.only_pollinated()
    assert "crop-insurance" in page(replace(only, pollination=late))
    assert "crop-insurance" not in page(replace(only, pollination=early))


# ---- ahead ---------------------------------------------------------------------------------


def test_frost_counts_past_years_and_what_a_freeze_costs():
    """How often, and the loss at the stage of today."""
    text = ahead()
    assert "In 3 of 12 past years a night of 32 °F came before black layer, in none a" in text
    assert "Corn killed at R4 dough loses about 55 % of its yield." in text
    assert "past years a night" not in ahead(freezes=None)
    assert "in 2 a killing one of 28 °F" in ahead(
        freezes=EarlyFreezes(years=12, possible=5, killing=2)
    )


def test_harvest_moisture_has_a_day_with_its_spread():
    """Or says in how many years the field does not get there."""
    assert "20 % moisture about Fri 9 October (28 September to 20 October)" in ahead()
    never = DryDates(
        moisture_pct=20.0,
        date=None,
        earliest=date(2026, 10, 26),
        latest=None,
        years=12,
        years_short=8,
    )
    text = ahead(dry=never)
    assert "In 8 of 12 past years grain would not dry to 20 % in the field" in text
    assert "the earliest is about Mon 26 October" in text


def test_the_watch_for_mould_is_words_and_a_day():
    """A level, what it rests on, that others are not ruled out, and when to look."""
    text = ahead()
    assert "conditions after silking suited Gibberella somewhat: silks still open late." in text
    assert "Other moulds are not ruled out." in text
    assert "Husk 100 ears in 5 places, about Tue 25 August" in text
    quiet = gibberella_watch(factory.weather(), date(2026, 7, 14))
    assert "no signal for Gibberella" in ahead(gibberella=quiet)
    blind = gibberella_watch((), date(2026, 7, 14))
    assert "too much weather is missing" in ahead(gibberella=blind)
    assert "mould" not in ahead(gibberella=None)


@pytest.mark.parametrize(
    ("mean_f", "us", "metric"),
    [
        (71.8, "71.8 °F, under 72 °F", "22.1 °C, under 22.2 °C"),
        (71.96, "71.96 °F, under 72 °F", "22.20 °C, under 22.22 °C"),
    ],
)
def test_a_mean_reads_as_under_its_line(mean_f: float, us: str, metric: str):
    """The line of 72 °F is no whole number of degrees Celsius."""
    watch = factory.OUTLOOK.gibberella
    assert watch is not None
    cool = replace(watch, cool=True, weather=replace(watch.weather, mean_f=mean_f))
    result = factory.full(outlook=replace(factory.OUTLOOK, gibberella=cool))
    for amounts, words in ((US, us), (METRIC, metric)):
        assert f"a mean of {words}" in " ".join(ahead_sentences(result, amounts, FIGURES))


def test_a_second_look_that_was_due_says_so():
    """After its day the report asks for it, and once ears were opened it names that day."""
    late = factory.full(as_of=date(2026, 9, 10))
    assert "now, before the harvest (the best time was about Tue 25 August)" in " ".join(
        ahead_sentences(late, US, FIGURES)
    )
    seen = replace(late, ripe=replace(factory.ripening(), day=date(2026, 9, 8)))
    assert "Ears were looked at again on Tue 8 September." in " ".join(
        ahead_sentences(seen, US, FIGURES)
    )


def test_hot_and_dry_fill_looks_for_olive_green_powder():
    """The other mould has its own weather."""
    assert "look for olive-green powder" in ahead(hot_and_dry=True)
    assert "test grain before feeding or selling" in ahead(hot_and_dry=True)
    assert "olive-green" not in ahead()


def test_nothing_ahead_leaves_no_section():
    """An empty part has no heading."""
    text = page(factory.full(outlook=factory.NO_OUTLOOK))
    assert "Ahead" not in text.replace("dates ahead", "").replace("Dates ahead", "")
