"""Settings: what season.toml may say, and what a reader is told where it may not."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.agronomy.leafrules import RULES
from fieldbook.problems import Problem, sentence
from fieldbook.settings.fresh import settings_text
from fieldbook.settings.keys import SECTIONS
from fieldbook.settings.read import read_settings
from fieldbook.settings.settings import HybridCounts, Scout, Settings, Station
from fieldbook.units import System

MINIMAL = """\
format = 1
season = "ash-2025"
name = "Ash Creek 2025"
year = 2025
units = "us"
time_zone = "America/Chicago"
"""

Reader = Callable[..., tuple[Settings | None, tuple[Problem, ...]]]


@pytest.fixture
def read(tmp_path: Path) -> Reader:
    """Give a reader of a settings text or of bytes."""

    def read_text(text: str | bytes, **options: object) -> object:
        path = tmp_path / "season.toml"
        path.write_bytes(text.encode("utf-8") if isinstance(text, str) else text)
        return read_settings(path, **options)  # type: ignore[arg-type]

    return read_text  # type: ignore[return-value]


def facts(problems: tuple[Problem, ...]) -> list[tuple[str, dict[str, object]]]:
    return [(found.code, dict(found.params)) for found in problems]


def bad_keys(problems: tuple[Problem, ...]) -> list[object]:
    assert {found.code for found in problems} <= {"season-bad-value"}
    return [dict(found.params)["key"] for found in problems]


def test_minimal_file_gets_the_defaults(read: Reader) -> None:
    """Only the needed keys are set; the rest has its stated default."""
    settings, problems = read(MINIMAL)
    assert problems == ()
    assert settings == Settings(
        season_id="ash-2025",
        name="Ash Creek 2025",
        year=2025,
        units=System.US,
        language="en",
        paper="letter",
        time_zone="America/Chicago",
        price_per_bu=None,
        wanted_half_width_bu_ac=15.0,
        stations={},
        scouts=(),
        figures={},
        sender=None,
    )


def test_every_section_is_read(read: Reader) -> None:
    """A full file fills every part; a station takes the season's units and a file by its name."""
    settings, problems = read(
        MINIMAL.replace('"us"', '"metric"')
        + """
paper = "a4"
[market]
price_per_bu = 4
[sampling]
wanted_half_width_bu_ac = 12.5
[report]
sender = "Ida Brook, Ash Creek Agronomy"
[stations.home]
[stations."Hill farm"]
files = ["past/hill.csv", "hill-2025.csv"]
units = "us"
latitude = 41.5
longitude = -93
[scouts.ana]
name = "Ana Reyes"
mail = "ana@example.org"
[scouts.bo]
name = "Bo"
[figures]
"heat.base_f" = 50
heat.top_f = 86
"kernels.per_bu" = [75, 85.5, 95]
"""
    )
    assert problems == ()
    assert settings is not None
    assert settings.stations == {
        "home": Station(name="home", files=("home.csv",), units=System.METRIC),
        "Hill farm": Station(
            name="Hill farm",
            files=("past/hill.csv", "hill-2025.csv"),
            units=System.US,
            latitude=41.5,
            longitude=-93.0,
        ),
    }
    assert settings.scouts == (
        Scout(scout_id="ana", name="Ana Reyes", mail="ana@example.org"),
        Scout(scout_id="bo", name="Bo", mail=None),
    )
    assert settings.figures == {
        "heat.base_f": 50,
        "heat.top_f": 86,
        "kernels.per_bu": (75, 85.5, 95),
    }
    assert (settings.price_per_bu, settings.wanted_half_width_bu_ac) == (4.0, 12.5)
    assert (settings.paper, settings.sender) == ("a4", "Ida Brook, Ash Creek Agronomy")


