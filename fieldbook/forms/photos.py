"""The Photos sheet: a few pictures of a field, each in its own row, with a remark."""

from dataclasses import dataclass

from fieldbook.schema import Kind, Limits, Sheet, key, printed, text, whole

PHOTOS_A_FIELD = 4


@dataclass(frozen=True, kw_only=True)
class Photo:
    """What is said of one picture."""

    field_id: str = key("Field", width=8)
    photo: int = key("Photo", kind=Kind.WHOLE, width=7)
    picture: str | None = printed("Picture", width=40)
    at_stop: int | None = whole(
        "At stop",
        width=9,
        limits=Limits(least=1, most=60, why="stops are numbered from 1"),
        help="The stop where you took it. Leave empty if it was elsewhere.",
    )
    remark: str | None = text("What it shows", width=40, help="A few words for the grower.")


PHOTOS = Sheet(
    name="photos",
    label="Photos",
    hint="Put each picture into its row. Four a field are plenty; 20 MB a book at most.",
    record=Photo,
    pictures=True,
)
