"""A harvested field: what was weighed against what was counted, and nothing that lies ahead."""

import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from fieldbook.export.as_text import results_lines
from fieldbook.figures import shipped_figures
from fieldbook.report.amounts import Amounts
from fieldbook.report.board_page import board_view
from fieldbook.report.boardwords import Row, board_row
from fieldbook.report.duewords import BoardField
from fieldbook.report.harvest_page import harvest_html, harvest_view
from fieldbook.report.headline import headline
from fieldbook.report.heatpicture import heat_marks
from fieldbook.report.letter_page import letter_views
from fieldbook.report.letterwords import Compared, news
from fieldbook.report.packet_page import packet_views
from fieldbook.report.ripewords import mould_sentences, stalk_sentences
from fieldbook.report.sections import field_view
from fieldbook.results.due import FieldRounds
from fieldbook.results.result import FieldResult
from fieldbook.units import System
from report import factory

US = Amounts(units=System.US)
FIGURES = shipped_figures()
AHEAD = re.compile(
    r"looks like|husk|try \d+ stalks|\bdue\b|by now|among the first|not looked at yet|dates ahead"
    r"|likely to be|first likely|as soon as|more stops? would|past years a night|window",
    re.IGNORECASE,
)
CASES: dict[str, Callable[[], FieldResult]] = {
    **factory.ALL,
    "weak and mouldy": lambda: factory.full(
        ripe=factory.ripening(failed=(8, 9, 9, 8, 8), mouldy=(9, 9, 8, 9, 9)),
        leaves=factory.leaves(factory.leaf("gray-leaf-spot", [(12, 4)] * 5)),
        fungicide=factory.asked(),
    ),
    "cannot be told": lambda: factory.full(ripe=factory.ripening()),
    "hot and dry": lambda: factory.full(outlook=replace(factory.OUTLOOK, hot_and_dry=True)),
}


def all_words(result: FieldResult) -> str:
    """Join all that a field's report says but its cautions, figures and open questions."""
    view = field_view(result, factory.context())
    parts = [*view.lead, *(step.what for step in view.to_do.steps)]
    parts += [f"{fact.term} {' '.join(fact.lines)}" for fact in view.facts]
    for one in (*view.sections, *view.behind):
        parts += [
            one.heading,
            *one.sentences,
            *one.lines,
            one.picture.caption if one.picture else "",
        ]
    parts += [line for one in view.lists for line in one.lines]
    return "\n".join(parts)


@pytest.mark.parametrize("name", CASES)
def test_nothing_of_a_harvested_field_is_due_or_forecast(name: str):
    """Whatever was known of it, its report looks back; before the harvest the same looked ahead."""
    assert AHEAD.search(all_words(CASES[name]()))
    found = AHEAD.search(all_words(factory.harvested(CASES[name]())))
    assert found is None, found


def lead(result: FieldResult) -> str:
    return " ".join(headline(result, US, FIGURES))


def test_the_weighed_yield_leads_and_is_held_against_the_count():
    """Day, yield and moisture, then the count; a failure's agent is not called any more."""
    assert lead(factory.harvested()) == (
        "Harvested Mon 12 October: 176 bushels an acre were weighed, brought to 15.5 % moisture. "
        "The count had said 155 to 210 bu/ac, likely 182: the harvest lies within that. "
        "Pollination went well."
    )
    assert "insurance" not in all_words(factory.harvested(factory.failed()))
    assert "insurance" in all_words(factory.failed())


@pytest.mark.parametrize(
    ("bu_ac", "side"), [(154.9, "below"), (155.0, "within"), (210.0, "within"), (210.1, "above")]
)
def test_a_harvest_is_held_against_the_range_as_it_is_printed(bu_ac: float, side: str):
    """At both ends of 155 to 210."""
    cut = replace(factory.CUT, yield_bu_ac=bu_ac)
    assert f"the harvest lies {side} that." in lead(factory.harvested(cut=cut))