def test_all_faults_are_told_at_once(read: Reader) -> None:
    """Several faults in several sections give one problem each, with the file's name."""
    settings, problems = read(
        MINIMAL.replace("2025\n", '"soon"\n').replace("units", "unit")
        + '[market]\nprice_per_bu = -1\n[scouts.ana]\nmail = "ana at home"\n'
    )
    assert settings is None
    assert {found.place.file for found in problems} == {"season.toml"}
    assert facts(problems) == [
        ("season-unknown-key", {"key": "unit", "suggestion": "Did you mean 'units'?"}),
        (
            "season-bad-value",
            {"key": "year", "typed": "soon", "wanted": "a year such as 2025"},
        ),
        ("season-needs", {"key": "units", "wanted": "'us' or 'metric'"}),
        (
            "season-bad-value",
            {
                "key": "market.price_per_bu",
                "typed": "-1",
                "wanted": "a price above 0, up to 1000",
            },
        ),
        (
            "season-needs",
            {
                "key": "scouts.ana.name",
                "wanted": "one line of text, at most 200 characters",
            },
        ),
        (
            "season-bad-value",
            {
                "key": "scouts.ana.mail",
                "typed": "ana at home",
                "wanted": "one mail address such as 'ana@example.org'",
            },
        ),
    ]
    assert all(sentence(found) for found in problems)


@pytest.mark.parametrize(
    ("more", "key", "suggestion"),
    [
        ("Paper = 'a4'", "Paper", "Did you mean 'paper'?"),
        ("[sampeling]", "sampeling", "Did you mean 'sampling'?"),
        ("[stations.home]\nfile = 'a.csv'", "stations.home.file", "Did you mean 'files'?"),
        ("price_per_bu = 4", "price_per_bu", "It belongs under [market]."),
        ("zzz = 1", "zzz", ""),
        ("mail_password = 'x'", "mail_password", "A password never belongs in this file."),
        ("[report]\n'smtp-pass' = 1", "report.smtp-pass", "A password never belongs in this file."),
    ],
)
def test_unknown_key_is_refused(read: Reader, more: str, key: str, suggestion: str) -> None:
    """An unknown key is refused, with the nearest known one or the section it belongs to."""
    settings, problems = read(MINIMAL + more + "\n")
    assert settings is None
    assert facts(problems) == [("season-unknown-key", {"key": key, "suggestion": suggestion})]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("season = 'a b'", "season"),
        ("season = '../up'", "season"),
        ("season = 2025", "season"),
        ("name = '  '", "name"),
        ('name = "two\\nlines"', "name"),
        ("year = true", "year"),
        ("year = 1925", "year"),
        ("year = 2025.0", "year"),
        ("units = 'SI'", "units"),
        ("time_zone = 'Chicago'", "time_zone"),
        ("time_zone = '../../etc/passwd'", "time_zone"),
        ("time_zone = '/etc/localtime'", "time_zone"),
        ("time_zone = 'America'", "time_zone"),
        ("format = 0", "format"),
        ("format = true", "format"),
    ],
)
def test_wrong_value_of_a_needed_key(read: Reader, old: str, new: str) -> None:
    """A needed key with a wrong type or value is named, and nothing else is."""
    name = old.split(" ", maxsplit=1)[0]
    kept = [line for line in MINIMAL.splitlines() if not line.startswith(f"{name} ")]
    settings, problems = read("\n".join([*kept, old]))
    assert settings is None
    assert bad_keys(problems) == [new]


