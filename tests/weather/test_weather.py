"""Weather files: their layouts and faults, days joined, short gaps filled and long gaps kept."""

import math
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from parts import need

from fieldbook.problems import Problem, sentence
from fieldbook.settings.settings import Station
from fieldbook.units import System
from fieldbook.weather.read import read_station
from fieldbook.weather.spans import spans_of, spans_words
from fieldbook.weather.weather import Daily, StationWeather
from fieldbook.words import phrase

LINCOLN = Path(__file__).parents[1] / "data" / "lincoln-2016.csv"

Read = Callable[..., tuple[StationWeather | None, tuple[Problem, ...]]]
PLAIN = "date,tmax,tmin,rain\n"


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Give a reader of one or more files of a station called home."""

    def read_files(
        *texts: str | bytes, units: System = System.US, name: str = "home"
    ) -> tuple[StationWeather | None, tuple[Problem, ...]]:
        names = tuple(f"{number}.csv" for number, _ in enumerate(texts))
        for file, text in zip(names, texts, strict=True):
            data = text.encode("utf-8") if isinstance(text, str) else text
            (tmp_path / file).write_bytes(data)
        return read_station(Station(name=name, files=names, units=units), tmp_path)

    return read_files


def facts(problems: tuple[Problem, ...]) -> list[tuple[str, dict[str, object]]]:
    return [(found.code, dict(found.params)) for found in problems]


def codes(problems: tuple[Problem, ...]) -> list[str]:
    return [found.code for found in problems]


def table(weather: StationWeather | Daily | None) -> dict[str, tuple[float | None, ...]]:
    """Days with their maximum, minimum and rain; None is missing."""
    assert weather is not None
    columns = (weather.tmax_f, weather.tmin_f, weather.rain_in)
    rows = zip(weather.days.astype(str), *(column.tolist() for column in columns), strict=True)
    return {
        str(day): tuple(None if math.isnan(value) else value for value in values)
        for day, *values in rows
    }


def plain(first: date, count: int, *, without: tuple[date, ...] = ()) -> str:
    """Make a plain file of days with a steady 80 / 60 degF."""
    days = (first + timedelta(days=number) for number in range(count))
    return PLAIN + "".join(f"{day},80,60,0.1\n" for day in days if day not in without)


def test_plain_file_in_station_units(read: Read) -> None:
    """Plain columns are in the station's units; blank is missing; case and order do not matter."""
    weather, problems = read("Tmin,DATE,Tmax,Rain\n61,2025-07-01,88.5,0.25\n60,2025-07-02,87,\n")
    assert problems == ()
    assert table(weather) == {"2025-07-01": (88.5, 61.0, 0.25), "2025-07-02": (87.0, 60.0, None)}
    assert weather is not None
    assert weather.station == "home"
    assert weather.last_day == date(2025, 7, 2)


def test_metric_file_is_turned_into_stored_units(read: Read) -> None:
    """Degrees C and mm become F and inches, exactly where the numbers are exact."""
    text = PLAIN + "2012/07/01,35,20,25.4\n2012/07/02,30.0,10.0,0.0\n"
    weather, problems = read(text, units=System.METRIC)
    assert problems == ()
    assert table(weather) == {"2012-07-01": (95.0, 68.0, 1.0), "2012-07-02": (86.0, 50.0, 0.0)}


def test_a_unit_in_the_header_wins(read: Read) -> None:
    """A column that names its unit is in that unit, whatever the station's are."""
    text = "date,tmax_c,tmin_c,rain_mm\n2025-07-01,30,20,50.8\n"
    assert table(read(text)[0]) == {"2025-07-01": (86.0, 68.0, 2.0)}
    text = "date,tmax_f,tmin_f,rain_in\n2025-07-01,86,68,2\n"
    assert table(read(text, units=System.METRIC)[0]) == {"2025-07-01": (86.0, 68.0, 2.0)}


