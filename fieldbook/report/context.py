"""What a report needs to know beside the results of its field."""

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from fieldbook.report.look import Looks, PageLook, season_looks
from fieldbook.season.season import Season
from fieldbook.settings.figures import season_figures
from fieldbook.units import System

if TYPE_CHECKING:
    from fieldbook.figures import Figures


PAPERS = ("letter", "a4")


@dataclass(frozen=True, kw_only=True)
class ReportContext:
    """How the pages of a season are written.

    ``paper`` is ``letter`` or ``a4``; ``signature`` names who sends the report. ``look`` is how
    they show it. ``photos`` is the folder that holds the photos of results; without it, pages
    have none. Where ``is_tight``, what only explains is set smaller.

    Raises
    ------
    ValueError
        For a paper that we do not know.
    """

    paper: str = "letter"
    language: str = "en"
    units: System = System.US
    signature: str | None = None
    look: PageLook = field(default_factory=PageLook)
    photos: Path | None = None
    is_tight: bool = False
    figures: "Figures"

    def __post_init__(self) -> None:
        if self.paper not in PAPERS:
            raise ValueError(f"no paper '{self.paper}': use {' or '.join(PAPERS)}")


def report_context(season: Season, looks: Looks | None = None) -> ReportContext:
    """Return what the pages need beside a field's results; `looks` saves reading them anew."""
    settings = season.settings
    return ReportContext(
        paper=settings.paper,
        language=settings.language,
        units=settings.units,
        signature=settings.sender,
        look=(looks or season_looks(season)).own,
        photos=season.folder.photos,
        figures=season_figures(settings),
    )