def test_a_harvest_that_is_not_settled_gives_no_yield():
    """It is harvested all the same, and the count stands for what it was."""
    open_ = factory.harvested(cut=None)
    assert lead(open_).startswith(
        "Harvested Mon 12 October; what was weighed is not settled yet. "
        "The count had said 155 to 210 bu/ac, likely 182."
    )
    assert AHEAD.search(all_words(open_)) is None
    nobody = replace(open_, visits=(*open_.visits[:-1], replace(open_.visits[-1], date=None)))
    assert lead(nobody).startswith("Harvested, on a day that is not known; what was weighed")
    assert lead(replace(nobody, harvest=factory.CUT)).startswith(
        "Harvested, on a day that is not known: 176 bushels an acre"
    )


def test_the_section_says_what_the_yield_was_made_of():
    """Loads, area, grain and moisture; an area that nobody typed is owned up to."""
    made = (
        "3 loads from 62 ac, 10,900 bu at market moisture; they came at 20.4 % moisture on average."
    )
    assert made in all_words(factory.harvested())
    assert "Nobody typed the area" not in all_words(factory.harvested())
    roster = replace(factory.CUT, acres_typed=False, loads=1)
    said = all_words(factory.harvested(cut=roster))
    assert "One load from 62 ac, 10,900 bu at market moisture; it came at 20.4 % moisture." in said
    assert "Nobody typed the area that was cut, so the whole field is taken." in said


def test_stalks_and_mould_are_told_without_what_to_do_about_them():
    """Shares and lines stay; an order of harvest and more looking do not; a test of grain does."""
    both = factory.ripening(failed=(8, 9, 9, 8, 8), mouldy=(9, 9, 8, 9, 9))
    result = factory.harvested(factory.full(ripe=both))
    assert "over both published lines, 10 and 20 in 100." in " ".join(stalk_sentences(result, US))
    moulds = " ".join(mould_sentences(result, US, FIGURES))
    assert "line of 10 in 100: such grain is tested, and dried below 15 %." in moulds
    few = factory.harvested(factory.full(ripe=factory.ripening()))
    assert "the line of 10 in 100 cannot be told. It is" in " ".join(stalk_sentences(few, US))
    nobody = stalk_sentences(factory.harvested(), US)
    assert nobody == ("Stalks: not looked at before the harvest.",)


def test_the_curve_of_heat_ends_its_stages_at_the_harvest():
    """A stage that the heat would have brought later never came."""
    late = factory.stage("R6", factory.CUT_ON.replace(day=13), None, passed=True)
    standing = factory.full(stages=(*factory.STAGES[:2], late))
    assert [mark.name for mark in heat_marks(standing)] == ["R1", "R4", "R6"]
    assert [mark.name for mark in heat_marks(factory.harvested(standing))] == ["R1", "R4"]


# ---- the board, the packet, the letter, the order of harvest -------------------------------


def on_board(result: FieldResult) -> BoardField:
    none = FieldRounds(windows=(), undated=None)
    return BoardField(
        result=result, report="", scout=None, rounds=none, planned={}, sprayed_on=None,
        reentry_ends=None,
    )  # fmt: skip


def row(result: FieldResult) -> Row:
    return board_row(on_board(result), US)


def test_the_board_says_harvested_in_every_column_that_looked_ahead():
    """Stage, due, mould; the yield is the weighed one beside the count's range."""
    found = row(factory.harvested(factory.full(fungicide=factory.asked())))
    assert found.stage.lines == found.due.lines == ("harvested Mon 12 Oct",)
    assert found.windows.lines == ("none now",)
    assert found.yield_.lines == ("weighed 176 bu/ac", "the count had said 155 to 210")
    assert found.yield_.key == 176.2
    assert found.mould.lines[-1] == "harvested Mon 12 Oct"
    assert not [line for line in found.mould.lines if "look" in line]
    hot = replace(factory.OUTLOOK, hot_and_dry=True)
    assert "hot, dry fill" in row(factory.harvested(factory.full(outlook=hot))).mould.lines
    assert row(factory.harvested(cut=None)).yield_.lines == (
        "likely 182",
        "155 to 210 bu/ac",
        "the harvest is not settled yet",
    )
    assert board_view([on_board(factory.harvested())], factory.context()).rows == (
        row(factory.harvested()),
    )


