"""What a team reads of its season: every field once, its state in words, links, no network."""

import re
from dataclasses import replace
from datetime import date, timedelta
from html.parser import HTMLParser
from typing import Any

import pytest

from fieldbook.agronomy.fungicide import PreHarvest, spray_window
from fieldbook.agronomy.stalks import mould_reading
from fieldbook.agronomy.wilson import Count
from fieldbook.forms.rounds import HARVEST, KERNEL_COUNT, RIPENING
from fieldbook.problems import problem
from fieldbook.report.amounts import Amounts
from fieldbook.report.board_page import BoardView, board_page, board_view
from fieldbook.report.boardwords import Row, board_row
from fieldbook.report.context import ReportContext
from fieldbook.report.duewords import BoardField, in_days
from fieldbook.results.due import FieldRounds, LikelyDay, RoundWindow
from fieldbook.results.result import FieldResult
from fieldbook.units import System
from report import factory

SECOND = {"field_id": "K08", "field": "Near piece", "questions": ()}
REPORTS = {"K07": "K07-windmill-seventy.html", "K08": "K08-näher dran.html"}
US = Amounts(units=System.US)


def likely(in_days: int, spread: int = 0) -> LikelyDay:
    day = factory.TODAY + timedelta(in_days)
    return LikelyDay(day=day, earliest=day - timedelta(spread), latest=day + timedelta(spread))


def window(opens: int, closes: int, round_: str = RIPENING.name, spread: int = 3) -> FieldRounds:
    """Make the rounds left of a field: one, so many days from today."""
    ends = {"opens": likely(opens, spread), "closes": likely(closes, spread)}
    return FieldRounds(windows=(RoundWindow(round=round_, **ends),), undated=None)


def on_board(result: FieldResult, **more: Any) -> BoardField:
    made: dict[str, Any] = {
        "report": REPORTS.get(result.field_id, ""),
        "scout": None,
        "rounds": window(-4, 9),
        "planned": {},
        "sprayed_on": None,
        "reentry_ends": None,
        **more,
    }
    return BoardField(result=result, **made)


def row(result: FieldResult | None = None, **more: Any) -> Row:
    return board_row(on_board(result or factory.full(), **more), US)


def view(*fields: FieldResult, context: ReportContext | None = None) -> BoardView:
    return board_view([on_board(field) for field in fields], context or factory.context())


def page(*fields: FieldResult) -> str:
    return "".join(board_page([on_board(field) for field in fields], factory.context()))


