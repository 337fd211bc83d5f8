"""The checks of the roadside, pollination and ripening rounds, each by what triggers it."""

from datetime import date
from pathlib import Path

import pytest
from seasons import NOW, book_plan, good_visit, small_season

from fieldbook.check.book import check_book
from fieldbook.check.verdict import CheckedBook, State, Status
from fieldbook.cross_rules import AtLeastWith
from fieldbook.forms.rounds import KERNEL_COUNT, POLLINATION, RIPENING, ROADSIDE, Round
from fieldbook.forms.stages import stage_rank
from fieldbook.problems import Problem, Weight, sentence
from fieldbook.season.season import Season
from fieldbook.units import System
from fieldbook.workbook.plan import EntryKey, EntryValue
from fieldbook.workbook.read import read_book
from fieldbook.workbook.write import write_book

Entries = dict[EntryKey, EntryValue]
Changes = dict[str, EntryValue]
HEAD, STOP, EAR, LINE = ("A1",), ("A1", 1), ("A1", 1, 1), ("A1", 1, 1)


def visit(stage: str, *, day: date | None = None, **cells: EntryValue) -> Entries:
    """Fill the head of a visit to field A1, on a day on which it can be at the stage."""
    usual = date(2026, 8, 14) if stage_rank(stage) >= stage_rank("R4") else date(2026, 7, 16)
    head: Changes = {"visit_date": day or usual, "stage": stage, **cells}
    return {("fields", HEAD, name): value for name, value in head.items()}


def row(sheet: str, key: tuple[str | int, ...], **cells: EntryValue) -> Entries:
    """Fill a row."""
    return {(sheet, key, name): value for name, value in cells.items()}


def stops(column: str, *values: EntryValue) -> Entries:
    """Fill one column of the stops in order."""
    return {("stops", ("A1", at), column): value for at, value in enumerate(values, start=1)}


def judge(season: Season, round_: Round, entries: Entries) -> CheckedBook:
    """Write the full form of a round, read it back and judge it."""
    plan = book_plan(season, round_=round_, full=True, entries={"A1": entries})
    read = read_book(write_book(plan), "ana.xlsx")
    assert read.book is not None
    today = NOW.date()
    return check_book(read.book, season.context({}, today=today, received=today))


def told(season: Season, round_: Round, entries: Entries) -> list[tuple[str, str | None]]:
    """Return code and column of all that is open."""
    found = judge(season, round_, entries).open_problems
    assert all(sentence(one) for one in found)
    return [(one.code, one.place.column) for one in found]


def only(verdict: CheckedBook) -> Problem:
    """Return the one open problem."""
    (found,) = verdict.open_problems
    return found


# ---- the stage and its round ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("round_", "stage", "fits"),
    [
        (ROADSIDE, "V", True),
        (ROADSIDE, "R1", True),
        (ROADSIDE, "R2", False),
        (POLLINATION, "V", False),
        (POLLINATION, "VT", True),
        (POLLINATION, "R3", False),
        (RIPENING, "R4", False),
        (RIPENING, "R6", True),
    ],
    ids=lambda value: getattr(value, "name", value),
)
def test_each_round_is_for_its_stages(
    season: Season, round_: Round, stage: str, *, fits: bool
) -> None:
    """A stage before or after those that the round is for is asked about, others are not."""
    wanted = [] if fits else [("stage-outside-round", "stage")]
    assert told(season, round_, visit(stage)) == wanted


def test_a_stage_outside_names_the_stages_of_the_round(season: Season) -> None:
    """The sentence says what was seen and what the round is for."""
    words = sentence(only(judge(season, ROADSIDE, visit("R4"))))
    assert "R4 was seen, but the round Roadside look is for V to R1" in words


def test_kernels_before_milk_are_the_graver_question(season: Season) -> None:
    """At R2 counted kernels are asked about as too early; without kernels only as outside."""
    counted = {**good_visit("A1"), ("fields", HEAD, "stage"): "R2"}
    assert told(season, KERNEL_COUNT, counted) == [("stage-too-early", "stage")]
    assert told(season, KERNEL_COUNT, visit("R2")) == [("stage-outside-round", "stage")]


# ---- silks and the stage -------------------------------------------------------------------