@pytest.mark.parametrize(
    ("more", "key"),
    [
        ("language = 'tlh'", "language"),
        ("paper = 'A3'", "paper"),
        ("market = 3", "market"),
        ("stations = []", "stations"),
        ("[stations]\nhome = 'home.csv'", "stations.home"),
        ("[market]\nprice_per_bu = 0", "market.price_per_bu"),
        ("[market]\nprice_per_bu = -4.2", "market.price_per_bu"),
        ("[market]\nprice_per_bu = nan", "market.price_per_bu"),
        ("[market]\nprice_per_bu = true", "market.price_per_bu"),
        ("[market]\nprice_per_bu = '4,20'", "market.price_per_bu"),
        (
            "[hybrids.L1]\nthousand_kernels_per_bu = [90, 80, 100]",
            "hybrids.L1.thousand_kernels_per_bu",
        ),
        (
            "[hybrids.L1]\nthousand_kernels_per_bu = [0, 80, 100]",
            "hybrids.L1.thousand_kernels_per_bu",
        ),
        (
            "[hybrids.L1]\nthousand_kernels_per_bu = 88",
            "hybrids.L1.thousand_kernels_per_bu",
        ),
        ("[fungicide]\ncost_per_ac = 0", "fungicide.cost_per_ac"),
        ("[fungicide]\ncost_per_ac = -26", "fungicide.cost_per_ac"),
        ("[fungicide]\ngain_sd_bu_ac = 0", "fungicide.gain_sd_bu_ac"),
        ("[sampling]\nwanted_half_width_bu_ac = inf", "sampling.wanted_half_width_bu_ac"),
        ("[stations.home]\nfiles = '/etc/passwd'", "stations.home.files"),
        ("[stations.home]\nfiles = ['../roster.xlsx']", "stations.home.files"),
        ("[stations.home]\nfiles = ['C:\\a.csv']", "stations.home.files"),
        ("[stations.home]\nfiles = ['a\\b.csv']", "stations.home.files"),
        ("[stations.home]\nfiles = []", "stations.home.files"),
        ("[stations.home]\nfiles = [1]", "stations.home.files"),
        ("[stations.home]\nlatitude = 93.6", "stations.home.latitude"),
        ("[stations.home]\nlongitude = -193.6", "stations.home.longitude"),
        ("[stations.'a/b']", "stations.a/b"),
        ("[stations.'..']", "stations..."),
        ("[scouts.'a b']\nname = 'A'", "scouts.a b"),
        ("[mail]\nserver = 'https://imap.example.org'", "mail.server"),
        ("[mail]\nsmtp_server = 'smtp.example.org:465'", "mail.smtp_server"),
        ("[mail]\nsenders = 3", "mail.senders"),
        ("[mail]\nsenders = ['ana']", "mail.senders"),
        ("[mail]\nfolder = 'Books*'", "mail.folder"),
        ("[mail]\nmove_to = 'Bo\"oks'", "mail.move_to"),
        ("[scouts.ana]\nname = ['A']", "scouts.ana.name"),
        ("[scouts.ana]\nname = 'A'\nmail = 'a@b@c'", "scouts.ana.mail"),
        ("[figures]\n'heat.base_f' = '50'", "figures.heat.base_f"),
        ("[figures]\n'heat.base_f' = [50, [51]]", "figures.heat.base_f"),
        ("[figures]\n'heat.base_f' = []", "figures.heat.base_f"),
        ("[figures]\n'heat.base_f' = nan", "figures.heat.base_f"),
        ("[figures]\nheat = {}", "figures.heat"),
    ],
)
def test_wrong_value_in_a_section(read: Reader, more: str, key: str) -> None:
    """A wrong value is named by its full key, and nothing else is."""
    settings, problems = read(MINIMAL + more + "\n")
    assert settings is None
    assert bad_keys(problems) == [key]


def test_time_zone_nearly_right(read: Reader) -> None:
    """A blank in a time zone's name is met with the zone that was meant."""
    _, problems = read(MINIMAL.replace("America/Chicago", "America/New York"))
    assert facts(problems)[0][1]["wanted"] == "a time zone such as 'America/New_York'"


def test_figure_keys_are_checked_when_given(read: Reader) -> None:
    """With the known figures at hand, another key is refused with the nearest one."""
    text = MINIMAL + "[figures]\n'heat.base' = 50\n"
    settings, problems = read(text, figure_keys=["heat.base_f", "heat.top_f"])
    assert settings is None
    assert facts(problems) == [
        (
            "season-unknown-key",
            {"key": "figures.heat.base", "suggestion": "Did you mean 'heat.base_f'?"},
        )
    ]
    assert read(text.replace("heat.base", "heat.base_f"), figure_keys=["heat.base_f"])[0]