SUMMARY = """\
"STATION","NAME","LATITUDE","DATE","PRCP","PRCP_ATTRIBUTES","SNOW","TMAX","TMIN","TOBS"
"USX1","ASH CREEK 2 W, US","41.2","2025-07-01","0.12",",,7,0700","0.0","88","61","70"
"USX1","ASH CREEK 2 W, US","41.2","2025-07-02","","","","87","60",""
"USX1","ASH CREEK 2 W, US","41.2","2025-07-03","T",",,7","","85","59",""
"""


def test_daily_summary_as_downloaded(read: Read) -> None:
    """Quoted values, more columns and attributes are fine; a byte order mark too."""
    weather, problems = read("\ufeff" + SUMMARY.replace("\n", "\r\n"))
    assert problems == ()
    assert table(weather) == {
        "2025-07-01": (88.0, 61.0, 0.12),
        "2025-07-02": (87.0, 60.0, None),
        "2025-07-03": (85.0, 59.0, 0.0),
    }


def test_several_stations_in_one_file(read: Read) -> None:
    """The station that the settings name is read; unnamed, the first one, and that is told."""
    both = SUMMARY + '"USX2","HILL, US","41","2025-07-04","0","","0","99","70",""\n'
    weather, problems = read(both, name="Hill (usx2)")
    assert problems == ()
    assert table(weather) == {"2025-07-04": (99.0, 70.0, 0.0)}
    weather, problems = read(both)
    assert len(table(weather)) == 3
    assert facts(problems) == [
        ("weather-row", {"line": 5, "detail": "the file holds 2 stations, and only USX1 is read"})
    ]


@pytest.mark.parametrize(
    "text",
    [
        "date;tmax;tmin;rain\n2025-07-01;30,5;18,25;2,54\n",
        "date;tmax;tmin;rain\n2025-07-01;30.5;18.25;2.54\n",
        "date\ttmax\ttmin\train\n2025-07-01\t30,5\t18,25\t2,54\n",
        'date;tmax;tmin;rain\n"2025-07-01";"30,5";"18,25";"2,54"\n',
        "\n\ndate;tmax;tmin;rain\n\n2025-07-01;30,5;18,25;2,54;;\n;;;\n\n",
    ],
)
def test_files_of_a_spreadsheet_with_decimal_commas(read: Read, text: str) -> None:
    """Semicolons or tabs with decimal commas are read, blank lines and cells passed over."""
    for data in (text, text.encode("utf-16")):
        weather, problems = read(data, units=System.METRIC)
        assert problems == ()
        assert table(weather) == {"2025-07-01": (86.9, 64.85, 0.1)}


@pytest.mark.parametrize(
    ("line", "detail"),
    [
        ("2025-07-02;88;61;0", "cut at each ',' it gives 1 of 4 values"),
        ("2025-07-02,88,5,61,5,0", "cut at each ',' it gives 6 of 4 values"),
        ('2025-07-02,"88,5",61,0', "'88,5' under tmax is not a number like 81.5"),
        ("2025-07-02,88F,61,0", "'88F' under tmax is not a number like 81.5"),
        ("2025-07-02,inf,61,0", "'inf' under tmax is not a number like 81.5"),
        ("2025-07-02,1_0,61,0", "'1_0' under tmax is not a number like 81.5"),
        ("2025-07-02,88,T,0", "'T' under tmin is not a number like 81.5"),
        ("2025-07-02,88", "cut at each ',' it gives 2 of 4 values"),
        ('2025-07-02,"88,61,0', "cut at each ',' it gives 2 of 4 values"),
        ("7/2/2025,88,61,0", "'7/2/2025' is not a date like 2025-07-31"),
        ("2025-02-30,88,61,0", "'2025-02-30' is not a date like 2025-07-31"),
        ("0025-07-02,88,61,0", "'0025-07-02' is not a date like 2025-07-31"),
        (",88,61,0", "'' is not a date like 2025-07-31"),
        ("2025-07-02,188,61,0", "188 degF under tmax can't be"),
        ("2025-07-02,88,-99,0", "-99 degF under tmin can't be"),
        ("2025-07-02,91.94,-72.04,0", "from -72.04 to 91.94 degF in one day can't be"),
    ],
)
def test_a_bad_line_is_told_and_its_day_is_missing(read: Read, line: str, detail: str) -> None:
    """One bad line gives one problem with its number; its neighbours stand."""
    good = ["2025-07-01,88,62,0", line, "2025-07-03,90,64,0"]
    weather, problems = read(PLAIN + "\n".join(good) + "\n")
    assert facts(problems) == [
        ("weather-row", {"line": 3, "detail": detail}),
        ("weather-gap-filled", {"days": "2 July 2025", "station": "home"}),
    ]
    assert problems[0].place.file == "weather/0.csv"
    assert table(weather)["2025-07-01"] == (88.0, 62.0, 0.0)
    assert table(weather)["2025-07-02"][:2] == (89.0, 63.0)


