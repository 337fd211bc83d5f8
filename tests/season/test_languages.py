"""Whose language is used where: the season's, a scout's own, a grower's own."""

from seasons import with_lines

from fieldbook.season.season import Season


def test_a_grower_in_the_settings_whom_the_roster_does_not_know_is_told(season: Season) -> None:
    """A name written otherwise would leave the pages in the season's language without a word."""
    found = [one.code for one in with_lines(season, '[growers.G77]\nlanguage = "es"\n').problems]
    assert "season-grower-unknown" in found