def test_newer_format_says_only_that(read: Reader) -> None:
    """A file of a newer version is not picked apart: its other keys may be right there."""
    settings, problems = read("format = 2\nwhatever = 1\n")
    assert settings is None
    assert facts(problems) == [("season-newer", {"typed": "2", "known": 1})]


def test_syntax_fault_names_its_line(read: Reader) -> None:
    """A fault of TOML itself is told with its line."""
    settings, problems = read('format = 1\nseason = "x\n')
    assert settings is None
    [(code, params)] = facts(problems)
    assert code == "season-broken"
    assert str(params["detail"]).startswith("line 2, column ")


@pytest.mark.parametrize(
    ("data", "detail"),
    [
        (
            b"format = 1\nprice_per_bu = 4,20  # dollars\r\n",
            "line 2: 4,20 has a comma, but a decimal point is wanted: 4.20",
        ),
        (b"format = 1\nname = 'Jos\xe9'\n", "line 2 is not UTF-8 text"),
        (b"figures = " + b"[\n" * 50_000, "its brackets go too deep"),
        (b"#\n" * 100_001, "it is larger than 200 kB"),
        (b"\na" + b".a" * 50_000 + b" = 1", "line 2 is longer than 2,000 signs"),
    ],
)
def test_hostile_text_is_told(read: Reader, data: bytes, detail: str) -> None:
    """What TOML cannot read is a problem and never an exception."""
    settings, problems = read(data)
    assert settings is None
    assert facts(problems) == [("season-broken", {"detail": detail})]


@pytest.mark.parametrize(
    "data",
    [
        b"year = " + b"9" * 1900,
        b"a" + b".a" * 900 + b" = 1",
        b"[figures]\na" + b".a" * 900 + b" = 1",
        b"[figures]\na = [{a" + b".a" * 900 + b" = 1}]",
        b"[market]\nprice_per_bu = 1" + b"0" * 400,
        b"year = 0x" + b"f" * 1900,
        b"\x00\x01\x02",
        b"PK\x03\x04",
        b"",
    ],
)
def test_hostile_values_never_raise(read: Reader, data: bytes) -> None:
    """Huge numbers and endless keys end as problems that can be said."""
    settings, problems = read(data)
    assert settings is None
    assert problems
    assert all(len(sentence(found)) < 400 for found in problems)