class _Reader(HTMLParser):
    """Collects tags with their attributes, and the visible text."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self._style = False
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._style = tag in ("style", "script")

    def handle_endtag(self, tag: str) -> None:
        self._style = False

    def handle_data(self, data: str) -> None:
        if not self._style:
            self.words.append(data)

    def count(self, tag: str) -> int:
        return [name for name, _ in self.tags].count(tag)


def test_the_head_counts_fields_rounds_and_questions():
    """How much there is, how far each round is, and what is still asked."""
    found = view(factory.full(), replace(factory.no_visit(), **SECOND))
    assert found.lead == (
        "2 fields, 124 ac in all.",
        "In 2 fields a round is due now.",
        "One question is open.",
    )
    walked = [(one.round_, one.done, one.last_day) for one in found.walked]
    assert walked == [
        ("Roadside look", "1 of 2", "Thu 16 July"),
        ("Pollination", "0 of 2", "–"),
        ("Kernel count", "1 of 2", "Tue 11 August"),
        ("Ripening", "0 of 2", "–"),
        ("Harvest", "0 of 2", "–"),
    ]


def test_two_visits_of_a_round_are_one_field_taken_in():
    """Done are fields, not walks."""
    again = replace(factory.VISITS[1], visit_id="K07.KC2", date=date(2026, 8, 15))
    found = view(factory.full(visits=(*factory.VISITS, again)))
    assert (found.walked[2].done, found.walked[2].last_day) == ("1 of 1", "Sat 15 August")


def test_questions_of_several_fields_are_added_up():
    """The sum over fields, and in how many fields."""
    asked = (problem("rows-odd", typed=15, below=14, above=16),) * 2
    one = factory.full(questions=asked)
    other = factory.full(**{**SECOND, "questions": asked[:1]})
    assert view(one, other).lead[-1] == "3 questions are open in 2 of the fields."
    assert view(one).lead[-1] == "2 questions are open in one field."
    assert view(factory.full(questions=())).lead[-1] == "No question is open."


def test_a_row_says_where_the_field_stands():
    """Field, grower, scout, stage seen and when, what comes next, kernels, yield with its range."""
    found = row(scout="Ana Veldt")
    assert (found.field, found.ground) == ("Windmill seventy", "K07, 62 ac")
    assert (found.grower, found.scout) == ("Tobias Renwick", "Ana Veldt")
    assert found.stage.lines == ("R4 dough", "seen Tue 11 Aug", "next R5 dent, 18 to 23 Aug")
    assert found.kernel_set.lines == ("about 9 of 10 filled", "520 kernels an ear")
    assert found.yield_.lines == ("likely 182", "155 to 210 bu/ac")
    assert found.questions == 1


def test_a_stage_that_the_heat_has_reached_since_is_told_and_sorted_by():
    """Nobody takes the last stage seen for that of today."""
    dent = factory.stage("R5", date(2026, 8, 15), (date(2026, 8, 13), date(2026, 8, 17)))
    found = row(factory.full(stages=(*factory.STAGES[:2], dent, factory.STAGES[3])))
    assert "by now likely R5 dent" in found.stage.lines
    assert "next R6 black layer, 5 to 24 Sep" in found.stage.lines
    assert (found.stage.key or 0) > (row().stage.key or 0)


def test_a_next_stage_without_a_range_gives_its_day():
    """One likely day, where there are no past years for a range."""
    dent = factory.stage("R5", date(2026, 8, 20), None, years=0)
    found = row(factory.full(stages=(*factory.STAGES[:2], dent)))
    assert found.stage.lines[-1] == "next R5 dent, about Thu 20 Aug"


@pytest.mark.parametrize(
    ("changes", "lines"),
    [
        ({"kernel_set_pct": None}, ("520 kernels an ear",)),
        ({"kernels_per_ear": None}, ("about 9 of 10 filled",)),
        ({"kernel_set_pct": None, "kernels_per_ear": None}, ("not counted yet",)),
    ],
)
def test_ears_are_told_as_far_as_counted(changes: dict[str, Any], lines: tuple[str, ...]):
    """No share is made up for ears of which only a part was looked at."""
    found = row(factory.full(ears=replace(factory.EARS, **changes)))
    assert found.kernel_set.lines == lines


def test_a_field_that_nobody_looked_at_has_no_holes():
    """Every cell says that nothing is known yet, and what is not known sorts last."""
    found = row(factory.no_visit(), rounds=FieldRounds(windows=(), undated="its past is short"))
    assert found.scout == "nobody yet"
    assert found.stage.lines[0] == "not looked at yet"
    assert found.due.lines == ("no date: its past is short",)
    assert found.windows.lines == ("none now",)
    assert found.kernel_set.lines == found.yield_.lines == ("not counted yet",)
    assert found.mould.lines == ("not known yet",)
    cells = (found.due, found.windows, found.kernel_set, found.yield_, found.mould)
    assert [cell.key for cell in cells] == [None] * 5


def test_an_open_scout_is_whoever_looked_last():
    """Without a scout in the roster the last visit names one."""
    assert row().scout == "Mirela Austvik"


def test_a_thin_count_says_that_its_range_is_kernel_weight_alone():
    """A range without the doubt of counting never looks like a whole one."""
    assert row(factory.one_stop()).yield_.lines[-1] == "by kernel weight alone"
    assert row(factory.only_edge()).yield_.lines == ("no stop counts for a yield",)


def test_a_metric_season_is_metric():
    """Hectares and tonnes."""
    found = view(factory.full(), context=factory.METRIC)
    assert found.lead[0] == "1 field, 25.1 ha."
    assert found.rows[0].yield_.lines == ("likely 11.4", "10.0 to 13.0 t/ha")


# ---- what is due --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("opens", "closes", "when", "words"),
    [
        (-9, -2, "over", ("window likely closed 2 days ago", "12 to 18 Aug")),
        (-9, 0, "open", ("open, likely closes today", "14 to 20 Aug")),
        (0, 9, "open", ("open, likely closes in 9 days", "23 to 29 Aug")),
        (1, 9, "soon", ("likely opens tomorrow", "15 to 21 Aug")),
        (7, 20, "soon", ("likely opens in 7 days", "21 to 27 Aug")),
        (8, 20, "later", ("likely opens in 8 days", "22 to 28 Aug")),
    ],
)
def test_what_is_due_says_its_window_in_days(
    opens: int, closes: int, when: str, words: tuple[str, str]
):
    """Round, how far off, and the days it may fall on; the filter knows it by a key."""
    found = row(rounds=window(opens, closes, KERNEL_COUNT.name))
    assert found.due.lines == ("Kernel count", *words)
    assert (found.round_, found.when) == ("kernel-count", when)


def test_a_window_without_a_spread_gives_its_day():
    """Where past years agree on a day, or none tells, the day itself stands there."""
    assert row(rounds=window(-1, 3, spread=0)).due.lines[-1] == "Thu 20 Aug"


def test_the_plan_gives_the_day_where_one_was_written():
    """A planned walk has its day; one that is past says that nothing came back."""
    day = date(2026, 8, 19)
    assert "planned Wed 19 Aug" in row(planned={RIPENING.name: day}).due.lines
    past = row(planned={RIPENING.name: date(2026, 8, 14)}).due.lines
    assert "was planned Fri 14 Aug, not taken in" in past
    assert not [one for one in row(planned={KERNEL_COUNT.name: day}).due.lines if "planned" in one]


def test_a_round_that_the_mould_watch_asks_for_says_so():
    """A look at ears for mould is more than the usual walk."""
    asked = window(-1, 6)
    look = replace(asked, windows=(replace(asked.windows[0], mould="raised"),))
    assert row(rounds=look).due.lines[0] == "Ripening: open ears for mould"


def test_a_visit_whose_day_or_stage_is_not_known_is_a_look_all_the_same():
    """A day that is asked about stands as unknown; a stage that nobody read as not read."""
    last = factory.VISITS[1]
    undated = row(factory.full(visits=(replace(last, date=None),), stages=()))
    assert undated.stage.lines == ("R4 dough", "day unknown")
    assert undated.stage.key is not None
    ahead = row(factory.full(visits=(replace(last, date=None, stage="R5"),))).stage.lines
    assert [line for line in ahead if "next" in line] == ["next R6 black layer, 5 to 24 Sep"]
    unread = replace(last, stage=None)
    assert row(factory.full(visits=(unread,), stages=())).stage.lines == (
        "stage not read",
        "seen Tue 11 Aug",
    )
    neither = replace(unread, date=None)
    found = row(factory.full(visits=(neither,), stages=())).stage
    assert (found.lines, found.key) == (("stage not read", "day unknown"), None)


def test_a_field_with_no_round_left_says_so():
    """All walked, or harvested on a day."""
    none = FieldRounds(windows=(), undated=None)
    assert row(rounds=none).due.lines == ("nothing left to walk",)
    cut = replace(factory.VISITS[1], round=HARVEST.name, date=date(2026, 8, 16))
    found = row(factory.full(visits=(*factory.VISITS, cut)), rounds=none)
    assert (found.due.lines, found.when) == (("harvested Sun 16 Aug",), "done")


def test_rows_stand_by_what_is_due_soonest():
    """Over first, then what closes first, then what opens first; what has no date is last."""
    windows = {"ahead": (3, 30), "open": (-1, 12), "over": (-9, -1), "closing": (-5, 2)}
    fields = [
        on_board(factory.full(field=name), rounds=window(*ends)) for name, ends in windows.items()
    ]
    undated = FieldRounds(windows=(), undated="its past is short")
    fields.insert(0, on_board(factory.full(field="undated"), rounds=undated))
    found = board_view(fields, factory.context())
    assert [one.field for one in found.rows] == ["over", "closing", "open", "ahead", "undated"]
    assert found.lead[1:3] == (
        "In 2 fields a round is due now.",
        "In one field the window of a round is over.",
    )


def test_days_are_said_as_a_person_says_them():
    """Near days have names."""
    said = [in_days(days, "en") for days in (-2, -1, 0, 1, 2)]
    assert said == ["2 days ago", "yesterday", "today", "tomorrow", "in 2 days"]


# ---- windows that close -------------------------------------------------------------------------


def test_windows_stand_soonest_first():
    """Re-entry before the fungicide window before the interval of a label."""
    waits = PreHarvest(verdict="fits", first_day=date(2026, 9, 10), spare_days=(20, None))
    found = row(
        factory.full(fungicide=factory.asked(r3=(8, 12), pre_harvest=waits)),
        reentry_ends=date(2026, 8, 19),
    )
    assert found.windows.lines == (
        "re-entry: not before Wed 19 Aug, in 2 days",
        "fungicide: 8 to 12 days to milk (R3)",
        "harvest: not before Thu 10 Sep, in 24 days",
    )
    assert found.windows.key == 2


@pytest.mark.parametrize(
    ("seen", "r3", "words"),
    [
        ("R1", (0, 3), "fungicide: at most 3 days to milk (R3)"),
        ("R1", (4, 4), "fungicide: 4 days to milk (R3)"),
        ("R1", (0, 1), "fungicide: at most one day to milk (R3)"),
        ("R1", (1, 1), "fungicide: one day to milk (R3)"),
        ("R1", None, "fungicide: open, no date for its end"),
        ("R3", None, "fungicide: at its end, the field is at milk (R3)"),
        ("R4", None, "none now"),
        ("V", (20, 25), "none now"),
    ],
)
def test_the_fungicide_window_is_told_while_it_may_be_open(
    seen: str, r3: tuple[int, int] | None, words: str
):
    """It closes at milk; before tassel and after milk no window closes."""
    found = row(factory.full(fungicide=factory.asked(seen=seen, r3=r3)))
    assert found.windows.lines == (words,)


def test_a_window_that_may_have_opened_already_is_told():
    """By its dates the field may be at silk, whatever was seen last."""
    days = {"R1": (factory.TODAY, factory.TODAY + timedelta(4)),
            "R3": (factory.TODAY + timedelta(18), factory.TODAY + timedelta(24))}  # fmt: skip
    asked = replace(factory.asked(), window=spray_window(factory.TODAY, days, seen="V"))
    found = row(factory.full(fungicide=asked))
    assert found.windows.lines == ("fungicide: 18 to 24 days to milk (R3)",)


def test_a_spraying_without_a_re_entry_day_asks_for_a_call():
    """Nobody walks in on a guess; once the interval has ended nothing is said."""
    sprayed = date(2026, 8, 15)
    found = row(sprayed_on=sprayed)
    assert found.windows.lines == ("sprayed Sat 15 Aug: call before you walk in",)
    assert found.windows.key == 0
    assert row(sprayed_on=sprayed, reentry_ends=factory.TODAY).windows.lines == ("none now",)


# ---- ear mould ----------------------------------------------------------------------------------


def test_the_mould_watch_says_when_to_look_and_what_was_found():
    """The weather asks for a look, with its day; ripe ears that were looked at stand first."""
    watched = row()
    assert watched.mould.lines[0].startswith("Gibberella: ")
    assert re.fullmatch(
        r"look (about|before harvest; best was) \w{3} \d+ \w{3}", watched.mould.lines[1]
    )
    few = row(factory.full(ripe=factory.ripening(mouldy=(0, 1, 0, 0, 1))))
    assert few.mould.lines[0] == "2 of 100 ears mouldy"
    one = replace(factory.ripening(), mouldy=mould_reading([Count(hits=1, looked=1)]))
    assert row(factory.full(ripe=one)).mould.lines[0] == "1 of 1 ear mouldy"
    many = row(factory.full(ripe=factory.ripening(mouldy=(9, 8, 9, 7, 9))))
    assert many.mould.lines[:2] == ("42 of 100 ears mouldy", "over the line")
    assert (many.mould.key, few.mould.key or 0) < (few.mould.key, 9)


def test_a_look_after_the_day_asked_for_is_told():
    """The watch is not due any more once somebody looked at ripe ears."""
    watch = factory.OUTLOOK.gibberella
    assert watch is not None
    day = watch.follow_up + timedelta(1)
    found = row(factory.full(ripe=replace(factory.ripening(), day=day), as_of=day))
    assert any(text.startswith("looked again") for text in found.mould.lines)


def test_grain_that_filled_hot_and_dry_asks_for_another_look():
    """The watch is for more than one mould."""
    hot = replace(factory.NO_OUTLOOK, hot_and_dry=True)
    found = row(factory.full(outlook=hot))
    assert found.mould.lines == ("hot, dry fill: look for olive-green powder",)


# ---- filters and columns ------------------------------------------------------------------------


def test_filters_offer_what_the_rows_hold():
    """No choice leads to an empty board of its own."""
    other = {**SECOND, "grower": "Ada Quist"}
    found = {one.name: one for one in view(factory.full(), factory.full(**other)).filters}
    assert [one.label for one in found["grower"].choices] == ["Ada Quist", "Tobias Renwick"]
    assert [one.key for one in found["round"].choices] == ["ripening"]
    assert [(one.key, one.label) for one in found["when"].choices] == [("open", "window open")]


def test_rows_lead_to_the_reports():
    """A field's name leads to its page, its questions to their part of it, whatever its letters."""
    reader = _Reader(page(factory.full(), factory.full(**SECOND)))
    links = [given["href"] for tag, given in reader.tags if tag == "a"]
    assert links == [
        "#fields",
        "K07-windmill-seventy.html",
        "K07-windmill-seventy.html#K07.asked",
        "K08-n%C3%A4her%20dran.html",
    ]


