"""Photos in a season: kept by hash, told by events, replayed, replaced by others and never lost."""

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from photographs import HEAD, HERE, photo_book, picture, sent
from PIL import Image
from seasons import NOW

from fieldbook.export.as_json import results_json
from fieldbook.ledger.events import book_events
from fieldbook.ledger.ledger import Ledger
from fieldbook.results.looks_result import PhotoResult
from fieldbook.results.results import season_results
from fieldbook.season.doctor import checkup
from fieldbook.season.intake import take_in
from fieldbook.season.rebuild import rebuild
from fieldbook.season.season import Season, open_season
from fieldbook.season.taken import Taken
from fieldbook.settings.fresh import settings_text
from fieldbook.workbook.plan import LaidPicture

SAID = {
    **HEAD,
    ("photos", ("A1", 1), "remark"): "Silks clipped short",
    ("photos", ("A1", 1), "at_stop"): 2,
}


def take(season: Season, name: str, data: bytes) -> Taken:
    """Take one book in."""
    (taken,) = take_in(season, [sent(season, name, data)], now=NOW)
    return taken


def photos(season: Season) -> tuple[PhotoResult, ...]:
    """Return the photos of field A1."""
    return season_results(season, as_of=date(2026, 8, 20)).fields[0].photos


def kept(season: Season) -> set[str]:
    """Return the names of what lies among the kept photos."""
    return {path.name for path in season.folder.photos.glob("*")}


def dump(season: Season) -> list[str]:
    """Return the whole ledger."""
    with Ledger(season.folder) as ledger:
        return list(ledger.dump())


def test_photos_are_kept_by_hash_with_their_words(season: Season) -> None:
    """Row, stop, remark, scout and day come with the picture."""
    taken = take(season, "a.xlsx", photo_book(season, {1: picture()}, SAID))
    assert taken.accepted
    (photo,) = photos(season)
    assert (photo.photo, photo.stop, photo.remark) == (1, 2, "Silks clipped short")
    assert (photo.scout, photo.day) == ("Ana", date(2026, 8, 12))
    assert kept(season) == {f"{photo.sha256}.jpg"}
    assert checkup(season.folder.path).problems == ()


def test_the_ledger_of_photos_is_a_replay_of_the_events(season: Season) -> None:
    """A rebuilt ledger has the same photos, those replaced among them."""
    first = photo_book(season, {1: picture(), 2: picture(shade=80)}, SAID)
    second = photo_book(season, {1: picture(shade=200)}, SAID)
    take(season, "a.xlsx", first)
    take(season, "b.xlsx", second)
    before = dump(season)
    assert any(row.startswith("photos:") for row in before)
    assert rebuild(season.folder) == (2, [])
    assert dump(season) == before


def test_a_book_without_pictures_takes_none_away(season: Season) -> None:
    """Correction books carry none, and some apps lose them; words may still be mended."""
    first = photo_book(season, {1: picture()}, SAID)
    mended = {**SAID, ("photos", ("A1", 1), "remark"): "Silks clipped by beetles"}
    second = photo_book(season, {}, mended)
    take(season, "a.xlsx", first)
    take(season, "b.xlsx", second)
    (photo,) = photos(season)
    assert photo.remark == "Silks clipped by beetles"


def test_a_second_copy_brings_the_photos_that_had_no_room(season: Season) -> None:
    """Photos too large for one file come in two copies of the book, each in rows of its own."""
    take(season, "a.xlsx", photo_book(season, {1: picture()}, SAID))
    second = take(season, "b.xlsx", photo_book(season, {2: picture(shade=90)}, SAID))
    assert second.accepted
    assert second.open_problems == ()
    assert [photo.photo for photo in photos(season)] == [1, 2]


def test_other_pictures_in_a_row_replace_those_before(season: Season) -> None:
    """A newer book's picture of a row is shown; other rows keep theirs, and all stay kept."""
    older = photo_book(season, {1: picture(), 2: picture(shade=80)}, SAID)
    later = photo_book(season, {1: picture(shade=200)}, SAID)
    take(season, "a.xlsx", older)
    first, second = photos(season)
    take(season, "b.xlsx", later)
    newer, same = photos(season)
    assert newer.sha256 != first.sha256
    assert same == second
    assert len(kept(season)) == 3


