"""Stalks that fail and ears that mould: shares against the published lines, and what moulds carry.

A mould seen does not prove a toxin, and clean ears do not rule one out.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from fieldbook.agronomy.wilson import Count, More, Share, more_to_tell, share, told
from fieldbook.figures import MEMORY, PUBLISHED, Figures, shipped_figures

STALK_LINES = ("stalks.line_pct", "stalks.high_line_pct")
MOULD_LINES = ("mould.line_pct",)

PINK_TIP, WHITE_SCATTERED, WHITE_MAT = "pink-tip", "white-scattered", "white-mat"
OLIVE_POWDER, BLUE_GREEN, OTHER = "olive-powder", "blue-green", "other"


@dataclass(frozen=True, kw_only=True)
class AgainstLine:
    """A share against one published line.

    ``figure`` is the key of the line, ``side`` is ``above``, ``below`` or ``cannot-tell``, and
    ``more`` how much more looking would tell, None where no number would.
    """

    figure: str
    line_pct: float
    side: str
    more: More | None


@dataclass(frozen=True, kw_only=True)
class WalkReading:
    """A share of a walk against its lines.

    ``plants_short`` and ``places_short`` are what is missing to the published size of a walk.
    """

    share: Share
    lines: tuple[AgainstLine, ...]
    plants_short: int
    places_short: int


@dataclass(frozen=True, kw_only=True)
class Mould:
    """What a look suggests and may carry: keys, whose words stand elsewhere.

    ``fungus`` is None where the look fits no one. ``toxins`` is None where no source names any,
    and empty where one says that there are none in the grain. ``kind`` is how well it is known.
    """

    look: str
    fungus: str | None
    toxins: tuple[str, ...] | None
    kind: str
    sources: tuple[str, ...] = ()


_TWO_GUIDES = ("iowa-state-ear-rot", "virginia-tech-ear-rot")
_MOULDS = {
    one.look: one
    for one in (
        Mould(
            look=PINK_TIP,
            fungus="gibberella",
            toxins=("deoxynivalenol", "zearalenone"),
            kind=PUBLISHED,
            sources=_TWO_GUIDES,
        ),
        Mould(
            look=WHITE_SCATTERED,
            fungus="fusarium",
            toxins=("fumonisin",),
            kind=PUBLISHED,
            sources=_TWO_GUIDES,
        ),
        Mould(
            look=WHITE_MAT,
            fungus="diplodia",
            toxins=(),
            kind=PUBLISHED,
            sources=("illinois-ear-rot-2008",),
        ),
        Mould(
            look=OLIVE_POWDER,
            fungus="aspergillus",
            toxins=("aflatoxin",),
            kind=PUBLISHED,
            sources=_TWO_GUIDES,
        ),
        Mould(look=BLUE_GREEN, fungus="penicillium", toxins=None, kind=MEMORY),
        Mould(look=OTHER, fungus=None, toxins=None, kind=MEMORY),
    )
}


def stalk_reading(counts: Iterable[Count], *, figures: Figures | None = None) -> WalkReading | None:
    """Return failed stalks of those tried against both lines; None where none was tried.

    Over 10 %: among the first to harvest (source `iowa-state-stalks`); `ndsu-stalks` has 20 %.
    """
    return _reading(counts, STALK_LINES, figures or shipped_figures())


def mould_reading(counts: Iterable[Count], *, figures: Figures | None = None) -> WalkReading | None:
    """Return mouldy ears of those opened against the line; None where none was opened.

    Over 10 %: harvest early and test the grain, source `iowa-state-ear-rot`.
    """
    return _reading(counts, MOULD_LINES, figures or shipped_figures())


def mould(look: str) -> Mould:
    """Return what a look of mould suggests, after Iowa State, Virginia Tech and Illinois.

    Raises
    ------
    ValueError
        For a look that is not in the list.
    """
    if look not in _MOULDS:
        raise ValueError(f"no mould {look!r}")
    return _MOULDS[look]


def _reading(counts: Iterable[Count], lines: Iterable[str], figures: Figures) -> WalkReading | None:
    found = share(counts, figures=figures)
    if found is None:
        return None
    return WalkReading(
        share=found,
        lines=tuple(_against(found, key, figures) for key in lines),
        plants_short=max(int(figures.number("walk.plants")) - found.looked, 0),
        places_short=max(int(figures.number("walk.places")) - found.places, 0),
    )


def _against(found: Share, key: str, figures: Figures) -> AgainstLine:
    line = figures.number(key)
    return AgainstLine(
        figure=key,
        line_pct=line,
        side=told(found, line),
        more=more_to_tell(found, line, figures=figures),
    )