def test_a_field_without_a_report_has_no_dead_link():
    """Its name and the number of its questions stand as words."""
    html = "".join(board_page([on_board(factory.full(), report="")], factory.context()))
    reader = _Reader(html)
    assert [given["href"] for tag, given in reader.tags if tag == "a"] == ["#fields"]
    text = " ".join(reader.words)
    assert "Windmill seventy" in text
    assert "1 open" in text


def test_nothing_is_fetched():
    """No tag loads anything, every url() holds its own data, and the page itself forbids more."""
    html = page(factory.full())
    reader = _Reader(html)
    loading = {"src", "srcset", "action", "data", "xlink:href"}
    assert not [at for _, given in reader.tags for at in given if at in loading]
    assert not {"link", "img", "iframe"} & {tag for tag, _ in reader.tags}
    assert all(url.startswith("data:") for url in re.findall(r"url\(([^)]*)\)", html))
    assert "@import" not in html
    policies = [given["content"] or "" for _, given in reader.tags if "http-equiv" in given]
    assert len(policies) == 1
    assert policies[0].startswith("default-src 'none'; img-src data:; font-src data:; ")
    assert "unsafe" not in policies[0]


def test_a_screen_reader_is_told_rows_and_heads():
    """The table keeps its roles when it is laid out as cards; sorting starts where it says."""
    reader = _Reader(page(factory.full(), factory.full(**SECOND)))
    roles = [given.get("role") for _, given in reader.tags]
    assert [roles.count(one) for one in ("row", "columnheader", "rowheader", "cell")] == [
        3, 10, 2, 18,
    ]  # fmt: skip
    scopes = [given.get("scope") for tag, given in reader.tags if tag == "th" and "role" in given]
    assert scopes == ["col"] * 10 + ["row"] * 2
    ordered = [given for _, given in reader.tags if "aria-sort" in given]
    assert [(one["data-by"], one["aria-sort"]) for one in ordered] == [("due", "ascending")]
    assert "in Windmill seventy" in " ".join(reader.words)