def test_lines_that_are_all_wrong_are_told_at_once(read: Read) -> None:
    """Days written day first: one problem for the file, by its first line."""
    weather, problems = read(PLAIN + "01/07/2025,88,62,0\n02/07/2025,89,63,0\n")
    assert weather is None
    detail = "'01/07/2025' is not a date like 2025-07-31"
    assert facts(problems) == [("weather-no-line", {"count": 2, "line": 2, "detail": detail})]
    assert problems[0].place.file == "weather/0.csv"


def test_impossible_rain_leaves_the_temperatures(read: Read) -> None:
    """A rain that cannot be is unknown; heat units need none."""
    weather, problems = read(PLAIN + "2025-07-01,88,61,-1\n")
    assert facts(problems) == [("weather-row", {"line": 2, "detail": "-1 in under rain can't be"})]
    assert table(weather) == {"2025-07-01": (88.0, 61.0, None)}


def test_the_ways_to_write_missing(read: Read) -> None:
    """Blank, NA, M and -9999 are missing and no fault; a rain left out at the end too."""
    text = PLAIN + "2025-07-01,88,61\n2025-07-02,NA,M,-9999\n2025-07-03,-9999,,\n2025-07-04,88,61,1"
    weather, problems = read(text)
    assert codes(problems) == ["weather-gap-filled"]
    assert [row[2] for row in table(weather).values()] == [None, None, None, 1.0]


@pytest.mark.parametrize(
    ("bad", "rest"), [(40, "this and 34 lines below"), (7, "this and the line below")]
)
def test_many_bad_lines_make_few_problems(read: Read, bad: int, rest: str) -> None:
    """Five lines are told one by one, the rest in one sentence."""
    text = plain(date(2025, 7, 1), 30) + "x,1,1,1\n" * bad
    _, problems = read(text)
    assert [dict(found.params)["line"] for found in problems] == [32, 33, 34, 35, 36, 37]
    assert dict(problems[-1].params)["detail"] == f"{rest} can't be read either"


def test_minimum_above_maximum(read: Read) -> None:
    """Turned days are named in one problem and count as missing."""
    text = PLAIN + "2025-07-01,88,61,0\n2025-07-02,61,88,0\n2025-07-03,60,61,0\n2025-07-04,85,58,0"
    weather, problems = read(text)
    assert facts(problems) == [
        ("weather-reversed", {"day": "2-3 July 2025"}),
        ("weather-gap-filled", {"days": "2-3 July 2025", "station": "home"}),
    ]
    assert table(weather)["2025-07-02"] == (87.0, 60.0, 0.0)
    assert weather is not None
    assert weather.filled.tolist() == [False, True, True, False]


def test_doubled_days(read: Read) -> None:
    """The same day twice is fine with the same values; else the first is used and it is told."""
    first = PLAIN + "2025-07-01,88,61,0\n2025-07-01,88.0,61.0,\n2025-07-02,87,60,0\n"
    assert read(first)[1] == ()
    weather, problems = read(first + "2025-07-02,87,66,0\n", PLAIN + "2025-07-01,70,61,0\n")
    assert facts(problems) == [
        ("weather-doubled", {"day": "2 July 2025"}),
        ("weather-doubled", {"day": "1 July 2025"}),
    ]
    assert [found.place.file for found in problems] == ["weather/0.csv", "weather/1.csv"]
    assert table(weather) == {"2025-07-01": (88.0, 61.0, 0.0), "2025-07-02": (87.0, 60.0, 0.0)}