_SILKS = [
    ("VT", (8, 6, 5, 9), True),
    ("VT", (14, 14, 14, 14), True),  # 70 %: half, and what may be seen either way
    ("VT", (15, 15, 15, 14), False),
    ("VT", (20,), False),
    ("VT", (16,), True),  # 80 % of 20 plants: chance alone does as much
    ("R1", (6, 6, 6, 6), True),
    ("R1", (5, 6, 6, 6), False),
    ("R2", (0, 0, 0, 0), False),
]


@pytest.mark.parametrize(("stage", "silked", "fits"), _SILKS)
def test_silks_must_go_with_the_stage(
    season: Season, stage: str, silked: tuple[int, ...], *, fits: bool
) -> None:
    """Silking is when half of the plants show silks, give or take a fifth and chance."""
    wanted = [] if fits else [("silks-against-stage", "stage")]
    assert told(season, POLLINATION, visit(stage) | stops("silked", *silked)) == wanted


def test_silks_seen_from_the_road_count_as_well(season: Season) -> None:
    """The roadside round has its 20 plants in the Fields sheet."""
    found = only(judge(season, ROADSIDE, visit("VT", silked=19)))
    assert found.code == "silks-against-stage"
    assert "VT was picked, but 95 % of 20 plants show silks" in sentence(found)


def test_an_impossible_count_of_silks_says_nothing_of_the_stage(season: Season) -> None:
    """36 of 20 plants is one mistake and is told once."""
    entries = visit("VT") | stops("silked", 36)
    assert told(season, POLLINATION, entries) == [("out-of-range", "silked")]


# ---- tassels and the stage -----------------------------------------------------------------


def test_one_odd_tassel_of_four_is_asked_at_its_stop(season: Season) -> None:
    """Three stops agree with the stage, so the fourth is in doubt and no other cell."""
    entries = visit("R2") | stops("tassel", "branches", "not-yet", "finished", "branches")
    verdict = judge(season, POLLINATION, entries)
    found = only(verdict)
    assert (found.code, found.place.table, found.place.row) == (
        "tassel-against-stage",
        "stops",
        "2",
    )
    asked = [r for r in verdict.readings if r.status is Status.ASKED]
    assert [(r.sheet, r.row, r.column) for r in asked] == [("stops", (2,), "tassel")]


def test_most_tassels_odd_put_the_stage_in_doubt(season: Season) -> None:
    """Three of four stops shed nothing yet at R2: told once, at the stage."""
    entries = visit("R2") | stops("tassel", "not-yet", "not-yet", "not-yet", "branches")
    verdict = judge(season, POLLINATION, entries)
    assert (only(verdict).code, only(verdict).place.column) == ("tassel-against-stage", "stage")
    assert [r.column for r in verdict.readings if r.status is Status.ASKED] == ["stage"]


def test_half_of_the_tassels_odd_are_asked_one_by_one(season: Season) -> None:
    """Two of four are not most of them."""
    entries = visit("VT") | stops("tassel", "finished", "finished", "not-yet", "not-yet")
    assert told(season, POLLINATION, entries) == [("tassel-against-stage", "tassel")] * 2


@pytest.mark.parametrize("tassel", ["not-yet", "finished"])
def test_at_silking_every_tassel_goes(season: Season, tassel: str) -> None:
    """R1 stands in between: silks may come before pollen or after all of it."""
    entries = visit("R1") | stops("tassel", *[tassel] * 4)
    assert told(season, POLLINATION, entries) == []


def test_a_wrong_stage_is_told_once(season: Season) -> None:
    """Silks and tassels both speak against the stage: the silks alone are named."""
    entries = visit("R2") | stops("silked", 0, 0, 0, 0) | stops("tassel", *["not-yet"] * 4)
    assert told(season, POLLINATION, entries) == [("silks-against-stage", "stage")]


def test_a_true_rarity_of_the_stage_is_confirmed_in_its_row(season: Season) -> None:
    """'Yes, it is true' beside the stage closes the question and the stage is used."""
    entries = visit("R2", answer="true") | stops("tassel", *["not-yet"] * 4)
    verdict = judge(season, POLLINATION, entries)
    assert verdict.open_problems == ()
    assert [question.state for question in verdict.questions] == [State.CONFIRMED]
    status = {r.column: r.status for r in verdict.readings if r.sheet == "fields"}
    assert status["stage"] is Status.CONFIRMED


