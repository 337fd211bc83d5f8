"""An invented place: growers, fields, hybrids, scouts. None of them exists."""

from dataclasses import dataclass
from datetime import date

from fieldbook.forms.roster import RosterRow

NAME = "Marrow Creek"
YEAR = 2026
AS_OF = date(2026, 8, 10)
STATION = "marrow-creek"
FIRST_WEATHER_YEAR = 2018
SCOUTS = (("ana", "Ana Veldt"), ("joss", "Joss Pemberly"))


@dataclass(frozen=True, kw_only=True)
class Truth:
    """What grows in a field: means of its ears, and what went wrong there.

    Lengths of gaps are kernel places along a row; ``ears`` is per 1/1000 ac.
    """

    ears: float
    rows_around: int
    places: float
    base_gap: float = 0.4
    inside_gap: float = 0.0
    tip_unset: float = 2.0
    tip_aborted: float = 1.5
    spread_between_stops: float = 0.05


@dataclass(frozen=True, kw_only=True)
class Plot:
    """A field as the roster has it, and its truth."""

    row: RosterRow
    truth: Truth


@dataclass(frozen=True, kw_only=True)
class _Hybrid:
    name: str
    maturity: float
    silk: float | None = None
    ripe: float | None = None


_LARKSPUR = _Hybrid(name="Larkspur 108", maturity=108, silk=1330, ripe=2590)
_QUILLON = _Hybrid(name="Quillon 112", maturity=112, silk=1385, ripe=2700)
_TAMSIN = _Hybrid(name="Tamsin 104", maturity=104)


def _row(
    field_id: str,
    field: str,
    grower: tuple[str, str],
    acres: float,
    hybrid: _Hybrid,
    planted: date,
    **more: object,
) -> RosterRow:
    made: dict[str, object] = {
        "row_width_in": 30.0,
        "use": "grain",
        "scout": "ana",
        "station": STATION,
        **more,
    }
    return RosterRow(
        grower_id=grower[0],
        grower=grower[1],
        field_id=field_id,
        field=field,
        acres=acres,
        planted=planted,
        hybrid=hybrid.name,
        relative_maturity=hybrid.maturity,
        silk_gdd_f=hybrid.silk,
        black_layer_gdd_f=hybrid.ripe,
        **made,  # type: ignore[arg-type]
    )


_OAKES = ("G01", "Halvard Oakes")
_TOLLIVER = ("G02", "Ines Tolliver")
_BRANDVOLD = ("G03", "Rudi Brandvold")

PLOTS = (
    Plot(
        row=_row(
            "D14",
            "Creek bottom",
            _OAKES,
            62,
            _LARKSPUR,
            date(2026, 4, 29),
            previous_crop="soybeans",
            latitude=41.73120,
            longitude=-93.60210,
            own_average_bu_ac=192.0,
        ),
        truth=Truth(ears=30.5, rows_around=16, places=39, tip_unset=1.4, tip_aborted=2.4),
    ),
    Plot(
        row=_row(
            "D15",
            "Schoolhouse eighty",
            _OAKES,
            78,
            _QUILLON,
            date(2026, 5, 2),
            previous_crop="corn",
            latitude=41.74410,
            longitude=-93.58850,
            own_average_bu_ac=188.0,
            sprayed_on=date(2026, 7, 24),
            product="(from the label)",
            reentry_ends=date(2026, 7, 26),
        ),
        truth=Truth(ears=29.0, rows_around=16, places=40, tip_unset=8.5, tip_aborted=1.0),
    ),
    Plot(
        row=_row("T03", "North bench", _TOLLIVER, 41, _TAMSIN, date(2026, 5, 6)),
        truth=Truth(ears=27.5, rows_around=14, places=38, base_gap=6.2, tip_unset=1.8),
    ),
    Plot(
        row=_row("T04", "Cemetery corner", _TOLLIVER, 24, _TAMSIN, date(2026, 5, 19), scout="joss"),
        truth=Truth(
            ears=26.0,
            rows_around=16,
            places=34,
            tip_aborted=6.5,
            tip_unset=2.5,
            spread_between_stops=0.13,
        ),
    ),
    Plot(
        row=_row(
            "B21",
            "Long quarter",
            _BRANDVOLD,
            118,
            _LARKSPUR,
            date(2026, 4, 25),
            scout="joss",
            own_average_bu_ac=201.0,
            irrigated="yes",
        ),
        truth=Truth(ears=32.0, rows_around=16, places=41, tip_unset=0.8, tip_aborted=1.6),
    ),
    Plot(
        row=_row(
            "B22",
            "Behind the elevator road",
            _BRANDVOLD,
            36,
            _QUILLON,
            date(2026, 5, 23),
            scout="joss",
        ),
        truth=Truth(ears=28.0, rows_around=16, places=39),
    ),
)
