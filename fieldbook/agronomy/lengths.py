"""Lengths of row, areas, ears per acre from a count along a length, and ways between places."""

from math import asin, cos, floor, radians, sin, sqrt

SQ_FT_PER_AC = 43_560
"""A definition, not a setting."""
FT_PER_DEGREE = 364_567.2
"""Feet in a degree of latitude; one of longitude shrinks with the cosine of the latitude."""
_IN_PER_FT = 12
_EARTH_RADIUS_MILES = 3958.8


def row_length_ft(row_width_in: float) -> float:
    """Return the length of one row that covers 1/1000 acre [ft].

    ``43560 / 1000 / (row width in ft)``, source `extension-yield`.

    Raises
    ------
    ValueError
        If the row width is not above zero.
    """
    return SQ_FT_PER_AC / 1000 / (_above_zero(row_width_in, "row width") / _IN_PER_FT)


def row_length_m(row_width_m: float) -> float:
    """Return the length of one row that covers 1/1000 hectare [m]: ``10 / row width``.

    Raises
    ------
    ValueError
        If the row width is not above zero.
    """
    return 10 / _above_zero(row_width_m, "row width")


def per_acre(count: float, length_ft: float, row_width_in: float) -> float:
    """Return plants or ears per acre from a count along any length of one row.

    Parameters
    ----------
    count
        What was counted.
    length_ft
        Measured length of row [ft]; over several rows, their lengths together.
    row_width_in
        Distance between rows [in].

    Raises
    ------
    ValueError
        If the length or the row width is not above zero, or the count is negative.
    """
    if count < 0:
        raise ValueError("a count cannot be negative")
    area_sq_ft = _above_zero(length_ft, "length") * row_width_in / _IN_PER_FT
    return count * SQ_FT_PER_AC / _above_zero(area_sq_ft, "row width")


def harvested_ac(rows: float, passes: float, length_ft: float, row_width_in: float) -> float:
    """Return the area of a harvested strip [ac], source `wisconsin-yield`."""
    return rows * passes * length_ft * (row_width_in / _IN_PER_FT) / SQ_FT_PER_AC


def feet_and_inches(length_ft: float) -> tuple[int, int]:
    """Return a length to the nearest inch as whole feet and the inches beside them [ft, in]."""
    return divmod(floor(length_ft * _IN_PER_FT + 0.5), _IN_PER_FT)


def miles_between(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Return the great-circle distance of two (latitude, longitude) pairs [miles].

    Haversine formula on a sphere of 3,958.8 miles radius.
    """
    lat_a, lon_a, lat_b, lon_b = (radians(angle) for angle in (*a, *b))
    half = sin((lat_b - lat_a) / 2) ** 2 + cos(lat_a) * cos(lat_b) * sin((lon_b - lon_a) / 2) ** 2
    return 2 * _EARTH_RADIUS_MILES * asin(min(1.0, sqrt(half)))


def _above_zero(value: float, what: str) -> float:
    if not value > 0:
        raise ValueError(f"{what} must be above zero")
    return value
