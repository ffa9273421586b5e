"""Forecasts from files: Open-Meteo JSON, EPW typical years, tables. The figures are invented.

Layouts: Open-Meteo's documentation of its answer and the EPW data dictionary of the EnergyPlus
manual, both from memory.
"""

import json
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler import forecast
from scheduler.clock import DAY, HOUR, to_local, to_minute
from scheduler.errors import BadFile
from scheduler.forecast import Forecast
from scheduler.loggerfile import Row

ZONE = "America/Toronto"


def minute(text: str, zone: str = ZONE) -> int:
    return to_minute(datetime.fromisoformat(text), zone)


NEAR = minute("2027-01-08 17:00")


def read(content: bytes, outdoor: bool = False, near: int = NEAR) -> Forecast:
    return forecast.read(content, "sky.json", ZONE, near, outdoor)


def refusal(content: bytes) -> str:
    with pytest.raises(BadFile) as refused:
        read(content)
    return str(refused.value)


# Open-Meteo ---------------------------------------------------------------------------------------

ANSWER: Mapping[str, object] = {
    "utc_offset_seconds": -18000,
    "timezone": "America/Toronto",
    "hourly_units": {"time": "iso8601", "temperature_2m": "°C", "relative_humidity_2m": "%"},
    "hourly": {
        "time": ["2027-01-09T00:00", "2027-01-09T01:00", "2027-01-09T02:00"],
        "temperature_2m": [-3.0, -3.5, -4.0],
        "relative_humidity_2m": [80, 82, 85],
    },
}
THREE = (
    Row(minute("2027-01-09 00:00"), -3.0, 0.80),
    Row(minute("2027-01-09 01:00"), -3.5, 0.82),
    Row(minute("2027-01-09 02:00"), -4.0, 0.85),
)


def answer(hourly: Mapping[str, object] | None = None, **others: object) -> bytes:
    """The answer with some keys exchanged; None leaves one out."""
    said = {**ANSWER, **others}
    if hourly is not None:
        block = {**ANSWER["hourly"], **hourly}  # type: ignore[dict-item]
        said["hourly"] = {key: value for key, value in block.items() if value is not None}
    return json.dumps({key: value for key, value in said.items() if value is not None}).encode()


def test_an_answer_is_air_outdoors() -> None:
    found = read(answer())
    assert found.rows == THREE
    assert found.outdoor
    assert found.notes == ()


def test_degrees_fahrenheit() -> None:
    units = {"temperature_2m": "°F", "relative_humidity_2m": "%"}
    found = read(answer({"temperature_2m": [26.6, 25.7, 24.8]}, hourly_units=units))
    assert [row.temperature for row in found.rows] == pytest.approx([-3.0, -3.5, -4.0])


def test_older_names() -> None:
    old = {"relative_humidity_2m": None, "relativehumidity_2m": [80, 82, 85]}
    assert read(answer(old)).rows == THREE


def test_hours_of_which_nothing_is_known_are_left_out() -> None:
    found = read(answer({"temperature_2m": [None, -3.5, None],
                         "relative_humidity_2m": [None, 82, 85]}))  # fmt: skip
    assert found.rows == (THREE[1], Row(THREE[2].at, None, 0.85))
    assert found.notes == ("1 hour without air left out",)


def test_seconds_are_of_utc_whatever_the_zone() -> None:
    found = read(answer({"time": [row.at * 60 for row in THREE]}))
    assert found.rows == THREE


def test_the_zone_comes_before_the_offset() -> None:
    """The offset is that of one day; a summer's answer may reach into winter."""
    assert read(answer(utc_offset_seconds=-14400)).rows == THREE


def test_an_unknown_zone_leaves_the_offset() -> None:
    found = read(answer(timezone="Nowhere/Atoll", utc_offset_seconds=-14400))
    assert [row.at for row in found.rows] == [row.at - HOUR for row in THREE]
    assert "its time zone 'Nowhere/Atoll' is not known" in found.notes[0]


