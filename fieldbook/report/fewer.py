"""Results without the pictures that only explain, for reports that would outgrow their paper."""

from collections.abc import Iterator
from dataclasses import replace

from fieldbook.season.result import FieldResult


def fewer_pictures(result: FieldResult) -> Iterator[FieldResult]:
    """Give results with ever fewer pictures: all, no curve of heat, no map of stops either."""
    yield result
    if result.heat_curve:
        result = replace(result, heat_curve=None)
        yield result
    stops = tuple(replace(stop, latitude=None, longitude=None) for stop in result.stops)
    if stops != result.stops:
        yield replace(result, stops=stops)
