"""What a team reads of its season: every field once, its state in words, links, no network."""

import re
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser

from fieldbook.problems import problem
from fieldbook.report.context import ReportContext
from fieldbook.report.season_page import SeasonView, season_page, season_view
from fieldbook.season.result import FieldResult
from report import factory

REPORTS = {"K07": "K07-windmill-seventy.html", "K08": "K08-näher dran.html"}
SECOND = {"field_id": "K08", "field": "Near piece", "questions": ()}


def view(*fields: FieldResult, context: ReportContext | None = None, **more: str) -> SeasonView:
    return season_view(fields, context or factory.context(), reports=REPORTS, scouts=more)


def page(*fields: FieldResult) -> str:
    return season_page(fields, factory.context(), reports=REPORTS, scouts={})


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
        self._style = tag == "style"

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
    assert found.lead == ("2 fields, 124 ac in all.", "One question is open.")
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
    assert view(one, other).lead[1] == "3 questions are open in 2 of the fields."
    assert view(one).lead[1] == "2 questions are open in one field."
    assert view(factory.full(questions=())).lead[1] == "No question is open."


def test_a_row_says_where_the_field_stands():
    """Field, grower, scout, last stage seen and when, kernels and yield with its range."""
    row = view(factory.full(), K07="Ana Veldt").rows[0]
    assert (row.field, row.ground, row.grower) == (
        "Windmill seventy",
        "K07, 62 ac",
        "Tobias Renwick",
    )
    assert (row.scout, row.stage, row.seen) == ("Ana Veldt", "R4 dough", "Tue 11 August")
    assert row.yield_lines == ("about 520 kernels an ear", "156 to 209 bu/ac")
    assert row.questions == 1


def test_a_field_that_nobody_looked_at_has_no_holes():
    """Every cell says that nothing is known yet."""
    row = view(factory.no_visit()).rows[0]
    assert (row.scout, row.stage, row.seen) == ("nobody yet", "not looked at yet", "")
    assert row.yield_lines == ("not counted yet",)
    assert row.ahead


def test_an_open_scout_is_whoever_looked_last():
    """Without a scout in the roster the last visit names one."""
    assert view(factory.full()).rows[0].scout == "Mirela Austvik"


def test_a_thin_count_says_that_its_range_is_kernel_weight_alone():
    """A range without the doubt of counting never looks like a whole one."""
    assert view(factory.one_stop()).rows[0].yield_lines[-1] == "by kernel weight alone"
    assert "no stop counts for a yield" in view(factory.only_edge()).rows[0].yield_lines


def test_a_metric_season_is_metric():
    """Hectares and tonnes."""
    found = view(factory.full(), context=factory.METRIC)
    assert found.lead[0] == "1 field, 25.1 ha."
    assert found.rows[0].yield_lines[1] == "9.8 to 13.1 t/ha"


def test_only_stages_ahead_are_drawn_with_their_dates():
    """The strip has a row a stage to come, each with its days, and says all in words."""
    drawing = view(factory.full()).rows[0].ahead
    assert drawing is not None
    texts = [label.text for label in drawing.labels]
    assert [text for text in texts if re.fullmatch(r"V.|R\d", text)] == ["R5", "R6"]
    assert {"18 to 23 Aug", "5 to 24 Sep"} <= set(texts)
    assert drawing.title == "Dates ahead of Windmill seventy"
    assert "R6 black layer: about Sat 12 September (5 to 24 September)" in drawing.about


def test_all_strips_share_one_scale():
    """The same day stands at the same place in every row, whatever else a row shows."""
    late = factory.stage("R6", date(2026, 10, 20), (date(2026, 10, 10), date(2026, 10, 30)))
    early = factory.full(stages=factory.STAGES[:3])
    later = factory.full(**SECOND, stages=(*factory.STAGES[:3], late))
    first, second = (row.ahead for row in view(early, later).rows)
    assert first is not None
    assert second is not None
    assert first.dots[0].x == second.dots[0].x
    assert first.rects[0] == second.rects[0]
    assert all(rect.x >= 24 and rect.x + rect.width <= 320 for rect in second.rects)
    assert "10 to 30 Oct" in [label.text for label in second.labels]


