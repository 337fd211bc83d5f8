"""A second run makes only what changed: by what a page is made of, and by what lies there."""

import json
from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from pathlib import Path

import pytest
from click.testing import CliRunner
from parts import need, pango_missing
from photographs import picture
from seasons import NOW, ROWS, good_visit, small_season, write_filled

from fieldbook.cli import main
from fieldbook.forms.roster import RosterRow
from fieldbook.problems import line, sentence
from fieldbook.report import build, plan_build
from fieldbook.report.build import write_reports
from fieldbook.report.made import MADE, Made, Output, Written
from fieldbook.report.plan_build import write_plan
from fieldbook.results.planning import season_plan
from fieldbook.results.results import each_result, season_results
from fieldbook.season.intake import take_in
from fieldbook.season.known import field_states, read_known
from fieldbook.season.season import Season, open_season
from fieldbook.units import System
from fieldbook.workbook.roster import write_roster

AS_OF = NOW.date()
A1, A2, B7 = "A1-long-eighty.html", "A2-short-forty.html", "B7-behind-the-barn.html"
PLAN = {"plan.json", "plan.xlsx"}
G1, G1_LETTER = "packet.G1.oda-fenwick.html", "letter.G1.oda-fenwick.html"


@pytest.fixture
def walked(tmp_path: Path) -> Season:
    """Make a season of two growers; one field was seen."""
    season = small_season(tmp_path / "season")
    enter(season, tmp_path / "first.xlsx", rows=16)
    return season


def enter(season: Season, path: Path, *, rows: int) -> None:
    entries = good_visit("A1")
    for key in [key for key in entries if key[2] == "rows_around"]:
        entries[key] = rows
    assert all(
        one.accepted for one in take_in(season, [write_filled(path, season, entries)], now=NOW)
    )


def run(season: Season, *, pdf: bool = False, **more: object) -> tuple[set[str], Written]:
    """Run as the command does; returns the files that were written, and the last word."""
    wanted: dict[str, object] = {"as_of": AS_OF, "field_id": None, "templates": None, **more}
    steps = list(write_reports(season, pdf=pdf, **wanted))  # type: ignore[arg-type]
    return {path.name for step in steps for path in step.paths}, steps[-1]


def files(season: Season) -> dict[str, int]:
    return {path.name: path.stat().st_mtime_ns for path in season.folder.reports.iterdir()}


def contents(season: Season) -> dict[str, bytes]:
    folders = (season.folder.reports, season.folder.plan)
    return {path.name: path.read_bytes() for folder in folders for path in folder.iterdir()}


def with_roster(season: Season, *rows: RosterRow) -> Season:
    assert season.folder.roster
    season.folder.roster.write_bytes(
        write_roster(rows, year=2026, units=System.US, language="en", paper="letter")
    )
    opened, problems = open_season(season.folder.path)
    assert opened, problems
    return opened


def test_one_run_makes_every_page(walked: Season) -> None:
    """Reports, packets, a letter for who has a seen field, board and plan; no harvest order yet."""
    made, last = run(walked)
    packet = next(name for name in made if name.startswith("packet.G2.tamar"))
    assert made == {A1, A2, B7, G1, G1_LETTER, packet, "board.html", *PLAN}
    assert last.unchanged == 0


def test_nothing_changed_nothing_is_written(walked: Season) -> None:
    """Not even the note; all is counted."""
    first, _ = run(walked)
    before = files(walked)
    made, last = run(walked)
    assert made == set()
    assert files(walked) == before
    assert last.unchanged == len(first)  # the plan has two files, the order of harvest none yet


def test_a_reading_renews_its_field_its_grower_and_the_board(
    walked: Season, tmp_path: Path
) -> None:
    """The other field of the grower and the other grower keep their pages."""
    run(walked)
    before = files(walked)
    enter(walked, tmp_path / "second.xlsx", rows=18)
    made, _ = run(walked)
    assert made == {A1, G1, G1_LETTER, "board.html", *PLAN}
    changed = {name for name, when in files(walked).items() if before.get(name) != when}
    assert changed == made - PLAN | {MADE}