def test_no_zone_and_no_offset_leave_that_of_the_job() -> None:
    found = read(answer(timezone=None, utc_offset_seconds=None))
    assert found.rows == THREE
    assert ZONE in found.notes[0]


def test_humidity_from_the_dew_point() -> None:
    """At 20 °C with a dew point of 9.3 °C it is 50 % (psychrometric chart, to half a percent)."""
    found = read(answer({"temperature_2m": [20.0] * 3, "relative_humidity_2m": None,
                         "dew_point_2m": [9.27] * 3}))  # fmt: skip
    assert [row.humidity for row in found.rows] == pytest.approx([0.50] * 3, abs=0.005)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b'{"error": true, "reason": "no such place"}', "(it says: no such place)"),
        (b'{"daily": {}}', "no hourly forecast"),
        (b'{"hourly": 3}', "no hourly forecast"),
        (b'{"hourly": {"time": ["when"]}}', "a time of the forecast can't be read"),
        (b"[{}, {}]", "several places"),
        (b'{"hourly": {"time": [', "can't be read; save the forecast anew"),
        (answer({"temperature_2m": None, "relative_humidity_2m": None}), "nothing in it"),
        (b"", "empty"),
        (b"job: Larch Row\n", "no heading"),
    ],
)
def test_what_is_no_forecast_is_refused(content: bytes, words: str) -> None:
    assert words in refusal(content)


SCALARS = (
    st.none() | st.booleans() | st.floats() | st.integers()
    | st.sampled_from(["", "UTC", "°F", "2027-01-09T00:00", "2027-01-09T00:00+05:00", "9999-12-31"])
)  # fmt: skip
NONSENSE = SCALARS | st.lists(SCALARS, min_size=2, max_size=3)


@given(
    st.dictionaries(st.sampled_from(["time", "temperature_2m", "relative_humidity_2m"]), NONSENSE),
    st.dictionaries(st.sampled_from(["timezone", "utc_offset_seconds", "hourly_units"]), NONSENSE),
)
def test_no_answer_leads_to_a_traceback(
    hourly: dict[str, object], others: dict[str, object]
) -> None:
    try:
        found = read(answer(hourly, **others))
    except BadFile:
        return
    assert all(row.temperature is None or -40 <= row.temperature <= 70 for row in found.rows)


# Tables -------------------------------------------------------------------------------------------

TABLE = b"time,temperature C,humidity %\n2027-01-09 00:00,18,50\n2027-01-09 01:00,19,51\n"


def test_a_table_is_of_the_room_unless_somebody_says_otherwise() -> None:
    assert not read(TABLE).outdoor
    assert read(TABLE, outdoor=True).outdoor
    assert read(TABLE).rows == (
        Row(minute("2027-01-09 00:00"), 18.0, 0.50),
        Row(minute("2027-01-09 01:00"), 19.0, 0.51),
    )


def test_a_table_of_open_meteo_is_of_the_air_outdoors() -> None:
    found = read(
        "latitude,longitude,elevation,utc_offset_seconds,timezone,timezone_abbreviation\n"
        "43.6,-79.4,90.0,-25200,America/Denver,MST\n"
        "\n"
        "time,temperature_2m (°C),relative_humidity_2m (%)\n"
        "2027-01-09T00:00,-3.0,80\n".encode()
    )
    assert found.rows == (Row(minute("2027-01-09 00:00", "America/Denver"), -3.0, 0.80),)
    assert found.outdoor


# EPW ----------------------------------------------------------------------------------------------

_Air = Callable[[datetime], tuple[float, float, float]]


def by_the_hour(begun: datetime) -> tuple[float, float, float]:
    """Dry bulb, dew point, humidity: figures that tell month, day and hour apart."""
    return begun.month + begun.hour / 100, 0.0, 40 + begun.day