def test_dates_of_every_stage_are_written_beside_their_bars():
    """The last bar of the scale, and a range that began before today, keep their words."""
    begun = factory.stage("R5", date(2026, 8, 20), (date(2026, 8, 10), date(2026, 8, 23)))
    drawing = view(factory.full(stages=(begun, factory.STAGES[3]))).rows[0].ahead
    assert drawing is not None
    assert {"10 to 23 Aug", "5 to 24 Sep"} <= {label.text for label in drawing.labels}
    assert all(label.box[0] >= 0 and label.box[2] <= drawing.width for label in drawing.labels)


def test_without_dates_ahead_the_row_says_why():
    """A last stage that was seen, one that nobody saw, and none at all are told apart."""
    passed = factory.stage("R6", date(2026, 8, 15), None)
    seen = (replace(factory.VISITS[1], stage="R6"),)
    told = [
        view(factory.full(stages=stages, visits=visits)).rows[0].no_dates
        for stages, visits in (((passed,), seen), ((passed,), factory.VISITS), ((), seen))
    ]
    assert told == [
        "none; R6 came about Sat 15 August",
        "none; R6 should have come about Sat 15 August, but was not seen yet",
        "none known yet",
    ]


def test_rows_lead_to_the_reports():
    """A field's name and its questions lead to its page, whatever letters the name has."""
    reader = _Reader(page(factory.full(), factory.full(**SECOND)))
    links = [given["href"] for tag, given in reader.tags if tag == "a"]
    assert links == ["K07-windmill-seventy.html"] * 2 + ["K08-n%C3%A4her%20dran.html"]


def test_nothing_is_fetched():
    """No tag loads anything, every url() holds its own data, and there is no script."""
    html = page(factory.full())
    reader = _Reader(html)
    loading = {"src", "srcset", "action", "data", "xlink:href"}
    assert not [at for _, given in reader.tags for at in given if at in loading]
    assert not {"script", "link", "img", "iframe"} & {tag for tag, _ in reader.tags}
    assert all(url.startswith("data:") for url in re.findall(r"url\(([^)]*)\)", html))
    assert "@import" not in html


def test_a_screen_reader_is_told_rows_heads_and_pictures():
    """The table keeps its roles when it is laid out as cards, and every strip has its words."""
    reader = _Reader(page(factory.full(), factory.full(**SECOND)))
    roles = [given.get("role") for _, given in reader.tags]
    assert roles.count("row") == 3
    assert roles.count("columnheader") == 7
    assert roles.count("rowheader") == 2
    assert roles.count("cell") == 12
    pictures = [given for tag, given in reader.tags if tag == "svg"]
    assert len(pictures) == 2
    assert all("Dates ahead of" in (one["aria-label"] or "") for one in pictures)
    assert "in Windmill seventy" in " ".join(reader.words)


def test_hostile_names_stay_text():
    """Names print as they were typed."""
    reader = _Reader(page(factory.hostile()))
    assert "script" not in {tag for tag, _ in reader.tags}
    text = " ".join(reader.words)
    assert "<script>alert(1)</script>" in text
    assert '=HYPERLINK("http://evil.example")' in text


def test_what_is_wrong_with_roster_and_weather_is_said():
    """Old weather makes dates old, so the page says it; without a problem there is no heading."""
    stale = problem("weather-stale", station="home", day="2026-08-01", days=16)
    args = {"reports": REPORTS, "scouts": {}}
    html = season_page([factory.full()], factory.context(), problems=(stale,), **args)
    text = " ".join(_Reader(html).words)
    assert "Roster and weather" in text
    assert "home" in text
    assert "Roster and weather" not in page(factory.full())


def test_the_page_is_the_same_every_time():
    """Two runs give the same bytes."""
    assert page(factory.full()) == page(factory.full())
