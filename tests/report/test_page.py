"""What a grower reads: the sentences, what is left out, and what can never get in."""

import re
from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

import pytest

from fieldbook.problems import Place, problem
from fieldbook.report import field_page
from fieldbook.report.amounts import Amounts
from fieldbook.report.context import ReportContext
from fieldbook.report.words import of_ten
from fieldbook.report.yieldwords import yield_sentences
from fieldbook.results.result import FieldResult
from fieldbook.units import System
from report import factory

US = Amounts(units=System.US)
FILLED = "Tips are filled to the end."
STATISTICIANS_WORDS = (
    r"\brings?\b|\bWilson\b|\bstandard deviation\b|\binterval\b|\bconfidence\b|\bvariance\b|\bK\b"
)


class _Reader(HTMLParser):
    """Collects the visible text and every tag with its attributes."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self._hidden = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._hidden = tag == "style"

    def handle_endtag(self, tag: str) -> None:
        self._hidden = False

    def handle_data(self, data: str) -> None:
        if not self._hidden:
            self.words.append(data)


def read(html: str) -> _Reader:
    reader = _Reader()
    reader.feed(html)
    return reader


def page(result: FieldResult, context: ReportContext | None = None) -> str:
    """Return the visible text of a page, its white space folded."""
    html = field_page(result, context or factory.context())
    return " ".join(" ".join(read(html).words).split())


def test_headline_says_kernels_tip_and_yield():
    """The first sentences answer what a grower asks first."""
    text = page(factory.full())
    assert "Ears hold about 520 kernels, and about 9 of 10 kernel places are filled." in text
    assert "About 0.9 inches of the tip is bare; up to about 1 inch is common" in text
    assert "Yield now looks like 155 to 210 bushels an acre" in text
    assert "Next comes" not in text.split("What to do")[0]


def test_a_field_that_nobody_saw_says_its_next_stage():
    """Without a look the first lines have only the forecast."""
    assert "Next comes R5 dent, about Thu 20 August (18 to 23 August)." in page(factory.no_visit())


def test_what_to_do_stands_between_the_first_lines_and_all_else():
    """The list is read before any picture, and its heads say when and who."""
    text = page(factory.full())
    order = ["What to do", "By when", "Who decides", "Husk 100 ears", "Today, and dates ahead"]
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_a_field_without_anything_due_says_so():
    """An empty list is one honest line, no empty table."""
    cut = replace(factory.VISITS[-1], round="harvest")
    text = page(factory.full(questions=(), visits=(*factory.VISITS, cut)))
    assert "Nothing that we know of is due in the next 60 days." in text
    assert "By when" not in text


@pytest.mark.parametrize(
    ("failed", "words"),
    [
        ((12, 11, 12, 11, 12), "About 58 in 100 stalks gave way, so this field is among the first"),
        ((3, 1, 4, 2, 2), "About 12 in 100 stalks gave way, from too few to be sure"),
        ((0, 0, 1, 0, 0), ""),
    ],
)
def test_failing_stalks_are_told_in_the_first_lines(failed: tuple[int, ...], words: str):
    """Over the published line the headline says it; within it, it does not."""
    text = page(factory.full(ripe=factory.ripening(failed=failed)))
    lead = text.split("Today, and dates ahead")[0]
    assert (words in lead) if words else ("stalks" not in lead)


@pytest.mark.parametrize(
    ("own", "words"),
    [
        (150.0, "above the field's own average of 150"),
        (192.0, "the field's own average, 192, lies within that"),
        (209.8, "the field's own average, 210, lies within that"),
        (230.0, "below the field's own average of 230"),
    ],
)
def test_own_average_is_held_against_the_range_as_printed(own: float, words: str):
    """The sentence never calls an average below a range that prints around it."""
    assert words in page(factory.full(own_average_bu_ac=own))


def test_yield_is_said_with_what_explains_it():
    """One paragraph: likely, range, what it makes on the acres, counting and kernel weight."""
    text = page(factory.full())
    assert "Likely 182, between 155 and 210 bu/ac." in text
    assert "On 62 ac that is about 11,300 bu, between 9,600 and 12,900." in text
    assert "Counting explains ±13 of that, kernel weight 23 down and 24 up." in text
    assert "Two more stops would bring the count to about ±10 bu/ac." in text


@pytest.mark.parametrize(
    ("used", "needed", "words"),
    [
        (
            1,
            None,
            "One stop is too few to say how far off the count may be; walk at least two more.",
        ),
        (
            2,
            9,
            "Two stops are too few to say how far off the count may be; walk at least one more.",
        ),
        (3, 1, "One more stop would bring the count to about ±10 bu/ac."),
        (3, 0, "The stops are enough to know the count to about ±10 bu/ac."),
        (3, None, ""),
    ],
)
def test_what_more_stops_would_give(used: int, needed: int | None, words: str):
    """Under three stops the count has no range; nothing is said where nothing is known."""
    found = replace(factory.YIELD, stops_used=used, stops_still_needed=needed)
    assert yield_sentences(factory.full(), found, US)[-1] == words


def test_a_hybrid_with_counts_of_its_own_is_named():
    """Kernel weights from earlier harvests say whose they are, and where they stand."""
    text = page(factory.full(yield_=replace(factory.YIELD, own_of="Larkspur 108")))
    assert "which season.toml has for Larkspur 108 from earlier harvests" in text
    assert "season.toml" not in page(factory.full())


def test_stops_that_cannot_be_counted_are_no_yield_yet():
    """A stop inside the field without ears is neither a figure nor left out by its place."""
    bare = (factory.stop(1, None), factory.stop(2, 148.0, place="edge", left_out="edge"))
    text = page(factory.full(yield_=None, stops=bare))
    assert "Yield: not counted yet." in text
    assert "no stop inside it counts" not in text


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"kernel_set_pct": None}, "Ears hold about 520 kernels. "),
        ({"kernel_set_pct": 3.0}, "kernels, and less than 1 of 10 kernel places are filled."),
        ({"loss": replace(factory.EARS.loss, tip_unset_rings=0.1, tip_aborted_rings=0.0)}, FILLED),
    ],
)
def test_the_headline_tells_the_ears_as_far_as_counted(changes: dict[str, Any], words: str):
    """A share that nobody counted is left out, and a filled tip is said to be filled."""
    text = page(factory.full(ears=replace(factory.EARS, **changes)))
    assert words in text
    assert ("of the tip is bare" in text) == (words != FILLED)


def test_one_stop_gives_no_range_from_counting():
    """Under three stops the page says that they are too few."""
    text = page(factory.one_stop())
    assert "One stop is too few to say how far off the count may be" in text
    assert "by kernel weight alone" in text
    assert "±" not in text


def test_metric_season_reads_in_metric():
    """Tonnes, hectares, centimetres and grams; no bushels or acres of ours."""
    result = factory.full(notes=())
    text = page(result, factory.METRIC)
    assert "Likely 11.4, between 10.0 and 13.0 t/ha." in text
    assert "On 25.1 ha that is about 290 t" in text
    assert "76.2 cm" in text
    assert "254 to 328 g per 1,000 kernels, likely 290" in text
    assert "bu/ac" not in text


def test_no_visit_is_a_short_page():
    """Without a visit there is no empty yield or ear section."""
    text = page(factory.no_visit()).split("Figures used")[0]
    assert "Nobody has looked at this field yet." in text
    assert "not yet" in text
    for missing in ("The ears", "Yield", "What we saw", "None"):
        assert missing not in text


def test_parts_without_readings_are_one_line_each():
    """A visit without a count says so, and leaves no hole."""
    text = page(factory.full(yield_=None, stops=(), ears=None, stages=()))
    assert "Yield: not counted yet." in text
    assert "Kernels: not counted yet." in text
    assert "No stage is known yet. Dates ahead: none yet." in text


def test_only_edge_stops_give_no_figure():
    """Stops outside of the field figure are shown with their reasons."""
    text = page(factory.only_edge())
    assert "Yield: no figure for the field, since no stop inside it counts." in text
    assert "stop 1 (edge), stop 2 (end rows), stop 3 (low ground), stop 4 (replanted)" in text


def test_how_sure_lists_what_to_hold_against_the_numbers():
    """Left-out stops, scope, confirmed values, notes, filled days and open questions."""
    text = page(factory.full())
    assert "Left out of the field figure: stop 5 (edge), stop 6 (no kernels counted)." in text
    assert "Only the inside of the field is in the figure" in text
    assert "Rare, but confirmed by the scout: Very long kernel rows." in text
    assert "Usable stops in K07 Windmill seventy: 4. The usual advice for 62 ac is 7" in text
    assert "days filled in: 2" in text
    assert "Ears: Odd number of kernel rows (15" in text


def test_open_questions_have_an_address_of_their_own():
    """The board leads to them; a report without questions has no such address."""
    section = '<section class="list brief" id="K07.asked">\n<h2>Still asked</h2>'
    assert field_page(factory.full(), factory.context()).count(section) == 1
    assert '.asked"' not in field_page(factory.full(questions=()), factory.context())


def test_left_out_stops_are_grouped_by_reason():
    """Many stops with one reason are one phrase."""
    assert "stops 6, 12, 18, 24 and 30 (end rows)" in page(factory.thirty_stops())


def test_a_grower_is_not_told_what_a_scout_is_to_do():
    """Questions and notes of books are named, alike ones once; no cell, no instruction."""
    cells = [Place(sheet="Hojas", cell=f"K{at}", table="leaves") for at in (25, 26)]
    half = problem(
        "part-missing", Place(sheet="Stops", cell="C9"), column="Beetles", needs="Which, on what"
    )
    odd = [problem("rows-odd", one, typed=15, below=14, above=16) for one in cells]
    result = factory.full(questions=tuple(odd), notes=(half, *factory.full().notes))
    text = page(result)
    assert "2 questions are open; a number that is asked about does not count yet." in text
    assert "Leaves: Odd number of kernel rows (15), 2 times" in text
    assert "Noted in the scouts' books: Half a reading (Beetles)." in text
    assert "Usable stops in K07 Windmill seventy: 4." in text
    for gone in ("K25", "Fill it", "leave both empty"):
        assert gone not in text


def test_many_questions_are_counted():
    """The first five are said, the rest is a number."""
    asked = tuple(
        problem("rows-odd", typed=number, below=number - 1, above=number + 1)
        for number in range(11, 25, 2)
    )
    text = page(factory.full(questions=asked))
    assert text.count("Odd number of kernel rows") == 5
    assert "And 2 more that are still asked." in text


def test_no_past_years_gives_ranges_by_days():
    """Without past weather the dates are ranges, and the page says on what they rest."""
    text = page(factory.no_past_years())
    assert "worked out by days after silking from R1 silk on Tue 14 July" in text
    assert "No past years of weather are on file" in text
    assert "about Thu 20 August" not in text


def test_few_past_years_are_said():
    """Three years are few, and the page says so."""
    few = tuple(replace(one, years=3) for one in factory.STAGES)
    heat = replace(factory.HEAT, past_years=3)
    text = page(factory.full(stages=few, heat=heat))
    assert "Their ranges hold all 3 past years on file, which are few." in text


@pytest.mark.parametrize(
    ("missing", "words"),
    [
        (0, ""),
        (1, "One day of weather is missing and could not be filled in."),
        (12, "12 days of weather are missing and could not be filled in."),
    ],
)
def test_missing_weather_is_counted(missing: int, words: str):
    """Days that stayed empty are told, and none is not."""
    text = page(factory.full(heat=replace(factory.HEAT, days_missing=missing)))
    assert words in text
    assert ("could not be filled in" in text) == bool(missing)


def test_weather_without_a_last_day_is_not_said_to_run():
    """A station that has no day on file names none."""
    text = page(factory.full(heat=replace(factory.HEAT, weather_through=None)))
    assert "Weather of station" not in text


def test_without_gaps_a_place_around_the_ear_has_its_worth():
    """The table of gaps prices places; where there is none, one sentence does."""
    words = "One kernel place lost all around every ear costs at most about 5 bu/ac."
    assert words in page(factory.full(gaps=None))
    assert words not in page(factory.full())


@pytest.mark.parametrize(
    ("pct", "words"),
    [
        (0, "less than 1 of 10"),
        (4.9, "less than 1 of 10"),
        (5.1, "about 1 of 10"),
        (94.9, "about 9 of 10"),
        (95, "more than 9 of 10"),
        (99.4, "more than 9 of 10"),
        (99.5, "all"),
    ],
)
def test_a_share_never_says_more_than_it_is(pct: float, words: str):
    """Nearly none is not one of ten, and nearly all is not all."""
    assert of_ten(pct, "en") == words


def test_cautions_stand_on_every_page():
    """No page goes out without them."""
    for make in factory.ALL.values():
        text = page(make())
        assert "This is an estimate, not a promise." in text
        assert "follow the label and local rules" in text
        assert "does not prove a toxin, and clean ears do not rule one out" in text
        assert "check with your buyer and feed adviser" in text
        assert "N95" in text
        assert "Walk in only when the re-entry time on the label is over." in text
    assert "Walking in From Sun 26 July" in page(factory.full())


def test_never_set_always_carries_both_readings():
    """A smooth bare tip may also be kernels that were lost at once."""
    for make in factory.ALL.values():
        text = page(make())
        said = re.findall(r"never set.{0,28}", text)
        assert all(re.match(r"never set, or lost( in the first days)?", one) for one in said)


def test_growers_pages_hold_no_statisticians_words():
    """The grower's part speaks of kernel places and stops, nothing else."""
    for make in factory.ALL.values():
        text = page(make()).split("Figures used, and where they come from")[0]
        assert not re.findall(STATISTICIANS_WORDS, text)