@given(st.binary(max_size=200))
def test_any_bytes_give_problems(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    """No bytes make the reader raise; none of these are a season."""
    path = tmp_path_factory.getbasetemp() / "any.toml"
    path.write_bytes(data)
    settings, problems = read_settings(path)
    assert settings is None
    assert problems


def test_file_that_cannot_be_opened(tmp_path: Path) -> None:
    """No file says which folder holds none; a folder of that name says so."""
    assert facts(read_settings(tmp_path / "season.toml")[1]) == [
        ("season-missing", {"folder": str(tmp_path)})
    ]
    _, problems = read_settings(tmp_path)
    assert [found.code for found in problems] == ["file-unreadable"]


def test_byte_order_mark_and_windows_lines(read: Reader) -> None:
    """A file saved by a plain editor on Windows reads the same."""
    assert read(b"\xef\xbb\xbf" + MINIMAL.replace("\n", "\r\n").encode()) == read(MINIMAL)


ids = st.text("abcXYZ019é_-.", min_size=1, max_size=12).filter(lambda text: text[0].isalnum())
lines = (
    st.text(
        st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp")),
        min_size=1,
        max_size=30,
    )
    .map(str.strip)
    .filter(bool)
)
station_names = lines.filter(
    lambda name: not set(name) & set('\\/:*?"<>|') and not name.startswith(".")
)
mails = st.builds("{}@{}.example".format, ids, ids)
finite = st.floats(allow_nan=False, allow_infinity=False, min_value=-1e12, max_value=1e12)
figures = st.one_of(
    st.integers(-(10**9), 10**9),
    finite,
    st.lists(finite, min_size=1, max_size=4).map(tuple),
)
stations = st.builds(
    Station,
    name=station_names,
    files=st.lists(ids.map("past/{}.csv".format), max_size=3).map(tuple),
    units=st.sampled_from(System),
    latitude=st.none() | st.floats(-90, 90),
    longitude=st.none() | st.floats(-180, 180),
)
scouts = st.builds(
    Scout,
    scout_id=ids,
    name=lines,
    mail=st.none() | mails,
    fields_a_day=st.none() | st.integers(1, 40),
)
hybrids = st.builds(
    HybridCounts,
    hybrid=lines,
    thousand_kernels_per_bu=st.lists(st.floats(40, 200), min_size=3, max_size=3).map(
        lambda some: tuple(sorted(some))
    ),
    rests_on=st.none() | lines,
)
seasons = st.builds(
    Settings,
    season_id=ids,
    name=lines,
    year=st.integers(2000, 2099),
    units=st.sampled_from(System),
    paper=st.sampled_from(["letter", "a4"]),
    time_zone=st.sampled_from(["America/Chicago", "Europe/Vienna", "UTC"]),
    price_per_bu=st.none() | st.floats(0.01, 1000),
    wanted_half_width_bu_ac=st.floats(1, 100),
    fields_a_day=st.integers(1, 40),
    stations=st.lists(stations, max_size=3).map(lambda some: {one.name: one for one in some}),
    hybrids=st.lists(hybrids, max_size=2, unique_by=lambda one: one.hybrid).map(tuple),
    scouts=st.lists(scouts, max_size=3, unique_by=lambda scout: scout.scout_id).map(tuple),
    figures=st.dictionaries(ids.filter(lambda key: "." not in key), figures, max_size=3),
    sender=st.none() | lines,
    leaf_rule=st.sampled_from(RULES),
    fungicide_cost_per_ac=st.none() | st.floats(0.01, 500),
    fungicide_gain_bu_ac=st.none() | st.floats(-50, 100),
    fungicide_gain_sd_bu_ac=st.none() | st.floats(0.01, 100),
    fungicide_gain_source=st.none() | lines,
)


PLAIN = Settings(season_id="a", name="A", year=2025, units=System.US, time_zone="America/Chicago")


@given(seasons)
def test_fresh_file_reads_back_equal(
    tmp_path_factory: pytest.TempPathFactory, given_: Settings
) -> None:
    """Whatever fits is written so that it reads back the same, quotes and all letters included."""
    path = tmp_path_factory.getbasetemp() / "fresh.toml"
    path.write_text(settings_text(given_), encoding="utf-8", newline="\n")
    assert read_settings(path) == (given_, ())


def test_control_signs_are_escaped(read: Reader) -> None:
    """A name with a control sign makes no broken file: reading names the bad value."""
    text = settings_text(replace(PLAIN, name='x\n[figures]\n"\x00\x7f\ud800'))
    settings, problems = read(text)
    assert settings is None
    assert bad_keys(problems) == ["name"]


def test_fresh_file_shows_every_key(read: Reader) -> None:
    """A fresh file holds each declared key, set or as a remark, and the remarks are true TOML."""
    text = settings_text(PLAIN)
    plain = [key.name for section in SECTIONS if not section.names for key in section.keys]
    assert len(plain) > 8
    for name in plain:
        assert f"\n{name} = " in text or f"\n# {name} = " in text
    opened = "\n".join(
        line.removeprefix("# ") if " = " in line or line.startswith("# [") else line
        for line in text.splitlines()
    )
    settings, problems = read(opened)
    assert problems == ()
    assert settings is not None
    assert list(settings.stations) == ["home"]
    assert [scout.scout_id for scout in settings.scouts] == ["ana"]
    assert settings.figures == {"heat.base_f": 50}
    assert settings.price_per_bu is not None
