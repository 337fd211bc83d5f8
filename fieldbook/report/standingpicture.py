"""The words of the map of stops."""

from fieldbook.report.drawings.standing import Spot
from fieldbook.report.words import joined
from fieldbook.results.result import FieldResult
from fieldbook.words import say


def spots(result: FieldResult) -> tuple[Spot, ...]:
    """Return the stops of the latest count that have a place."""
    return tuple(
        Spot(
            stop=stop.stop,
            latitude=stop.latitude,
            longitude=stop.longitude,
            left_out=stop.left_out is not None,
        )
        for stop in result.stops
        if stop.latitude is not None and stop.longitude is not None
    )


def standing_caption(result: FieldResult, language: str) -> str:
    """Say what the map shows and how its places are known."""
    typed = [str(stop.stop) for stop in result.stops if stop.place_typed]
    known = say("Stops stand where the book sent the scout.", language)
    if typed:
        named = joined(typed, language)
        known = say(
            "Stops stand where the book sent the scout; at {stops} the scout typed the place.",
            language,
            stops=named,
        )
    if any(stop.left_out for stop in result.stops):
        return f"{known} {say('Hollow ones are left out of the yield.', language)}"
    return known