def test_a_row_of_the_roster_renews_its_field_alone(walked: Season) -> None:
    """Acres of a field of the second grower."""
    run(walked)
    season = with_roster(walked, ROWS[0], ROWS[1], replace(ROWS[2], acres=25))
    made, _ = run(season)
    assert B7 in made
    assert not made & {A1, A2, G1, G1_LETTER}


def test_another_day_or_setting_renews_all(walked: Season) -> None:
    """Every page speaks of its day; settings count as a whole."""
    first, _ = run(walked)
    assert run(walked, as_of=AS_OF + timedelta(1))[0] == first
    run(walked)
    settings = walked.folder.settings
    settings.write_text(settings.read_text("utf-8").replace("Test season", "Other season"), "utf-8")
    opened, _ = open_season(walked.folder.path)
    assert opened
    assert run(opened)[0] == first


def test_another_logo_renews_the_pages_that_show_it(walked: Season) -> None:
    """The picture counts, not its name alone: one grower has his own."""
    words = walked.folder.settings.read_text("utf-8") + '\n[growers.G2]\nlogo = "farm.png"\n'
    walked.folder.settings.write_text(words, "utf-8")
    logo = walked.folder.path / "farm.png"
    logo.write_bytes(picture(shade=1))
    season, _ = open_season(walked.folder.path)
    assert season
    run(season)
    logo.write_bytes(picture(shade=2))
    made, _ = run(season)
    assert B7 in made
    assert not made & {A1, A2, G1, G1_LETTER, "board.html"}


def test_own_templates_renew_all_and_their_change_too(walked: Season, tmp_path: Path) -> None:
    """Put in, then left out again: each time every page is made anew."""
    first, _ = run(walked)
    own = tmp_path / "own"
    (own / "letter").mkdir(parents=True)
    (own / "letter" / "page.html.j2").write_text("mine, {{ page.grower }}")
    assert run(walked, templates=own)[0] == first
    assert (walked.folder.reports / G1_LETTER).read_text("utf-8") == "mine, Oda Fenwick"
    assert run(walked)[0] == first


def test_a_page_deleted_or_changed_by_hand_is_made_anew(walked: Season) -> None:
    """That one alone, as it was."""
    run(walked)
    kept = (walked.folder.reports / A2).read_bytes()
    (walked.folder.reports / A2).unlink()
    assert run(walked)[0] == {A2}
    assert (walked.folder.reports / A2).read_bytes() == kept
    (walked.folder.reports / G1).write_text("scribbled", "utf-8")
    assert run(walked)[0] == {G1}


def test_the_plan_is_laid_out_anew_with_the_board(walked: Season, tmp_path: Path) -> None:
    """For as many days as before; the board speaks of the new one at once, and then both stand."""
    plan = season_plan(walked, as_of=AS_OF, days=5)
    write_plan(walked, plan, pdf=False, templates=None)
    run(walked)
    enter(walked, tmp_path / "second.xlsx", rows=18)
    (walked.folder.plan / "plan.json").unlink()
    assert run(walked)[0] >= {"board.html", *PLAN}
    assert run(walked)[0] == set()
    write_plan(walked, plan, pdf=False, templates=None)
    later = AS_OF + timedelta(1)
    run(walked, as_of=later)
    kept = json.loads((walked.folder.plan / "plan.json").read_bytes())
    assert (kept["as_of"], kept["through"]) == (str(later), str(later + timedelta(4)))