def test_files_are_joined(read: Read) -> None:
    """Files of different layouts and units join by day; a later one fills what the first lacks."""
    weather, problems = read(
        PLAIN + "2025-07-02,88,61,\n2025-07-03,,60,0.5\n",
        "date,tmax_c,tmin_c,rain_mm\n2025-07-03,30,10,0\n2025-07-01,25,15,2.54\n",
    )
    assert codes(problems) == ["weather-doubled"]
    weather, problems = read(
        PLAIN + "2025-07-02,88,61,\n2025-07-03,,,0.5\n",
        "date,tmax_c,tmin_c,rain_mm\n2025-07-03,30,10,12.7\n2025-07-01,25,15,2.54\n",
    )
    assert problems == ()
    assert table(weather) == {
        "2025-07-01": (77.0, 59.0, 0.1),
        "2025-07-02": (88.0, 61.0, None),
        "2025-07-03": (86.0, 50.0, 0.5),
    }


@pytest.mark.parametrize(
    ("units", "tmax", "tmin", "unit"),
    [
        (System.METRIC, 88, 61, "degC"),
        (System.METRIC, 311, 172, "degC"),
        (System.US, 31, 17, "degF"),
        (System.US, 311, 172, "degF"),
    ],
)
@pytest.mark.parametrize("month", ["06", "07"])
def test_weather_in_another_unit_is_not_used(
    read: Read, units: System, tmax: int, tmin: int, unit: str, month: str
) -> None:
    """A July (or, without one, the warmest month) that cannot be stops the station."""
    text = PLAIN + "".join(f"2025-{month}-{day:02},{tmax},{tmin},0\n" for day in range(1, 31))
    weather, problems = read(PLAIN + "2025-01-01,9,1,0\n", text, units=units)
    assert weather is None
    told: dict[str, object] = {"station": "home", "typed": float(tmax)}
    tenths = tmax > 130
    expected = (
        ("weather-tenths", told) if tenths else ("weather-units", {**told, "unit": phrase(unit)})
    )
    assert facts(problems) == [expected]
    assert str(tmax) in sentence(problems[0])


def test_winter_alone_says_nothing_about_units(read: Read) -> None:
    """A cold January in F is no fault."""
    weather, problems = read(PLAIN + "2025-01-01,14,-3,0\n2025-01-02,20,2,0\n")
    assert problems == ()
    assert len(table(weather)) == 2


def test_three_missing_days_are_filled_in_a_straight_line(read: Read) -> None:
    """Up to three days are filled and marked, rain is not; the days are named in one note."""
    text = PLAIN + "2025-07-02,80,60,1\n2025-07-06,88,64,1\n2025-08-01,80,60,0\n"
    weather, problems = read(text.replace("2025-08-01", "2025-07-08"))
    assert facts(problems) == [
        ("weather-gap-filled", {"days": "3-5 July 2025, 7 July 2025", "station": "home"})
    ]
    assert weather is not None
    assert table(weather)["2025-07-03"] == (82.0, 61.0, None)
    assert weather.filled.tolist() == [False, True, True, True, False, True, False]
    assert weather.gaps == ()
    assert weather.problems == problems


def test_four_missing_days_are_a_gap(read: Read) -> None:
    """Four days stay missing and are told."""
    lost = tuple(date(2025, 6, 29) + timedelta(days=number) for number in range(4))
    weather, problems = read(plain(date(2025, 6, 1), 60, without=lost))
    assert facts(problems) == [
        ("weather-gap", {"days": "29 June - 2 July 2025", "station": "home"})
    ]
    assert weather is not None
    assert weather.gaps == ((date(2025, 6, 29), date(2025, 7, 2)),)
    assert not weather.filled.any()
    assert np.isnan(weather.tmax_f).sum() == 4