def test_figures_carry_their_mark_and_source():
    """What is not published stands under its mark; those who published the rest are named."""
    text = page(factory.full())
    assert re.search(r"Assumed: 0\.3333: A field pattern", text)
    assert re.search(r"Worked out by us: 77\.5, .{,80}\[1, 2, 3\]", text)
    assert "1 in: Bare tip" not in text
    assert re.search(r"Nafziger ?, University of Illinois ?, 2016", text)


def test_a_figure_set_for_the_season_is_marked():
    """A changed constant is not passed off as published."""
    known = factory.context()
    changed = replace(known, figures=known.figures.changed({"ears.tip_allowance_in": 1.5}))
    text = page(factory.full(), changed)
    assert "up to about 1.5 inches is common" in text
    assert "Set for this season: 1.5 in: Bare tip" in text


def test_hostile_names_stay_text():
    """Formulas, scripts and template marks print as they were typed."""
    html = field_page(factory.hostile(), factory.context())
    reader = read(html)
    tags = {tag for tag, _ in reader.tags}
    assert not tags & {"script", "img"}
    text = " ".join(reader.words)
    for typed in ("<script>alert(1)</script>", '=HYPERLINK("http://evil.example")', "{{7*7}}"):
        assert typed in text
    assert not any(name.startswith("on") for _, attributes in reader.tags for name in attributes)


def test_nothing_is_fetched():
    """No tag points outside of the page, and every url() holds its own data."""
    html = field_page(factory.full(), factory.context())
    fetching = {"href", "src", "srcset", "action", "data", "xlink:href"}
    assert not [at for _, attributes in read(html).tags for at in attributes if at in fetching]
    assert all(url.startswith(("data:", "#")) for url in re.findall(r"url\(([^)]*)\)", html))
    assert "@import" not in html


def test_the_page_is_the_same_every_time():
    """Two runs give the same bytes."""
    first = field_page(factory.full(), factory.context())
    assert first == field_page(factory.full(), factory.context())


def test_every_drawing_has_words_for_who_cannot_see_it():
    """Each picture has a role, a label, a title and a description."""
    reader = read(field_page(factory.base_gap(), factory.context()))
    pictures = [attributes for tag, attributes in reader.tags if tag == "svg"]
    assert len(pictures) == 8
    assert all(one["role"] == "img" and one["aria-label"] for one in pictures)
    assert [tag for tag, _ in reader.tags].count("desc") == 8


def test_an_unknown_paper_is_refused():
    """Paper names come from settings; anything else is a mistake."""
    with pytest.raises(ValueError, match="use letter or a4"):
        factory.context(paper="legal")
