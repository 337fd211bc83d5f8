"""Results with fewer pictures, for reports that would outgrow their paper."""

from collections.abc import Iterator
from dataclasses import replace

from fieldbook.report.photos import chosen
from fieldbook.results.result import FieldResult

_A_PAIR = 2


def fewer_pictures(result: FieldResult) -> Iterator[FieldResult]:
    """Give results with ever fewer pictures.

    All; no curve of heat; no map of stops either; and two photos at most, then none.
    """
    yield result
    if result.heat_curve:
        result = replace(result, heat_curve=None)
        yield result
    stops = tuple(replace(stop, latitude=None, longitude=None) for stop in result.stops)
    if stops != result.stops:
        result = replace(result, stops=stops)
        yield result
    photos = chosen(result.photos)
    for fewer in (_A_PAIR, 0):
        if len(photos) > fewer:
            yield replace(result, photos=photos[:fewer])
