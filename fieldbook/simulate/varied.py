"""Fields at random, as different as fields are: for tests that need many."""

import random
from collections.abc import Callable, Mapping
from datetime import date, timedelta

from fieldbook.simulate.place import HYBRIDS, YEAR, Plot, Trouble, roster_row

_TROUBLED = 0.6  # share of fields with a trouble of their own
_Make = Callable[[random.Random], Trouble]

_TROUBLES: Mapping[str, _Make] = {
    "thin soil": lambda draw: Trouble(
        soil_in=draw.uniform(3.5, 6.0), rain_share=draw.uniform(0.5, 0.9)
    ),
    "pollen late": lambda draw: Trouble(pollen_late_d=draw.uniform(6, 12)),
    "silks clipped": lambda draw: Trouble(clipping=draw.uniform(0.1, 0.45), beetles="japanese"),
    "nitrogen short": lambda draw: Trouble(nitrogen_short=draw.uniform(0.3, 1.0)),
    "one-sided": lambda draw: Trouble(one_sided=draw.uniform(0.2, 0.6)),
    "thin stand": lambda draw: Trouble(barren=draw.uniform(0.03, 0.15)),
}


def random_plot(number: int, seed: str) -> Plot:
    """Make a varied field; the same number and seed make the same one."""
    draw = random.Random(f"{seed}/plot/{number}")
    name, trouble = _trouble(draw)
    hybrid = draw.choice(tuple(HYBRIDS))
    planted = date(YEAR, 4, 22) + timedelta(days=draw.randrange(30))
    return Plot(
        row=roster_row(
            f"Y{number:03}",
            grower_id="G99",
            grower="No one",
            field=f"Field {number}",
            acres=round(draw.uniform(18, 160)),
            row_width_in=draw.choice((20.0, 30.0, 30.0, 30.0, 36.0)),
            planted=planted,
            hybrid=hybrid,
        ),
        story=name,
        stand_per_ac=draw.uniform(23000, 35500),
        rows_around=draw.choice((14, 16, 16, 16, 18)),
        rings=draw.randrange(34, 45),
        kernel_mg=draw.uniform(270, 340),
        spread_between_stops=draw.uniform(0.04, 0.16),
        trouble=trouble,
    )


def _trouble(draw: random.Random) -> tuple[str, Trouble]:
    if draw.random() > _TROUBLED:
        return "no trouble of its own", Trouble()
    name = draw.choice(tuple(_TROUBLES))
    return name, _TROUBLES[name](draw)