# ---- beetles, pests, leaves ----------------------------------------------------------------


def test_beetles_want_their_kind(season: Season) -> None:
    """A count above zero needs its kind; none counted, or a kind alone, does not."""
    for cells, wanted in (
        ({"beetles": 3}, [("part-missing", "beetles_on")]),
        ({"beetles": 0}, []),
        ({"beetles_on": "rootworm-ear"}, []),
        ({"beetles": 3, "beetles_on": "japanese-ear"}, []),
    ):
        assert told(season, POLLINATION, visit("R1") | row("stops", STOP, **cells)) == wanted


def test_missing_kind_of_beetles_is_named_in_words(season: Season) -> None:
    """The note names both columns as the book does."""
    found = only(judge(season, POLLINATION, visit("R1") | row("stops", STOP, beetles=3)))
    assert found.weight is Weight.NOTE
    assert "Beetles is filled, but Which, on what is empty" in sentence(found)


_ROWS: list[tuple[str, Round, Entries, tuple[str, str]]] = [
    (
        "pest without name",
        POLLINATION,
        row("stops", STOP, pest_plants=4),
        ("part-missing", "pest"),
    ),
    (
        "all silks fallen, and not",
        POLLINATION,
        row("ears", EAR, all_fallen="yes", fallen_base_pct=95, fallen_tip_pct=89),
        ("all-fallen-contradicts", "all_fallen"),
    ),
    (
        "fallen and still pale",
        POLLINATION,
        row("ears", EAR, fallen_tip_pct=80, pale_tip_pct=25),
        ("silks-over-all", "fallen_tip_pct"),
    ),
    (
        "more sick than seen",
        POLLINATION,
        row("leaves", LINE, disease="tar-spot", looked=20, with_it=21),
        ("part-over-whole", "with_it"),
    ),
    (
        "more sick high up than sick",
        POLLINATION,
        row("leaves", LINE, disease="tar-spot", looked=20, with_it=4, high=5),
        ("part-over-whole", "high"),
    ),
    (
        "no disease, yet severe",
        POLLINATION,
        row("leaves", LINE, disease="none", looked=20, severity_pct=2),
        ("none-contradicts", "disease"),
    ),
    (
        "severe on no plant",
        POLLINATION,
        row("leaves", LINE, disease="tar-spot", looked=20, with_it=0, severity_pct=2),
        ("severity-without-plants", "severity_pct"),
    ),
    (
        "severe on plants that nobody counted",
        POLLINATION,
        row("leaves", LINE, disease="tar-spot", looked=20, severity_pct=2),
        ("severity-without-plants", "severity_pct"),
    ),
    (
        "severe, and nothing else",
        POLLINATION,
        row("leaves", LINE, severity_pct=2),
        ("severity-without-plants", "severity_pct"),
    ),
    (
        "severe, of plants that nobody counted",
        POLLINATION,
        row("leaves", LINE, disease="tar-spot", severity_pct=2),
        ("part-missing", "looked"),
    ),
    (
        "no mould, yet mouldy",
        RIPENING,
        row("ears", EAR, mould="none", mould_pct=5),
        ("none-contradicts", "mould"),
    ),
    (
        "more failed than tried",
        RIPENING,
        row("stalks", STOP, tried=20, failed=21),
        ("part-over-whole", "failed"),
    ),
    (
        "more broken than tried",
        RIPENING,
        row("stalks", STOP, tried=20, stalk_lodged=21),
        ("part-over-whole", "stalk_lodged"),
    ),
    (
        "failed of nothing",
        RIPENING,
        row("stalks", STOP, failed=3),
        ("part-missing", "tried"),
    ),
    (
        "a bag without moisture",
        RIPENING,
        row("stalks", STOP, bag_ears=10, bag_grain_lb=3.4),
        ("part-missing", "bag_moisture_pct"),
    ),
    (
        "mouldy without mould",
        RIPENING,
        row("stalks", STOP, ears_opened=20, ears_mouldy=2, mould="none"),
        ("none-contradicts", "mould"),
    ),
]


