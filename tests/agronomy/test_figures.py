"""Every figure has its ground, and a season may set it anew."""

import pickle
import pkgutil
from dataclasses import is_dataclass
from importlib import import_module

import pytest

from fieldbook import agronomy
from fieldbook.figures import (
    KINDS,
    SET,
    FigureError,
    load_figures,
    reference,
    shipped_figures,
)

ROOMS = ["fieldbook.figures"] + [
    one.name for one in pkgutil.iter_modules(agronomy.__path__, "fieldbook.agronomy.")
]
RECORDS = [
    one
    for room in ROOMS
    for one in vars(import_module(room)).values()
    if is_dataclass(one) and one.__module__ == room
]
PAGE = (
    '[page]\nauthor = "A"\ninstitution = "B"\ntitle = "C"\nyear = 2000\nurl = "https://d.example"'
)


def figure_toml(**parts: str) -> str:
    """Write one figure, sound unless a part is replaced."""
    sound = {"value": "1", "unit": '"x"', "kind": '"published"', "sources": '["page"]'}
    lines = [f"{name} = {text}" for name, text in {**sound, **parts}.items() if text]
    return "\n".join(['["a.b"]', *lines])


def test_every_reference_is_used_and_every_source_exists() -> None:
    """No shipped figure leans on a missing page, and no page stands there for nothing."""
    figures = shipped_figures()
    used = {source for key in figures for source in figures.entry(key).sources}
    assert {reference(source).key for source in used} == used
    assert set(figures._references) == used


def test_every_kind_is_known() -> None:
    """Each shipped figure is of a known kind, and only the published may go without a note."""
    figures = shipped_figures()
    for key in figures:
        entry = figures.entry(key)
        assert entry.kind in KINDS
        assert entry.note or entry.kind == "published"


def test_kernel_triples_follow_from_the_bands() -> None:
    """The derived three values are the middles of the published bands and of their neighbours."""
    figures = shipped_figures()
    good, average, poor = (
        sum(figures.numbers(f"kernels.band_{name}_thousand_per_bu")) / 2
        for name in ("good", "average", "poor")
    )
    ideal = figures.number("kernels.ideal_thousand_per_bu")
    light = figures.number("kernels.very_light_thousand_per_bu")
    assert figures.numbers("kernels.good_thousand_per_bu") == (ideal, good, average)
    assert figures.numbers("kernels.average_thousand_per_bu") == (good, average, poor)
    assert figures.numbers("kernels.poor_thousand_per_bu") == (average, poor, light)


def test_fractions_follow_from_the_table() -> None:
    """The derived fractions are one minus what is still needed, in each maturity class."""
    figures = shipped_figures()
    for name in ("early", "middle", "late"):
        needed = figures.numbers(f"fill.{name}_class_gdd_f")
        behind = [1 - heat / needed[0] for heat in needed]
        assert behind == pytest.approx(figures.numbers("fill.fractions"))


def test_setting_a_figure_leaves_the_shipped_one_alone() -> None:
    """A season's value is marked as set, and only in the season's figures."""
    shipped = shipped_figures()
    season = shipped.changed({"heat.base_f": 48, "heat.emergence_range_gdd_f": (90, 150)})
    assert season["heat.base_f"] == 48
    assert season["heat.emergence_range_gdd_f"] == (90, 150)
    assert season.entry("heat.base_f").kind == SET
    assert shipped["heat.base_f"] == 50
    assert len(season) == len(shipped)


def test_unknown_key_names_the_nearest() -> None:
    """A mistyped key is refused, and the message says what was probably meant."""
    with pytest.raises(KeyError, match=r"nearest is 'heat\.base_f'"):
        shipped_figures()["heat.bas_f"]
    with pytest.raises(KeyError, match=r"nearest is 'heat\.base_f'"):
        shipped_figures().changed({"heat.bas_f": 1})
    with pytest.raises(KeyError, match="nearest is 'carter-1991'"):
        reference("carter-1999")


@pytest.mark.parametrize(
    ("key", "value"),
    [("heat.base_f", (50, 51)), ("ears.ovules", 800), ("ears.ovules", (1, 2, 3))],
)
def test_setting_another_shape_is_refused(key: str, value: float | tuple[float, ...]) -> None:
    """One number cannot take the place of a row, nor a row that of one number."""
    with pytest.raises(ValueError, match=key):
        shipped_figures().changed({key: value})


def test_asking_for_the_wrong_shape_is_refused() -> None:
    """A row is not handed out as one number, nor one number as a row."""
    with pytest.raises(TypeError, match="row of numbers"):
        shipped_figures().number("ears.ovules")
    with pytest.raises(TypeError, match="one number"):
        shipped_figures().numbers("heat.base_f")


def test_figures_pass_between_processes() -> None:
    """Figures survive pickling, as a process pool needs."""
    season = shipped_figures().changed({"heat.cap_f": 88})
    assert pickle.loads(pickle.dumps(season)) == season


@pytest.mark.parametrize("record", RECORDS, ids=lambda one: one.__name__)
def test_records_are_frozen(record: type) -> None:
    """No record of the figures or the agronomy room can be changed after it is made."""
    assert record.__dataclass_params__.frozen  # type: ignore[attr-defined]


def test_sound_figure_loads() -> None:
    """A figure with a value, a unit, a kind and a source is accepted."""
    figures = load_figures(figure_toml(value="[1, 2.5]"), PAGE)
    assert figures["a.b"] == (1, 2.5)
    assert figures.reference("page").year == 2000


def test_reference_may_lack_a_year() -> None:
    """A page without a year is accepted, and its year is missing."""
    figures = load_figures(figure_toml(), PAGE.replace("year = 2000\n", ""))
    assert figures.reference("page").year is None


@pytest.mark.parametrize(
    ("figures_toml", "references_toml", "message"),
    [
        (figure_toml(sources=""), PAGE, "needs a source"),
        (figure_toml(sources="", kind='"assumed"'), PAGE, "needs a note"),
        (figure_toml(kind='"memory"'), PAGE, "needs a note"),
        (figure_toml(sources='["nowhere"]'), PAGE, "no reference nowhere"),
        (figure_toml(kind='"guessed"'), PAGE, "is not one of"),
        (figure_toml(kind='"set for this season"', note='"x"'), PAGE, "is not one of"),
        (figure_toml(value='"1"'), PAGE, "not a number"),
        (figure_toml(value="true"), PAGE, "not a number"),
        (figure_toml(value="[]"), PAGE, "not a number"),
        (figure_toml(value=""), PAGE, "missing or unknown: value"),
        (figure_toml(colour='"red"'), PAGE, "missing or unknown: colour"),
        (figure_toml(), PAGE.replace("url", "link"), "missing or unknown: link, url"),
    ],
)
def test_figure_without_ground_is_refused(
    figures_toml: str, references_toml: str, message: str
) -> None:
    """The loader refuses a figure without source or note, and anything misspelled."""
    with pytest.raises(FigureError, match=message):
        load_figures(figures_toml, references_toml)
