"""Silk clipping against the published lines: what holds, what does not, what is not known.

A line says when a loss was seen to pay for control. Reaching one is never an order to spray: a
licensed adviser decides, and bees work in shedding corn.
"""

from dataclasses import dataclass

from fieldbook.agronomy.ranges import Span
from fieldbook.figures import Figures, shipped_figures

ROOTWORM_EAR, ROOTWORM_PLANT = "rootworm-ear", "rootworm-plant"
JAPANESE_EAR, JAPANESE_PLANT = "japanese-ear", "japanese-plant"
BEETLES_ON = (ROOTWORM_EAR, ROOTWORM_PLANT, JAPANESE_EAR, JAPANESE_PLANT)

_SHORT, _LONGER = "clipping.silk_length_in", "clipping.iowa_silk_length_in"
_LINES = (
    ("purdue-japanese", JAPANESE_EAR, "clipping.japanese_per_ear", _SHORT),
    ("iowa-state-japanese", JAPANESE_EAR, "clipping.japanese_per_ear", _LONGER),
    ("south-dakota-rootworm", ROOTWORM_PLANT, "clipping.south_dakota_rootworm_per_plant", _SHORT),
    ("wisconsin-rootworm", ROOTWORM_PLANT, "clipping.wisconsin_rootworm_per_plant", _SHORT),
    ("nebraska-rootworm", ROOTWORM_EAR, "clipping.nebraska_rootworm_per_ear", _SHORT),
)


@dataclass(frozen=True, kw_only=True)
class ClippingLine:
    """One published line and which of its conditions hold; None where that is not known.

    ``short`` silks, ``open``: too little is pollinated yet, ``beetles`` enough of them.
    ``sources`` are the figures it rests on.
    """

    name: str
    short: bool | None
    open: bool | None
    beetles: bool | None
    sources: tuple[str, ...]

    @property
    def reached(self) -> bool | None:
        """Whether all conditions hold; None where one is not known and none fails."""
        conditions = (self.short, self.open, self.beetles)
        if False in conditions:
            return False
        return None if None in conditions else True


def clipping_lines(
    *,
    silk_length_in: float | None,
    pollinated_pct: Span | None,
    beetles: float | None,
    beetles_on: str | None,
    figures: Figures | None = None,
) -> tuple[ClippingLine, ...]:
    """Hold a field against every published line for its beetles.

    Parameters
    ----------
    silk_length_in
        Silks out of the husk [in].
    pollinated_pct
        Share of silks that have fallen [%], as a range; one reading has equal ends.
    beetles, beetles_on
        Mean beetles, and on what they were counted, one of `BEETLES_ON`.

    Returns
    -------
    tuple of ClippingLine
        Empty where beetles were not counted, or counted in a way that no source has a line for:
        Japanese beetles by the plant.

    Raises
    ------
    ValueError
        For another way of counting.
    """
    if beetles_on is not None and beetles_on not in BEETLES_ON:
        raise ValueError(f"no line for beetles on {beetles_on!r}")
    known = figures or shipped_figures()
    return tuple(
        ClippingLine(
            name=name,
            short=_under(silk_length_in, known.number(length)),
            open=_open(pollinated_pct, known.number("clipping.pollinated_pct")),
            beetles=_enough(beetles, known.numbers(count)),
            sources=(length, "clipping.pollinated_pct", count),
        )
        for name, counted_on, count, length in _LINES
        if counted_on == beetles_on
    )


def _under(value: float | None, line: float) -> bool | None:
    return None if value is None else value < line


def _open(pollinated: Span | None, line: float) -> bool | None:
    """Tell whether too little is pollinated; a range across the line cannot tell."""
    if pollinated is None or pollinated.low < line <= pollinated.high:
        return None
    return pollinated.high < line


def _enough(beetles: float | None, line: tuple[float, ...]) -> bool | None:
    """Tell whether beetles reach a line; between the ends of a printed range cannot be told."""
    low, high = line
    if beetles is None or low <= beetles < high:
        return None
    return beetles >= high
