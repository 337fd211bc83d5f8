"""Amounts in the reader's units, rounded to what the sample supports."""

from dataclasses import dataclass
from datetime import date

from fieldbook.agronomy.ranges import DayRange
from fieldbook.figures import Value
from fieldbook.units import (
    AREA,
    BUSHELS,
    EAR_LENGTH,
    HEAT,
    KG_PER_LB,
    LB_PER_BU_CORN,
    PER_AREA,
    ROW_WIDTH,
    TEMPERATURE,
    YIELD,
    System,
)
from fieldbook.words import day_words, number_words, say

_GRAMS_A_BUSHEL = LB_PER_BU_CORN * KG_PER_LB * 1000


def rough_yield(shown: float, units: System) -> float:
    """Round a yield in the reader's unit to what a sample supports: 5 bu/ac or half a tonne."""
    step = 0.5 if units is System.METRIC else 5.0
    return step * round(shown / step)


@dataclass(frozen=True, kw_only=True)
class Amounts:
    """Writes stored amounts for one reader."""

    units: System
    language: str = "en"

    @property
    def metric(self) -> bool:
        """Whether the reader uses metric units."""
        return self.units is System.METRIC

    def area(self, acres: float) -> str:
        """Write an area, for example ``62 ac``."""
        shown = f"{AREA.shown(acres, self.units):,.1f}".removesuffix(".0")
        return f"{shown} {AREA.label(self.units, self.language)}"

    def row_width(self, width_in: float) -> str:
        """Write a row width, for example ``30 in``."""
        shown = round(ROW_WIDTH.shown(width_in, self.units), 1)
        return f"{number_words(shown)} {ROW_WIDTH.label(self.units, self.language)}"

    def yield_number(self, yield_bu_ac: float) -> str:
        """Write a yield without its unit: whole bushels, or tenths of a tonne."""
        return f"{YIELD.shown(yield_bu_ac, self.units):,.{self._digits}f}"

    def yield_range(self, pair: tuple[float, float]) -> str:
        """Write a range of yields without its unit, for example ``155 to 205``."""
        low, high = map(self.yield_number, pair)
        return self.span(low, high)

    def rough_range(self, pair: tuple[float, float]) -> str:
        """Write a range of yields to the nearest 5 bu/ac, or half tonne a hectare."""
        return self.span(*self.rough_numbers(pair))

    def rough_numbers(self, pair: tuple[float, float]) -> tuple[str, str]:
        """Write both ends of `rough_range` without its unit."""
        low, high = (f"{end:,.{self._digits}f}" for end in self.rough_ends(pair))
        return low, high

    def rough_ends(self, pair: tuple[float, float]) -> tuple[float, float]:
        """Round a range of yields [bu/ac] for `rough_range`, in the reader's unit."""
        low, high = (rough_yield(YIELD.shown(end, self.units), self.units) for end in pair)
        return low, high

    @property
    def yield_unit(self) -> str:
        """The unit of a yield, short."""
        return YIELD.label(self.units, self.language)

    @property
    def yield_words(self) -> str:
        """The unit of a yield as it is spoken."""
        return say("tonnes a hectare" if self.metric else "bushels an acre", self.language)

    def grain(self, bushels: float) -> str:
        """Write an amount of grain without its unit, to about two good digits."""
        shown = BUSHELS.shown(bushels, self.units)
        step = self._grain_step(shown)
        return f"{step * round(shown / step):,.0f}"

    @property
    def grain_unit(self) -> str:
        """The unit of an amount of grain."""
        return BUSHELS.label(self.units, self.language)

    def per_area(self, per_ac: float | None) -> str:
        """Write plants or ears an area, to the nearest hundred; a dash where not counted."""
        if per_ac is None:
            return "–"
        return f"{100 * round(PER_AREA.shown(per_ac, self.units) / 100):,}"

    @property
    def per_area_unit(self) -> str:
        """The unit of plants an area."""
        return PER_AREA.label(self.units, self.language)

    def length(self, inches: float) -> str:
        """Write a short length with its unit, to a tenth."""
        if self.metric:
            shown = number_words(round(EAR_LENGTH.shown(inches, self.units), 1))
            return f"{shown} {EAR_LENGTH.label(self.units, self.language)}"
        shown = number_words(round(inches, 1))
        return say("{count} inch" if shown == "1" else "{count} inches", self.language, count=shown)

    def heat(self, gdd_f: float) -> str:
        """Write heat units, whole."""
        degree = "°C" if self.metric else "°F"
        return f"{HEAT.shown(gdd_f, self.units):,.0f} GDD ({degree})"

    def temperature(self, degrees_f: float) -> str:
        """Write a temperature, whole, for example ``95 °F``."""
        degree = "°C" if self.metric else "°F"
        return f"{TEMPERATURE.shown(degrees_f, self.units):.0f} {degree}"

    def kernel_weights(self, thousand_kernels_per_bu: tuple[float, float, float]) -> str:
        """Write the three kernel weights: thousand kernels a bushel, or g per 1,000 kernels."""
        light, likely, heavy = sorted(thousand_kernels_per_bu, reverse=True)
        if self.metric:
            grams = [f"{_GRAMS_A_BUSHEL / kernels:.0f}" for kernels in (light, likely, heavy)]
            text = "{0} to {2} g per 1,000 kernels, likely {1}"
            return say(text, self.language).format(*grams)
        counts = [number_words(round(kernels, 1)) for kernels in (heavy, likely, light)]
        text = "{0} to {2} thousand kernels in a bushel, likely {1}"
        return say(text, self.language).format(*counts)

    def span(self, low: str, high: str) -> str:
        """Join two ends, for example ``175 to 205``; one end where they read alike."""
        return low if low == high else say("{low} to {high}", self.language, low=low, high=high)

    def day(self, day: date) -> str:
        """Write a day, for example ``Tue 22 July``."""
        return day_words(day, self.language)

    def full_day(self, day: date) -> str:
        """Write a day with its year, for example ``Tue 22 July 2026``."""
        return day_words(day, self.language, "EEE d MMMM y")

    def short_day(self, day: date) -> str:
        """Write a day in few letters, for narrow columns, for example ``Tue 22 Jul``."""
        return day_words(day, self.language, "EEE d MMM")

    def within(self, found: DayRange) -> str:
        """Write when something fell, for example ``on a day from 8 to 15 July``; open ends too.

        Empty where both ends are open.
        """
        first, last = found.earliest, found.latest
        if first and last:
            text = "on {days}" if first == last else "on a day from {days}"
            return say(text, self.language, days=self.days(first, last))
        if last:
            return say("by {day}", self.language, day=self.day(last))
        return say("not before {day}", self.language, day=self.day(first)) if first else ""

    def days(self, first: date, last: date, *, month: str = "MMMM") -> str:
        """Write a range of days, for example ``17 to 24 August``; ``MMM`` makes the month short."""
        if first == last:
            return self.day(first)
        same = (first.year, first.month) == (last.year, last.month)
        pattern = "d MMM" if month == "MMM" else "d MMMM"
        start = day_words(first, self.language, "d" if same else pattern)
        end = day_words(last, self.language, pattern)
        return say("{start} to {end}", self.language, start=start, end=end)

    @property
    def _digits(self) -> int:
        return 1 if self.metric else 0

    def _grain_step(self, shown: float) -> int:
        large = 200 if self.metric else 2000
        small_step = 1 if self.metric else 10
        return small_step if shown < large else small_step * 10


def count_words(count: float | None, digits: int = 0) -> str:
    """Write a count, or a dash where nobody counted."""
    return "–" if count is None else f"{count:,.{digits}f}"


def pct_range(low: float, high: float, language: str) -> str:
    """Write a range of shares [%], kept within 0 and 100, for example ``74 to 95 %``."""
    first, last = (f"{min(100.0, max(0.0, end)):.0f}" for end in (low, high))
    text = "{first} %" if first == last else "{first} to {last} %"
    return say(text, language, first=first, last=last)


def value_words(value: Value) -> str:
    """Write a figure's value, one number or a row of them."""
    values = value if isinstance(value, tuple) else (value,)
    return ", ".join(number_words(float(f"{one:.4g}")) for one in values)