def test_each_element_is_filled_alone_and_stays_in_order(read: Read) -> None:
    """A filled minimum never exceeds the measured maximum of its day, nor the other way round."""
    text = PLAIN + "2025-04-01,80,70,0\n2025-04-02,50,,0\n2025-04-03,80,70,0\n"
    weather, problems = read(text)
    assert codes(problems) == ["weather-gap-filled"]
    assert table(weather)["2025-04-02"] == (50.0, 50.0, 0.0)
    text = PLAIN + "2025-04-01,50,40,0\n2025-04-02,,60,0\n2025-04-03,50,40,0\n"
    assert table(read(text)[0])["2025-04-02"] == (60.0, 60.0, 0.0)


def test_a_long_gap_of_one_element_is_a_gap(read: Read) -> None:
    """Five days without a minimum are missing days although the maximum is known."""
    rows = "".join(f"2025-07-{day:02},80,{'' if 5 <= day <= 9 else 60},0\n" for day in range(1, 15))
    weather, _ = read(PLAIN + rows)
    assert weather is not None
    assert weather.gaps == ((date(2025, 7, 5), date(2025, 7, 9)),)


def test_winter_gaps_are_kept_but_not_told(read: Read) -> None:
    """A gap from December to March is in the list; only one that touches the season is a note."""
    winter = tuple(date(2024, 12, 1) + timedelta(days=number) for number in range(121))
    weather, problems = read(plain(date(2024, 11, 1), 300, without=winter))
    assert problems == ()
    assert weather is not None
    assert weather.gaps == ((date(2024, 12, 1), date(2025, 3, 31)),)
    weather, problems = read(plain(date(2024, 11, 1), 300, without=(*winter, date(2025, 4, 1))))
    assert codes(problems) == ["weather-gap"]
    assert "1 December 2024 - 1 April 2025" in sentence(problems[0])


def test_missing_days_at_the_ends_are_no_gap(read: Read) -> None:
    """Days without temperatures before the first and after the last good day fall away."""
    text = PLAIN + "2025-06-01,,,\n2025-06-09,80,60,0\n2025-06-10,80,60,0\n2025-06-30,,,0.3\n"
    weather, problems = read(text)
    assert problems == ()
    assert weather is not None
    assert (weather.first_day, weather.last_day) == (date(2025, 6, 9), date(2025, 6, 10))


def test_season_through(read: Read) -> None:
    """Days from planting to the day asked for, or as far as they go; None over a long gap."""
    lost = tuple(date(2025, 5, 20) + timedelta(days=number) for number in range(5))
    short = date(2025, 6, 15)
    weather, _ = read(plain(date(2025, 4, 1), 120, without=(*lost, short)))
    assert weather is not None
    assert weather.last_day == date(2025, 7, 29)

    def length(planted: date, as_of: date) -> int | None:
        daily = weather.season_through(planted, as_of)
        return None if daily is None else len(daily)

    assert length(date(2025, 5, 1), date(2025, 5, 19)) == 19
    assert length(date(2025, 5, 1), date(2025, 5, 20)) is None
    assert length(date(2025, 5, 24), date(2025, 7, 1)) is None
    assert length(date(2025, 5, 25), date(2025, 7, 1)) == 38
    assert length(date(2025, 7, 20), date(2025, 9, 1)) == 10
    assert length(date(2025, 7, 30), date(2025, 9, 1)) is None
    assert length(date(2025, 3, 31), date(2025, 4, 5)) is None
    assert length(date(2025, 4, 5), date(2025, 4, 4)) is None
    daily = weather.season_through(date(2025, 6, 14), date(2025, 6, 16))
    assert daily is not None
    assert daily.filled.tolist() == [False, True, False]
    assert daily.days.astype(str).tolist() == ["2025-06-14", "2025-06-15", "2025-06-16"]


