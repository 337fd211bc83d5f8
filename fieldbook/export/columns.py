"""The columns of the tables that leave a season: each with the words of the data dictionary.

What a book or the roster asks for is taken from its declaration; what is worked out is declared
in `fieldbook.export.worked` with the key under which the JSON has it.
"""

from dataclasses import dataclass
from enum import StrEnum

from fieldbook.schema import Choice, Column, Kind, Limits
from fieldbook.units import COUNT, DEGREES, HEAT, OF_PLANTS, PER_BUSHEL, System, Unit
from fieldbook.words import number_words, say

_ENDINGS = {
    COUNT: ("", ""),
    DEGREES: ("", ""),
    OF_PLANTS: ("", ""),
    HEAT: ("f", "c"),
    PER_BUSHEL: ("per_bu", "per_t"),
}
_SIGNS = str.maketrans({"/": "_", " ": "_", "%": "pct"})
_WIDEST = 34


class Origin(StrEnum):
    """Where the values of a column come from."""

    BOOK = "typed in a book"
    ROSTER = "roster"
    TAKEN_IN = "kept at intake"
    WORKED_OUT = "worked out"
    PROGRAM = "the program"


@dataclass(frozen=True, kw_only=True)
class TableColumn:
    """One column: ``unit`` holds stored values, a reader's are made from them at the edge.

    ``name`` ends with the stored unit where there is one. ``json_key`` is where the JSON of
    `results` has the same figure; empty where it has none.
    """

    name: str
    label: str
    kind: Kind
    meaning: str
    origin: Origin
    unit: Unit = COUNT
    limits: Limits | None = None
    choices: tuple[Choice, ...] = ()
    json_key: str = ""
    width: int = 11
    wrap: bool = False

    def name_in(self, system: System) -> str:
        """Return the name in files, which ends with the reader's unit."""
        ours, shown = (self._ending(one) for one in (System.US, system))
        bare = self.name.removesuffix(f"_{ours}") if ours else self.name
        bare = bare.replace("acres", "area")
        return f"{bare}_{shown}" if shown else bare

    def _ending(self, system: System) -> str:
        if self.unit in _ENDINGS:
            return _ENDINGS[self.unit][system is System.METRIC]
        return self.unit.label(system).translate(_SIGNS).lower()

    def head_in(self, system: System, language: str) -> str:
        """Return the head on a sheet, with the reader's unit."""
        label, unit = say(self.label, language), self.unit.label(system)
        return f"{label} ({say(unit, language)})" if unit else label

    def limits_words(self, system: System, language: str) -> str:
        """Say what a number may be and what is usual, in the reader's unit; empty: anything."""
        limits = self.limits
        if limits is None:
            return ""

        def shown(value: float, *, is_least: bool) -> str:
            return number_words(self.unit.shown_limit(value, system, is_least=is_least))

        said = say(
            "{least} to {most}",
            language,
            least=shown(limits.least, is_least=True),
            most=shown(limits.most, is_least=False),
        )
        if limits.usual_least is None and limits.usual_most is None:
            return said
        low = limits.least if limits.usual_least is None else limits.usual_least
        high = limits.most if limits.usual_most is None else limits.usual_most
        usual = say(
            "usually {low} to {high}",
            language,
            low=shown(low, is_least=True),
            high=shown(high, is_least=False),
        )
        return f"{said}; {usual}"

    def choices_words(self, language: str) -> str:
        """Say every value of a list: as files have it, and as a sheet shows it."""
        return "; ".join(f"{one.key} = {say(one.label, language)}" for one in self.choices)

    @property
    def letters(self) -> int:
        """The width on a sheet, in letters; a long head breaks into lines."""
        longest = max((len(choice.label) for choice in self.choices), default=0)
        word = max(len(word) for word in self.label.split())
        return min(max(self.width, longest + 1, word + 2), _WIDEST)


def declared(column: Column, origin: Origin, system: System) -> TableColumn:
    """Take over a column that a book or the roster declares."""
    nothing_said = "As the roster has it." if origin is Origin.ROSTER else "As the book has it."
    return TableColumn(
        name=column.name,
        label=column.label,
        kind=column.kind,
        meaning=column.help or nothing_said,
        origin=origin,
        unit=column.unit,
        limits=column.limits_in(system),
        choices=() if column.kind is Kind.TICK else column.choices,
        width=column.width + 2,
    )
