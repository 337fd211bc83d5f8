"""How a season's pages show who writes them; a grower may have a look of his own."""

from dataclasses import dataclass, fields

PLAIN_INK, PAPER = "#1a1a1a", "#ffffff"
LEAST_CONTRAST = 4.5  # of words; W3C 2023, Web Content Accessibility Guidelines 2.2, 1.4.3
_SRGB_KNEE = 0.04045


@dataclass(frozen=True, kw_only=True)
class Look:
    """What ``season.toml`` sets under ``[look]`` or for one grower; None where it sets nothing.

    ``house`` is a name to stand above every page, ``logo`` the file name of a picture beside
    ``season.toml``, ``ink`` the colour of headings as ``#rrggbb``, and ``footer`` a line under
    every sheet.
    """

    house: str | None = None
    logo: str | None = None
    ink: str | None = None
    footer: str | None = None

    def over(self, other: "Look") -> "Look":
        """Return this look, with what it leaves open taken from another."""
        both = ((one.name, getattr(self, one.name)) for one in fields(self))
        return Look(**{name: own or getattr(other, name) for name, own in both})


def contrast(one: str, two: str) -> float:
    """Return the contrast of two colours, 1 to 21, as WCAG 2.2 defines it.

    Parameters
    ----------
    one, two
        Colours as ``#rrggbb``.

    Notes
    -----
    (light + 0.05) / (dark + 0.05) of their relative luminances. W3C 2023, Web Content
    Accessibility Guidelines 2.2, section 6, "contrast ratio".
    """
    dark, light = sorted((_luminance(one), _luminance(two)))
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= _SRGB_KNEE else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