def test_the_same_pictures_again_change_nothing(season: Season) -> None:
    """A book that comes back with one more reading brings no second copy."""
    first, again = (photo_book(season, {1: picture()}, said) for said in (HEAD, SAID))
    take(season, "a.xlsx", first)
    before = [row for row in dump(season) if row.startswith("photos:")]
    take(season, "b.xlsx", again)
    assert [row for row in dump(season) if row.startswith("photos:")] == before


def test_a_book_of_nothing_but_a_photo_is_taken_in(season: Season) -> None:
    """Photos are worth keeping before a number is typed; the visit has no day yet."""
    taken = take(season, "a.xlsx", photo_book(season, {1: picture()}, {}))
    assert taken.accepted
    (photo,) = photos(season)
    assert photo.day is None


def test_an_unreadable_picture_is_told_and_the_book_is_taken_in(season: Season) -> None:
    """The place names the row, and something is to be looked at."""
    laid = LaidPicture(data=picture()[:1500])
    taken = take(season, "a.xlsx", photo_book(season, {1: laid}, SAID))
    assert taken.accepted
    assert taken.needs_a_look
    assert [found.code for found in taken.open_problems] == ["photo-unreadable"]
    assert photos(season) == ()


@pytest.mark.parametrize("keeps", [True, False])
def test_the_place_stays_only_where_the_season_says_so(season: Season, keeps: bool) -> None:
    """The setting is written, read back and obeyed."""
    settings = replace(season.settings, keep_photo_position=keeps)
    season.folder.settings.write_text(settings_text(settings), "utf-8")
    opened, problems = open_season(season.folder.path)
    assert opened is not None, problems
    take(opened, "a.xlsx", photo_book(opened, {1: picture(place=HERE)}, SAID))
    (name,) = kept(opened)
    with Image.open(opened.folder.photos / name) as photo:
        assert bool(photo.getexif().get_ifd(0x8825)) is keeps


def test_a_setting_that_is_neither_yes_nor_no_is_told(season: Season) -> None:
    """A word in quotes is not taken for yes."""
    text = season.folder.settings.read_text("utf-8")
    bad = text.replace("keep_position = false", 'keep_position = "no"')
    assert bad != text
    season.folder.settings.write_text(bad, "utf-8")
    assert open_season(season.folder.path)[0] is None


def test_a_lost_or_changed_photo_is_told_and_the_rest_stands(season: Season) -> None:
    """The doctor names it; a rebuild goes on, since no reading hangs on a picture."""
    take(season, "a.xlsx", photo_book(season, {1: picture(), 2: picture(shade=80)}, SAID))
    first, second = sorted(season.folder.photos.glob("*.jpg"))
    first.unlink()
    second.write_bytes(b"other")
    told = [found.code for found in checkup(season.folder.path).problems]
    assert told == ["kept-photo-damaged"] * 2
    events, problems = rebuild(season.folder)
    assert (events, len(problems)) == (1, 2)
    assert len(photos(season)) == 2


def test_a_photo_of_no_event_is_told(season: Season) -> None:
    """A command killed before its event leaves one; it does no harm."""
    take(season, "a.xlsx", photo_book(season, {1: picture()}, SAID))
    (season.folder.photos / "spare.jpg").write_bytes(b"x")
    assert [found.code for found in checkup(season.folder.path).problems] == ["kept-photo-spare"]


def test_events_of_before_have_no_photos(season: Season) -> None:
    """An event file without the key is read as before."""
    take(season, "a.xlsx", photo_book(season, {1: picture()}, SAID))
    (path,) = season.folder.events.glob("*.json")
    raw = json.loads(path.read_text("utf-8"))
    del raw["photos"]
    path.write_text(json.dumps(raw), "utf-8")
    (event,) = book_events(season.folder)
    assert event.verdict.photos == ()


def test_the_json_names_the_photos(season: Season, tmp_path: Path) -> None:
    """Machines learn the hash under which each is kept."""
    take(season, "a.xlsx", photo_book(season, {1: picture()}, SAID))
    day = date(2026, 8, 20)
    fields = season_results(season, as_of=day).fields
    told = json.loads(results_json(fields, as_of=day, language="en"))["fields"][0]["photos"]
    assert [one["sha256"] for one in told] == [one.sha256 for one in photos(season)]