def test_a_harvested_field_is_neither_in_the_order_of_harvest_nor_missing_there():
    """The page names it apart; with all cut it orders nothing."""
    ripe = factory.ripening(failed=(8, 7, 9, 8, 8))
    cut = factory.harvested(factory.full(field_id="A", field="Cut", ripe=ripe))
    never = factory.harvested(factory.full(field_id="B", field="Cut unseen"))
    left = factory.full(field_id="C", field="Standing", ripe=ripe)
    found = harvest_view((cut, never, left), factory.context(), reports={}, scouts={})
    assert found is not None
    assert [one.field for one in found.rows] == ["Standing"]
    assert found.lead[0] == "Only Standing is in it."
    assert found.lead[-1] == "Harvested, so not in the order: A Cut and B Cut unseen."
    assert found.missing == ""
    over = harvest_view((cut, never), factory.context(), reports={}, scouts={})
    assert over is not None
    assert (over.rows, over.lead[0]) == ((), "Every field that had a ripening visit is harvested.")
    assert "<table" not in harvest_html(over, factory.context()).split("<h2>")[0]


def test_a_packet_orders_only_what_stands():
    """One field left has no order; the cut one is not among those nobody tried stalks in."""
    ripe = factory.ripening(failed=(8, 7, 9, 8, 8))
    standing = [factory.full(field_id=one, field=one, ripe=ripe) for one in ("A", "B")]
    cut = factory.harvested(factory.full(field_id="C", field="Reaped"))
    found = next(packet_views([*standing, cut], factory.context()))
    assert found.harvest[0].startswith("1. A")
    assert "Reaped" not in " ".join(found.harvest)
    alone = next(packet_views([standing[0], factory.harvested(standing[1])], factory.context()))
    assert alone.harvest == ()


def test_a_letter_tells_the_harvest_at_a_first_visit_too():
    """It opens with what was weighed; no stage, no first estimate, no watch."""
    now = factory.harvested(factory.full(ripe=replace(factory.ripening(), day=factory.SEEN)))
    said = " ".join(news(Compared(now=now, then=None, day=factory.SEEN), US, FIGURES))
    assert said.startswith("Harvested Mon 12 October: 176 bushels an acre were weighed")
    assert "Stalks: 12 of 100 gave way" in said
    for gone in ("The field is at", "First yield estimate", "Gibberella ear mould"):
        assert gone not in said
    failed = Compared(now=factory.harvested(factory.failed()), then=None, day=factory.SEEN)
    assert "insurance" not in " ".join(news(failed, US, FIGURES))


def test_a_letter_names_cut_fields_that_nobody_looked_at_apart():
    """They are not still to be looked at."""
    seen = Compared(now=factory.full(), then=None, day=factory.SEEN)
    cut = replace(factory.harvested(factory.no_visit()), field="Cut")
    page = next(letter_views([seen], [cut, factory.no_visit()], factory.context()))
    assert page.rest == (
        "Not looked at yet: Windmill seventy.",
        "Harvested, and never looked at before: Cut.",
    )


def test_the_list_of_results_says_harvested():
    """Day and weighed yield stand before the count; no stage is ahead."""
    (line,) = results_lines([factory.harvested(replace(factory.full(), stages=factory.STAGES))],
                            System.US, "en")  # fmt: skip
    assert "harvested Mon 12 October; weighed 176 bu/ac; counted 182 bu/ac" in line
    assert not re.search(r"R\d", line)