def test_every_field_of_the_form_has_a_label():
    """Each control is named by a label of its own."""
    reader = _Reader(page(factory.full()))
    labels = {given["for"] for tag, given in reader.tags if tag == "label"}
    controls = {given["id"] for tag, given in reader.tags if tag in ("input", "select")}
    assert labels == controls
    assert len(controls) == 6


def test_cautions_stand_on_every_board():
    """Re-entry, the label and mould are never left to be guessed."""
    text = " ".join(view(factory.no_visit()).cautions)
    for words in ("re-entry interval", "the label", "licensed", "does not prove a toxin"):
        assert words in text


def test_a_row_is_light():
    """A season of two thousand fields stays a few megabytes."""
    one = len(page(factory.full()).encode())
    more = [factory.full(field_id=f"F{number}") for number in range(101)]
    assert (len(page(*more).encode()) - one) / 100 < 2_000


def test_hostile_names_stay_text():
    """Names print as they were typed."""
    reader = _Reader(page(factory.hostile()))
    assert reader.count("script") == 1
    text = " ".join(reader.words)
    assert "<script>alert(1)</script>" in text
    assert '=HYPERLINK("http://evil.example")' in text


def test_what_is_wrong_with_roster_and_weather_is_said():
    """Old weather makes dates old, so the page says it; without a problem there is no heading."""
    stale = problem("weather-stale", station="home", day="2026-08-01", days=16)
    html = "".join(board_page([on_board(factory.full())], factory.context(), problems=(stale,)))
    text = " ".join(_Reader(html).words)
    assert "Roster and weather" in text
    assert "home" in text
    assert "Roster and weather" not in page(factory.full())


def test_the_page_is_the_same_every_time():
    """Two runs give the same bytes."""
    assert page(factory.full()) == page(factory.full())
