"""The look of a season's pages, ready to be written into them: name, logo, ink, footer."""

import base64
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from fieldbook.problems import Problem, problem
from fieldbook.season.season import Season
from fieldbook.settings.look import PLAIN_INK, Look
from fieldbook.words import Phrase, phrase
from fieldbook.workbook.photo import MAX_BOOK_PIXELS, ready_photo

MAX_LOGO_BYTES = 3_000_000


@dataclass(frozen=True, kw_only=True)
class Logo:
    """A logo whose address holds the picture itself."""

    address: str
    width_px: int
    height_px: int


@dataclass(frozen=True, kw_only=True)
class PageLook:
    """How a page shows who writes it."""

    house: str = ""
    logo: Logo | None = None
    ink: str = PLAIN_INK
    footer: str = ""


@dataclass(frozen=True, kw_only=True)
class Looks:
    """The season's own look, those of some growers by grower ID, and what could not be shown."""

    own: PageLook
    growers: Mapping[str, PageLook] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()

    def of(self, grower_id: str) -> PageLook:
        """Return the look of a grower's pages."""
        return self.growers.get(grower_id, self.own)


def season_looks(season: Season) -> Looks:
    """Read the looks of a season; a logo that can't be shown is left out and told."""
    settings = season.settings
    wanted = {one.grower_id: one.look.over(settings.look) for one in settings.growers}
    files = {look.logo for look in (settings.look, *wanted.values()) if look.logo}
    read = {name: _logo(season.folder.path / name) for name in sorted(files)}
    logos = {name: logo for name, logo in read.items() if isinstance(logo, Logo)}
    return Looks(
        own=_page_look(settings.look, logos),
        growers={grower_id: _page_look(look, logos) for grower_id, look in wanted.items()},
        problems=tuple(
            problem("season-logo", file_name=name, why=why)
            for name, why in read.items()
            if isinstance(why, Phrase)
        ),
    )


def _page_look(look: Look, logos: Mapping[str, Logo]) -> PageLook:
    return PageLook(
        house=look.house or "",
        logo=logos.get(look.logo or ""),
        ink=look.ink or PLAIN_INK,
        footer=look.footer or "",
    )


def _logo(path: Path) -> Logo | Phrase:
    """Read a logo, or say why it can't be shown."""
    try:
        if path.stat().st_size > MAX_LOGO_BYTES:
            return phrase("it is larger than 3 MB")
        data = path.read_bytes()
    except OSError:
        return phrase("there is no such file")
    return _ready(data) or phrase("it is no picture that can be read here")


@cache
def _ready(data: bytes) -> Logo | None:
    made = ready_photo(data, 0, keep_position=False, left=MAX_BOOK_PIXELS).photo
    if made is None:
        return None
    coded = base64.b64encode(made.data).decode("ascii")
    return Logo(
        address=f"data:image/jpeg;base64,{coded}",
        width_px=made.width_px,
        height_px=made.height_px,
    )