def test_year_and_past_years(read: Read) -> None:
    """A year is cut out; of past years only those whose whole stretch is known are given."""
    lost = tuple(date(2022, 8, 1) + timedelta(days=number) for number in range(4))
    weather, _ = read(plain(date(2020, 6, 1), 1700, without=lost))
    assert weather is not None
    assert len(weather.year(2020)) == 214
    assert len(weather.year(2021)) == 365
    assert np.isnan(weather.year(2022).tmax_f).sum() == 4
    assert len(weather.year(2019)) == len(weather.year(2030)) == 0
    past = weather.past_years(2024, date(2025, 4, 15), date(2025, 10, 31))
    assert list(past) == [2021, 2023]
    assert str(past[2021].days[0]) == "2021-04-15"
    assert {len(daily) for daily in past.values()} == {200}
    assert list(weather.past_years(2025, date(2025, 9, 1), date(2025, 10, 31))) == [
        *range(2020, 2025)
    ]
    assert list(weather.past_years(2023, date(2025, 11, 1), date(2026, 2, 28))) == [
        *range(2020, 2023)
    ]
    leap = weather.past_years(2023, date(2024, 2, 29), date(2024, 3, 1))
    assert [len(daily) for daily in leap.values()] == [2, 2]


def test_nothing_can_be_changed(read: Read) -> None:
    """The arrays are read-only: several fields share one station."""
    weather, _ = read(plain(date(2025, 7, 1), 3))
    assert weather is not None
    for array in (weather.days, weather.tmax_f, weather.tmin_f, weather.rain_in, weather.filled):
        assert not array.flags.writeable


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (b"", ("weather-layout", {"typed": "missing"})),
        (b"\n \n", ("weather-layout", {"typed": "missing"})),
        (b"day,high,low\n2025-07-01,80,60\n", ("weather-layout", {"typed": "day,high,low"})),
        (b"2025-07-01,80,60,0\n", ("weather-layout", {"typed": "2025-07-01,80,60,0"})),
        (PLAIN.encode(), ("weather-missing", {"station": "home", "file": "0.csv"})),
        (b"PK\x03\x04\x00\x00\xff", ("file-unreadable", {"detail": "it is not a text file"})),
        (b"date,tmax,tmin\n\x00\n", ("file-unreadable", {"detail": "it is not a text file"})),
    ],
)
def test_files_without_weather(read: Read, data: bytes, found: tuple[str, object]) -> None:
    """Empty, foreign, binary and header-only files give one problem and no weather."""
    weather, problems = read(data)
    assert weather is None
    assert facts(problems) == [found]
    assert sentence(problems[0])


def test_a_value_longer_than_any_number_spoils_its_line_alone(read: Read) -> None:
    """A stray quotation mark before a very long text leaves the days around it."""
    days = plain(date(2025, 7, 1), 2)
    weather, problems = read(f'{days}"{"x" * 140_000}\n2025-07-03,80,60,0.1\n')
    assert list(table(weather)) == ["2025-07-01", "2025-07-02", "2025-07-03"]
    assert [code for code, _ in facts(problems)] == ["weather-row"]


@pytest.mark.parametrize(("size", "told"), [(30_000_000, False), (30_000_001, True)])
def test_a_file_over_thirty_megabytes_is_not_read(tmp_path: Path, size: int, told: bool) -> None:
    """The limit itself is read, and then told for what it holds."""
    with (tmp_path / "big.csv").open("wb") as file:
        file.truncate(size)
    station = Station(name="home", files=("big.csv",), units=System.US)
    weather, problems = read_station(station, tmp_path)
    assert weather is None
    assert (dict(problems[0].params)["detail"] == "it is larger than 30 MB") is told


def test_no_file_and_a_folder(tmp_path: Path) -> None:
    """A file that is not there is a note; a folder of that name is told; the others are read."""
    (tmp_path / "old.csv").mkdir()
    (tmp_path / "new.csv").write_text(plain(date(2025, 7, 1), 2), encoding="utf-8")
    files = ("gone.csv", "old.csv", "new.csv")
    weather, problems = read_station(Station(name="home", files=files, units=System.US), tmp_path)
    assert facts(problems) == [
        ("weather-missing", {"station": "home", "file": "gone.csv"}),
        ("file-unreadable", {"detail": "it is a folder"}),
    ]
    assert len(table(weather)) == 2
    assert read_station(Station(name="x", units=System.US), tmp_path / "none")[0] is None


