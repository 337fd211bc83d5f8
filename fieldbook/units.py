"""Units of measurement: one internal system, converted exactly at the edges.

Inside, every length, area, temperature and yield is in the unit that its name ends with
(``row_width_in``, ``tmax_f``, ``yield_bu_ac``). A season may ask for metric books, files and
reports; only those edges convert.
"""

from dataclasses import dataclass
from enum import StrEnum
from math import ceil, floor, isclose, log10

from fieldbook.words import ENGLISH, Phrase, number_words, phrase

KG_PER_LB = 0.45359237
HA_PER_AC = 0.40468564224
LB_PER_BU_CORN = 56.0
HL_PER_BU = 0.3523907016688
_LIMIT_DIGITS = 3


class System(StrEnum):
    """A system of units for books, files and reports."""

    US = "us"
    METRIC = "metric"


@dataclass(frozen=True, kw_only=True)
class Unit:
    """A unit as it is stored, and how it is shown in each system.

    A stored value ``v`` is shown in metric as ``v * factor + offset``.
    """

    us: str
    metric: str
    factor: float = 1.0
    offset: float = 0.0

    def label(self, system: System, language: str = ENGLISH) -> str:
        """Name the unit as a reader sees it."""
        return self.name(system).said(language)

    def amount(self, number: str, system: System) -> Phrase:
        """Return a number in the reader's unit with the unit's name behind it."""
        return phrase("{number} {unit}", number=number, unit=self.name(system))

    def about(self, value: float, system: System, digits: int = 0) -> Phrase:
        """Return a stored value in the reader's unit, rounded, with the unit's name behind it."""
        return self.amount(number_words(round(self.shown(value, system), digits)), system)

    def name(self, system: System) -> Phrase:
        """Return the unit's name, to be told in a language that is not known yet."""
        return phrase(self.metric if system is System.METRIC else self.us)

    def shown(self, value: float, system: System) -> float:
        """Convert a stored value to the one that a reader sees."""
        return value * self.factor + self.offset if system is System.METRIC else value

    def shown_limit(self, value: float, system: System, *, is_least: bool) -> float:
        """Convert a limit for words: what is no short number is cut to few digits.

        It is cut towards the inside, so whatever lies outside the limit lies outside the words.
        """
        exact = self.shown(value, system)
        return exact if exact == value == round(value, 3) else _cut(exact, up=is_least)

    def stored(self, value: float, system: System) -> float:
        """Convert a value that a person typed to the stored one."""
        return (value - self.offset) / self.factor if system is System.METRIC else value


def _cut(value: float, *, up: bool) -> float:
    """Return the nearest number of few digits above or below, or the value if it is one."""
    nearest = float(f"{value:.{_LIMIT_DIGITS}g}")
    if isclose(nearest, value, rel_tol=1e-9) or value == 0:
        return nearest
    digits = _LIMIT_DIGITS - 1 - floor(log10(abs(value)))
    step = 10.0**-digits
    return float(round((ceil if up else floor)(value / step) * step, max(digits, 0)))


AREA = Unit(us="ac", metric="ha", factor=HA_PER_AC)
ROW_WIDTH = Unit(us="in", metric="cm", factor=2.54)
DISTANCE = Unit(us="miles", metric="km", factor=1.609344)
ROW_LENGTH = Unit(us="ft", metric="m", factor=0.3048)
EAR_LENGTH = Unit(us="in", metric="cm", factor=2.54)
KERNEL_DEPTH = Unit(us="in", metric="mm", factor=25.4)
TEMPERATURE = Unit(us="degF", metric="degC", factor=5 / 9, offset=-160 / 9)
RAIN = Unit(us="in", metric="mm", factor=25.4)
HEAT = Unit(us="GDD F", metric="GDD C", factor=5 / 9)
YIELD = Unit(us="bu/ac", metric="t/ha", factor=LB_PER_BU_CORN * KG_PER_LB / HA_PER_AC / 1000)
PERCENT = Unit(us="%", metric="%")
GRAIN_WEIGHT = Unit(us="lb", metric="kg", factor=KG_PER_LB)
BUSHELS = Unit(us="bu", metric="t", factor=LB_PER_BU_CORN * KG_PER_LB / 1000)
TEST_WEIGHT = Unit(us="lb/bu", metric="kg/hl", factor=KG_PER_LB / HL_PER_BU)
PER_AREA = Unit(us="per ac", metric="per ha", factor=1 / HA_PER_AC)
PER_BUSHEL = Unit(us="1000/bu", metric="1000/t", factor=1000 / (LB_PER_BU_CORN * KG_PER_LB))
DEGREES = Unit(us="degrees", metric="degrees")
OF_PLANTS = Unit(us="of 20", metric="of 20")
COUNT = Unit(us="", metric="")