def epw(ahead: float = -5.0, air: _Air = by_the_hour) -> bytes:
    """A typical year whose months come from several years, as they do."""
    header = [f"LOCATION,Larch,ON,CAN,invented,000000,43.6,-79.4,{ahead},90.0"]
    header += ["DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0"]
    header += ["HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,", "COMMENTS 2,"]
    header += ["DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31"]
    hours = (datetime.fromisoformat("2001-01-01") + timedelta(hours=h) for h in range(8760))
    lines = []
    for begun in hours:
        dry, dew, damp = air(begun)
        year = 1990 + begun.month
        rest = ",".join(["9999"] * 26)
        when = f"{year},{begun.month},{begun.day},{begun.hour + 1},60"
        lines.append(f"{when},?9?9,{dry:.2f},{dew},{damp:.0f},{rest}")
    return "\r\n".join(header + lines).encode()


def row_at(found: Forecast, at: int) -> Row:
    return next(row for row in found.rows if row.at == at)


def test_a_typical_year_is_laid_over_the_dates_of_the_job() -> None:
    """Hour 1 ends at 1:00 of standard time; hour 24 at midnight."""
    found = read(epw())
    assert row_at(found, minute("2027-01-09 01:00")) == (minute("2027-01-09 01:00"), 1.0, 0.49)
    assert row_at(found, minute("2027-01-10 00:00"))[1:] == (1.23, 0.49)
    assert row_at(found, minute("2027-01-10 01:00"))[1:] == (1.0, 0.50)
    assert found.outdoor
    assert found.notes[0].endswith("no forecast")


def test_a_typical_year_keeps_standard_time_in_summer() -> None:
    """16:00 of daylight saving time is 15:00 by the sun's clock: the hour from 14:00 to 15:00."""
    assert row_at(read(epw()), minute("2027-07-01 16:00"))[1:] == (7.14, 0.41)


def test_a_typical_year_goes_on_for_twelve_months() -> None:
    found = read(epw())
    assert found.rows[0].at <= NEAR < found.rows[-1].at
    assert found.rows[-1].at - found.rows[0].at >= 365 * DAY
    assert row_at(found, minute("2028-01-05 01:00"))[1:] == (1.0, 0.45)


def test_a_typical_year_has_no_29_february_and_takes_the_28th() -> None:
    found = read(epw(), near=minute("2028-02-01 00:00"))
    assert row_at(found, minute("2028-02-29 13:00"))[1:] == (2.12, 0.68)
    assert row_at(found, minute("2028-03-01 13:00"))[1:] == (3.12, 0.41)


def test_zones_of_half_an_hour() -> None:
    found = forecast.read(epw(5.5), "sky.epw", "Asia/Kolkata", NEAR)
    at = minute("2027-01-09 01:00", "Asia/Kolkata")
    assert row_at(found, at)[1:] == (1.0, 0.49)
    assert {to_local(row.at, "Asia/Kolkata").minute for row in found.rows} == {0}


def test_what_is_missing_from_a_typical_year() -> None:
    def some(begun: datetime) -> tuple[float, float, float]:
        return {0: (99.9, 99.9, 999.0), 1: (99.9, 0.0, 60.0), 2: (20.0, 9.27, 999.0)}.get(
            begun.hour, (10.0, 5.0, 70.0)
        )

    found = read(epw(air=some))
    at = minute("2027-01-09 01:00")
    assert all(row.at != at for row in found.rows)
    assert row_at(found, at + HOUR)[1:] == (None, 0.60)
    assert row_at(found, at + 2 * HOUR).humidity == pytest.approx(0.50, abs=0.005)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"LOCATION,Larch\n", "hours from UTC"),
        (b"LOCATION,a,b,c,d,e,1,2,west,3\n", "hours from UTC"),
        (b"LOCATION,a,b,c,d,e,1,2,-5,3\n" * 20, "no hours below the header"),
    ],
)
def test_what_is_no_typical_year_is_refused(content: bytes, words: str) -> None:
    assert words in refusal(content)