@pytest.mark.parametrize(
    ("round_", "cells", "wanted"), [case[1:] for case in _ROWS], ids=[case[0] for case in _ROWS]
)
def test_a_row_that_cannot_be_is_told_once(
    season: Season, round_: Round, cells: Entries, wanted: tuple[str, str]
) -> None:
    """One fault in one row gives one problem at its column."""
    stage = round_.stages[1]
    assert told(season, round_, visit(stage) | cells) == [wanted]


_ALL_FALLEN = AtLeastWith(
    column="all_fallen",
    choice="yes",
    others=("fallen_base_pct", "fallen_tip_pct"),
    least=90,
    code="all-fallen-contradicts",
)


@pytest.mark.parametrize(
    ("values", "broken"),
    [
        ({"all_fallen": "yes"}, False),
        ({"all_fallen": "yes", "fallen_base_pct": 90.0, "fallen_tip_pct": None}, False),
        ({"all_fallen": "yes", "fallen_base_pct": 95.0, "fallen_tip_pct": 89.9}, True),
        ({"all_fallen": "yes", "fallen_tip_pct": 0.0}, True),
        ({"all_fallen": None, "fallen_tip_pct": 10.0}, False),
    ],
)
def test_a_tick_asks_for_the_least_in_typed_cells_only(
    values: dict[str, object], *, broken: bool
) -> None:
    """Every typed share must be at least 90 beside the tick; empty ones say nothing."""
    assert _ALL_FALLEN.broken(values) is broken


def test_a_tick_speaks_only_of_columns_that_a_form_has() -> None:
    """The rule is cut down to a form's columns, and dropped where none is left."""
    cut = _ALL_FALLEN.within(frozenset({"all_fallen", "fallen_tip_pct"}))
    assert cut is not None
    assert cut.marks == ("all_fallen", "fallen_tip_pct")
    assert _ALL_FALLEN.within(frozenset({"all_fallen"})) is None
    assert _ALL_FALLEN.within(frozenset({"fallen_tip_pct"})) is None


_LEANING: list[tuple[str, Round, Entries, list[tuple[str, str]]]] = [
    (
        "high up of a count that is too high itself",
        POLLINATION,
        row("leaves", LINE, disease="tar-spot", looked=20, with_it=26, high=30),
        [("part-over-whole", "with_it")],
    ),
    (
        "none picked beside a count that is too high itself",
        POLLINATION,
        row("leaves", LINE, disease="none", looked=20, with_it=26),
        [("part-over-whole", "with_it")],
    ),
    (
        "failed of an impossible number tried",
        RIPENING,
        row("stalks", STOP, tried=-20, failed=3),
        [("out-of-range", "tried")],
    ),
    (
        "pale beside a share over a hundred",
        POLLINATION,
        row("ears", EAR, fallen_tip_pct=120, pale_tip_pct=30),
        [("out-of-range", "fallen_tip_pct")],
    ),
    (
        "two faults that do not lean on each other",
        RIPENING,
        row("stalks", STOP, tried=20, failed=21, ears_opened=20, ears_mouldy=22),
        [("part-over-whole", "failed"), ("part-over-whole", "ears_mouldy")],
    ),
]


@pytest.mark.parametrize(
    ("round_", "cells", "wanted"),
    [case[1:] for case in _LEANING],
    ids=[case[0] for case in _LEANING],
)
def test_a_rule_that_leans_on_a_blamed_cell_stays_silent(
    season: Season, round_: Round, cells: Entries, wanted: list[tuple[str, str]]
) -> None:
    """What was found in a cell is not told again by the next rule that looks at it."""
    assert told(season, round_, visit(round_.stages[1]) | cells) == wanted


# ---- weights -------------------------------------------------------------------------------


def _weighed(**cells: EntryValue) -> Entries:
    """Weigh the grain of one ear at a stop whose ears are counted."""
    return row("stops", STOP, ears=30) | row("ears", EAR, moisture_pct=20, **cells)


