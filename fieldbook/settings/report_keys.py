"""The keys of ``season.toml`` about reports: who signs, how they look, what photos keep."""

from fieldbook.settings.rules import (
    INK,
    PICTURE_NAME,
    SHORT_TEXT,
    TEXT,
    YES_OR_NO,
)
from fieldbook.settings.shape import Key, Section

REPORT = Section(
    name="report",
    comment="Reports.",
    keys=(
        Key(
            name="sender",
            rule=TEXT,
            comment="Who signs the reports: a name, a firm, a phone number.",
            example='"Your name, your firm"',
        ),
    ),
)
LOOK = Section(
    name="look",
    comment="How reports look.",
    keys=(
        Key(
            name="house",
            attribute="look.house",
            rule=SHORT_TEXT,
            comment="A name above every page, and a logo beside it: a .png or .jpg file that lies "
            "beside\nseason.toml.",
            example='"Your firm"',
        ),
        Key(name="logo", attribute="look.logo", rule=PICTURE_NAME, example='"logo.png"'),
        Key(
            name="ink",
            attribute="look.ink",
            rule=INK,
            comment="The colour of headings, dark enough for white paper. Drawings keep their own.",
            example='"#1f4e79"',
        ),
        Key(
            name="footer",
            attribute="look.footer",
            rule=SHORT_TEXT,
            comment="A line under every sheet.",
            example='"Call 555-0100 before you act on this page."',
        ),
    ),
)
PHOTOS = Section(
    name="photos",
    comment="Photos in books. Whatever a camera writes beside a picture is left behind.",
    keys=(
        Key(
            name="keep_position",
            attribute="keep_photo_position",
            rule=YES_OR_NO,
            default=False,
            comment="Whether the place where a photo was taken stays in it, for whoever gets a "
            "report.",
        ),
    ),
)