def test_a_plan_that_somebody_wrote_into_is_not_lost(walked: Season) -> None:
    """It gets another name, once; a plan as it was written is simply written over."""
    plan = season_plan(walked, as_of=AS_OF, days=5)
    book = walked.folder.plan / "plan.xlsx"
    assert [write_plan(walked, plan, pdf=False, templates=None)[1] for _ in range(2)] == [(), ()]
    for number in (1, 2):
        book.write_bytes(b"Ana is away on Monday")
        _, told = write_plan(walked, plan, pdf=False, templates=None)
        assert [found.code for found in told] == ["plan-changed"]
        aside = walked.folder.plan / f"plan-changed-{number}.xlsx"
        assert sentence(told[0]).count(f"plan/{aside.name}") == 1
        assert aside.read_bytes() == b"Ana is away on Monday"
    assert write_plan(walked, plan, pdf=False, templates=None)[1] == ()
    book.write_bytes(b"nor on Tuesday")
    enter(walked, walked.folder.path / "second.xlsx", rows=18)
    steps = write_reports(walked, as_of=AS_OF, field_id=None, pdf=False, templates=None)
    assert [found.code for step in steps for found in step.problems].count("plan-changed") == 1


def test_a_plan_that_was_being_written_is_no_plan_that_somebody_wrote_into(
    walked: Season, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Killed between its two files, it is laid out again without a word."""
    write_plan(walked, season_plan(walked, as_of=AS_OF, days=5), pdf=False, templates=None)
    later = season_plan(walked, as_of=AS_OF + timedelta(3), days=5)
    with monkeypatch.context() as patched:
        patched.setattr(plan_build, "write_safely", killed)
        with pytest.raises(KeyboardInterrupt):
            write_plan(walked, later, pdf=False, templates=None)
    assert write_plan(walked, later, pdf=False, templates=None)[1] == ()


def killed(*_: object) -> None:
    """Stand for the end of a process."""
    raise KeyboardInterrupt


@pytest.mark.pdf
def test_each_scout_gets_his_week_with_the_reports(walked: Season, tmp_path: Path) -> None:
    """With what is asked of his book; the pages of a plan outlive a run without PDF."""
    need(pango_missing())
    enter(walked, tmp_path / "second.xlsx", rows=15)
    week = f"ana-week-of-{AS_OF}.pdf"
    assert week in run(walked, pdf=True)[0]
    run(walked)
    assert (walked.folder.plan / week).is_file()
    run(walked, as_of=AS_OF + timedelta(7))
    assert not (walked.folder.plan / week).exists()


def test_one_field_is_renewed_by_itself(walked: Season) -> None:
    """No packet, no board, no plan; and it is not made again with all."""
    assert run(walked, field_id="A1")[0] == {A1}
    assert run(walked, field_id="A1")[1].unchanged == 1
    assert A1 not in run(walked)[0]


def test_all_is_made_when_asked(walked: Season) -> None:
    """With nothing changed; the pages are the same to the byte."""
    first, _ = run(walked)
    before = contents(walked)
    made, last = run(walked, everything=True)
    assert (made, last.unchanged) == (first, 0)
    assert contents(walked) == before


def test_a_run_that_died_in_the_middle_is_mended(
    walked: Season, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was written without a word in the note is written again, what is noted is not."""
    keep, noted = Made.keep, []

    def dying(made: Made, output: Output, paths: tuple[Path, ...]) -> None:
        if len(noted) == 2:
            raise KeyboardInterrupt
        noted.append(output.name)
        keep(made, output, paths)

    with monkeypatch.context() as patch:
        patch.setattr(Made, "keep", dying)
        with pytest.raises(KeyboardInterrupt):
            run(walked)
    made, last = run(walked)
    assert last.unchanged == 2
    assert not {f"{name}.html" for name in noted} & made
    assert run(walked)[0] == set()


@pytest.mark.parametrize("text", ["", "[]", '{"format": 9}', '{"format": 1, "outputs": {"a": 1}}'])
def test_a_damaged_note_only_costs_time(walked: Season, text: str) -> None:
    """All is made anew and noted."""
    first, _ = run(walked)
    (walked.folder.reports / MADE).write_text(text)
    assert run(walked)[0] == first
    assert json.loads((walked.folder.reports / MADE).read_bytes())["format"] == 1


def test_pages_of_a_field_that_left_are_told_and_stay(walked: Season) -> None:
    """'report-left' names the files until somebody deletes them, behind what else is told."""
    run(walked)
    season = with_roster(walked, ROWS[0], ROWS[2])
    _, last = run(season)
    *others, told = last.problems
    assert [one.code for one in others] == ["weather-missing"]
    assert told.code == "report-left"
    assert told.weight == "note"
    assert A2 in line(told)
    assert (season.folder.reports / A2).is_file()
    assert run(season)[1].problems == (*others, told)
    (season.folder.reports / A2).unlink()
    assert run(season)[1].problems == (*others,)


def test_pages_of_a_field_that_is_left_out_are_not_called_deletable(walked: Season) -> None:
    """They come again once the roster is mended; the pages for all no longer call it unknown."""
    run(walked)
    season = with_roster(walked, ROWS[0], replace(ROWS[1], acres=0.01), ROWS[2])
    assert "roster-left-out" in [one.code for one in season.problems]
    _, last = run(season)
    assert "report-left" not in [one.code for one in last.problems]
    assert (season.folder.reports / A2).is_file()


def test_a_grower_keeps_his_file_names_when_others_come_and_go(walked: Season) -> None:
    """Names rest on the grower alone."""
    run(walked)
    more = replace(ROWS[2], grower_id="G0", grower="Ada First", field_id="C1", field="First")
    made, _ = run(with_roster(walked, more, *ROWS))
    assert G1 not in made
    assert "packet.G0.ada-first.html" in made


def test_the_state_of_a_field_is_the_same_in_every_process(walked: Season) -> None:
    """Nothing in it depends on where things lie in memory."""
    states = [field_states(walked, read_known(walked), AS_OF) for _ in range(2)]
    assert states[0] == states[1]
    assert " at 0x" not in repr([*read_known(walked).fields(walked.roster.fields)])


def test_each_field_is_worked_out_on_days_of_its_own(walked: Season) -> None:
    """In the order of fields and days, by the same function."""
    day = date(2026, 8, 1)
    found = [*each_result(walked, {"B7": (AS_OF,), "A1": (AS_OF, day)}, known=read_known(walked))]
    of_field = partial(season_results, walked)
    assert found == [
        of_field(as_of=AS_OF, field_id="B7").fields[0],
        of_field(as_of=AS_OF, field_id="A1").fields[0],
        of_field(as_of=day, field_id="A1").fields[0],
    ]
    assert found[2].visits == ()


def test_a_field_was_scouted_on_days_up_to_that_of_the_report(walked: Season) -> None:
    """Later ones are not known yet."""
    known = read_known(walked)
    assert field_states(walked, known, AS_OF)["A1"].days == (date(2026, 8, 12),)
    assert field_states(walked, known, date(2026, 8, 1))["A1"].days == ()


def test_the_command_counts_what_is_unchanged(walked: Season) -> None:
    """One line, and a clean end; '--all' writes the pages anew."""
    words = ["report", str(walked.folder.path), "--no-pdf", "--as-of", AS_OF.isoformat()]
    first = CliRunner().invoke(main, words)
    assert G1 in first.output
    second = CliRunner().invoke(main, words)
    assert second.exit_code == first.exit_code
    assert second.output.splitlines()[0] == "9 unchanged"
    assert G1 in CliRunner().invoke(main, [*words, "--all"]).output


@pytest.mark.pdf
def test_pages_become_due_when_pdf_can_be_made(
    walked: Season, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without Pango pages are written once as HTML; with it once more, with their PDF."""
    need(pango_missing())
    with monkeypatch.context() as patch:
        patch.setattr(build, "pdf_missing", lambda: "no library")
        assert A1 in run(walked, pdf=True, field_id="A1")[0]
        made, last = run(walked, pdf=True, field_id="A1")
        assert made == set()
        assert [one.code for one in last.problems] == ["pdf-missing"]
    assert run(walked, pdf=True, field_id="A1")[0] == {A1, A1.replace("html", "pdf")}
    assert run(walked, pdf=True, field_id="A1")[0] == set()