@pytest.mark.parametrize(
    ("ears", "pounds", "fits"),
    [(10, 1.0, True), (10, 7.0, True), (10, 0.9, False), (10, 7.1, False), (20, 7.1, True)],
)
def test_a_bag_must_go_with_its_ears(
    season: Season, ears: int, pounds: float, *, fits: bool
) -> None:
    """A tenth to seven tenths of a pound an ear is usual, ends included."""
    cells = row("stalks", STOP, bag_ears=ears, bag_grain_lb=pounds, bag_moisture_pct=20)
    wanted = [] if fits else [("bag-weight-odd", "bag_grain_lb")]
    assert told(season, RIPENING, visit("R6") | cells) == wanted


def test_a_bag_speaks_the_units_of_the_season(tmp_path: Path) -> None:
    """In a metric season the same bag is asked about in kilograms."""
    season = small_season(tmp_path / "metric", units=System.METRIC)
    cells = row("stalks", STOP, bag_ears=10, bag_grain_lb=52.0, bag_moisture_pct=20)
    words = sentence(only(judge(season, RIPENING, visit("R6") | cells)))
    assert "The bag holds 2.36 kg an ear; usual is 0.05 kg to 0.32 kg" in words


def test_a_bag_in_pounds(season: Season) -> None:
    """In a US season it is asked about in pounds."""
    cells = row("stalks", STOP, bag_ears=10, bag_grain_lb=52.0, bag_moisture_pct=20)
    words = sentence(only(judge(season, RIPENING, visit("R6") | cells)))
    assert "The bag holds 5.2 lb an ear; usual is 0.1 lb to 0.7 lb" in words


@pytest.mark.parametrize(
    ("pounds", "fits"), [(0.18, False), (0.19, True), (0.55, True), (0.56, False)]
)
def test_an_ear_must_go_with_its_kernels(season: Season, pounds: float, *, fits: bool) -> None:
    """Of 16 x 35 kernels each weighs 150 to 450 mg: 0.185 to 0.556 lb together."""
    cells = _weighed(rows_around=16, kernels_set=35, grain_weight_lb=pounds)
    wanted = [] if fits else [("kernel-weight-odd", "grain_weight_lb")]
    assert told(season, RIPENING, visit("R6") | cells) == wanted


@pytest.mark.parametrize(
    ("cells", "wanted"),
    [
        (
            row("stalks", STOP, bag_ears=10, bag_grain_lb=1540, bag_moisture_pct=20),
            ("out-of-range", "bag_grain_lb"),
        ),
        (
            _weighed(rows_around=166, kernels_set=35, grain_weight_lb=0.3),
            ("out-of-range", "rows_around"),
        ),
        (
            _weighed(rows_around=15, kernels_set=5, grain_weight_lb=0.3),
            ("rows-odd", "rows_around"),
        ),
    ],
    ids=["bag in grams", "a digit too many", "odd rows"],
)
def test_a_weight_is_not_held_against_a_number_in_doubt(
    season: Season, cells: Entries, wanted: tuple[str, str]
) -> None:
    """Once the cell itself is blamed, nothing is worked out from it."""
    assert told(season, RIPENING, visit("R6") | cells) == [wanted]


# ---- photos and places ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stop", "wanted"),
    [
        (4, []),
        (5, [("photo-stop-unknown", "at_stop")]),
        (61, [("out-of-range", "at_stop")]),
    ],
)
def test_a_photo_is_of_a_stop_that_the_field_has(
    season: Season, stop: int, wanted: list[tuple[str, str]]
) -> None:
    """Pollination has four stops; a number that no book has is told once."""
    entries = visit("R1") | row("photos", ("A1", 2), at_stop=stop)
    assert told(season, POLLINATION, entries) == wanted


def test_an_unknown_stop_of_a_photo_names_the_field(season: Season) -> None:
    """The sentence says which stops there are."""
    entries = visit("R1") | row("photos", ("A1", 1), at_stop=7)
    words = sentence(only(judge(season, POLLINATION, entries)))
    assert "A1 Long eighty has stops 1 to 4, not 7" in words


def test_an_impossible_latitude_is_not_far_away_as_well(season: Season) -> None:
    """A latitude of 415 degrees is told as impossible and not measured in miles."""
    entries = visit("R1") | row("stops", STOP, latitude=415, longitude=-93.5)
    assert told(season, POLLINATION, entries) == [("out-of-range", "latitude")]
