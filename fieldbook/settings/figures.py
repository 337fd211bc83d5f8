"""The figures of a season: the shipped ones with what season.toml sets."""

from fieldbook.figures import Figures, shipped_figures
from fieldbook.settings.settings import Settings


def season_figures(settings: Settings) -> Figures:
    """Return the figures that this season computes with."""
    return shipped_figures().changed(settings.figures)
