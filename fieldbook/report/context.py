"""What a report needs to know beside the results of its field."""

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from fieldbook.report.look import PageLook
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