@given(st.binary(max_size=300), st.booleans())
def test_any_bytes_end_as_problems(
    tmp_path_factory: pytest.TempPathFactory, data: bytes, with_header: bool
) -> None:
    """No bytes make the reader raise or warn."""
    folder = tmp_path_factory.getbasetemp()
    (folder / "home.csv").write_bytes(PLAIN.encode() * with_header + data)
    weather, problems = read_station(Station(name="home", units=System.US), folder)
    assert weather is not None or problems
    assert all(sentence(found) for found in problems)


values = st.integers(-400, 1300).map(lambda tenth: tenth / 10)


@given(
    st.dictionaries(
        st.dates(date(2024, 10, 1), date(2025, 4, 30)),
        st.tuples(values, st.integers(0, 800), st.integers(0, 500)),
        min_size=1,
        max_size=60,
    )
)
def test_what_was_written_is_read(
    tmp_path_factory: pytest.TempPathFactory, days: dict[date, tuple[float, int, int]]
) -> None:
    """Every good day is read as written, and every other day is filled or in a gap."""
    folder = tmp_path_factory.getbasetemp()
    wanted = {
        str(day): (high, round(high - spread / 10, 1), rain / 100)
        for day, (high, spread, rain) in days.items()
        if high - spread / 10 >= -80
    }
    rows = [f"{day},{high},{low},{rain}\n" for day, (high, low, rain) in wanted.items()]
    (folder / "home.csv").write_text(PLAIN + "".join(rows), encoding="utf-8")
    weather, _ = read_station(Station(name="home", units=System.US), folder)
    if not wanted:
        assert weather is None
        return
    assert weather is not None
    read_back = table(weather)
    assert {day: read_back[day] for day in wanted} == wanted
    missing = {str(day) for first, last in weather.gaps for day in between(first, last)}
    filled = set(weather.days[weather.filled].astype(str).tolist())
    assert missing | filled | set(wanted) == set(read_back)
    assert not (missing & filled) | (missing & set(wanted)) | (filled & set(wanted))
    assert all((read_back[day][0] is None) == (day in missing) for day in read_back)
    assert not (weather.tmin_f > weather.tmax_f).any()


def between(first: date, last: date) -> list[date]:
    return [first + timedelta(days=number) for number in range((last - first).days + 1)]


def test_spans_are_said_in_few_words() -> None:
    """Many spans name the newest six and count the older days."""
    days = [date(2025, 5, day) for day in (1, 2, 3, 5, 7, 9, 11, 13, 15, 16)]
    assert spans_words(spans_of(days)) == (
        "5 May 2025, 7 May 2025, 9 May 2025, 11 May 2025, 13 May 2025, 15-16 May 2025 "
        "and 3 earlier days"
    )
    turn = spans_of(between(date(2024, 12, 30), date(2025, 1, 2)))
    assert spans_words(turn) == "30 December 2024 - 2 January 2025"


def test_lincoln_2016(tmp_path: Path) -> None:
    """A published year of a real station in the Corn Belt: whole F, one missing day in June.

    The sums are those of the file itself, taken with another program: 366 days, a maximum of 99
    in June to August, the first night at or under 32 F after August on 12 October.
    """
    need(None if LINCOLN.exists() else "tests/data/lincoln-2016.csv is not here.")
    station = Station(name="Lincoln", files=(LINCOLN.name,), units=System.US)
    weather, problems = read_station(station, LINCOLN.parent)
    assert facts(problems) == [
        ("weather-gap-filled", {"days": "17 June 2016", "station": "Lincoln"})
    ]
    assert weather is not None
    year = weather.year(2016)
    assert len(year) == 366
    summer = weather.between(date(2016, 6, 1), date(2016, 8, 31))
    assert summer.tmax_f.max() == 99
    assert (summer.tmax_f >= 95).sum() == 4
    autumn = weather.between(date(2016, 9, 1), date(2016, 12, 31))
    assert str(autumn.days[autumn.tmin_f <= 32][0]) == "2016-10-12"
    metric = Station(name="Lincoln", files=(LINCOLN.name,), units=System.METRIC)
    weather, problems = read_station(metric, LINCOLN.parent)
    assert weather is None
    assert codes(problems) == ["weather-units"]
