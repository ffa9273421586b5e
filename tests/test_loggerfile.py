"""What loggers write, in the shapes of ``tests/data/loggers``: the same night in each of them.

The shapes are invented after those that tables of the air come in: delimiters, encodings, prefaces,
orders of a date, units. Zone: Toronto, five hours behind UTC in January.
"""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import dateutil.parser
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.clock import to_minute
from scheduler.errors import BadFile
from scheduler.loggerfile import Row, Rows, read
from tests.support.examples import examples

ZONE = "America/Toronto"
LOGGERS = Path(__file__).parent / "data" / "loggers"


def wall(text: str) -> datetime:
    return datetime.fromisoformat(text)


NIGHT = wall("2027-01-12 22:00")
CELSIUS = (18.0, 17.5, 17.5, 17.0, 16.5, 16.5, 16.0, 16.0)
PER_CENT = (55, 55, 56, 56, 57, 58, 58, 59)
ZONELESS = f"times that name no zone are read as those of {ZONE}"
SHAPES = {
    "compact.csv": [ZONELESS],
    "date_and_clock.csv": [ZONELESS],
    "day_month.csv": [ZONELESS],
    "fraction.csv": [ZONELESS, "'Humidity' never goes above 1, so it is taken as a fraction"],
    "milliseconds.csv": [
        "the times are numbers: read as milliseconds since 1970",
        "temperatures name no unit: by their size they are taken as degrees Fahrenheit",
    ],
    "missing.csv": [
        ZONELESS,
        "1 line without a time left out",
        "the temperature is missing in 2 lines",
        "1 figure of temperature beyond what air can be left out",
        "the humidity is missing in 2 lines",
        "1 figure of humidity beyond what air can be left out",
    ],
    "month_first_names.csv": [ZONELESS, "column 'Temp °F' is left out"],
    "newest_first.csv": [ZONELESS],
    "offset.csv": [],
    "plain.csv": [ZONELESS],
    "preface.csv": [ZONELESS],
    "seconds.csv": ["the times are numbers: read as seconds since 1970"],
    "shuffled.csv": [
        ZONELESS,
        "lines were out of order in 4 places: sorted by time",
        "2 lines of a minute that had one before left out",
    ],
    "spreadsheet_days.csv": ["the times are numbers: read as days of a spreadsheet", ZONELESS],
    "twelve_hours.csv": [],
    "two_headings.csv": [ZONELESS],
    "units_in_cells.csv": [ZONELESS],
    "utc_heading.csv": [],
    "utf16.txt": [ZONELESS],
}


def table(*lines: str, heading: str = "time,temperature C,humidity %") -> bytes:
    return "\n".join([heading, *lines]).encode()


def reading(content: bytes, day_first: bool | None = None, zone: str = ZONE) -> Rows:
    return read(content, "bath.csv", zone, day_first)


def refusal(content: bytes) -> str:
    with pytest.raises(BadFile) as refused:
        reading(content)
    return str(refused.value)


def minutes(rows: Iterable[Row]) -> list[int]:
    return [row.at for row in rows]


# Shapes -------------------------------------------------------------------------------------------


def test_every_shape_is_tried() -> None:
    assert {path.name for path in LOGGERS.iterdir()} == set(SHAPES)


@pytest.mark.parametrize("shape", SHAPES)
def test_the_same_night_in_every_shape(shape: str) -> None:
    found = read((LOGGERS / shape).read_bytes(), shape, ZONE)
    first = to_minute(NIGHT, ZONE)
    assert minutes(found.rows) == [first + 60 * i for i in range(8)]
    assert [row.temperature for row in found.rows] == pytest.approx(CELSIUS, abs=1e-9)
    assert [row.humidity for row in found.rows] == pytest.approx([h / 100 for h in PER_CENT])


@pytest.mark.parametrize("shape", SHAPES)
def test_every_assumption_and_loss_is_told_and_nothing_else(shape: str) -> None:
    assert list(read((LOGGERS / shape).read_bytes(), shape, ZONE).notes) == SHAPES[shape]


def test_a_table_may_lack_a_quantity() -> None:
    found = reading(b"time,humidity %\n2027-01-09 12:00,55\n")
    assert found.rows == (Row(to_minute(wall("2027-01-09 12:00"), ZONE), None, 0.55),)
    assert "it has no temperature" in found.notes


def test_a_heading_may_be_spread_over_columns_that_are_none_of_ours() -> None:
    found = reading(
        b"timezone,uptime min,date/time,max temp C,dew point C,temp C,abs humidity g/m3,RH\n"
        b"EST,5,2027-01-09 12:00,30,9,20,8,55\n"
    )
    assert found.rows[0][1:] == (20.0, 0.55)


# Dates --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("dates", "day_first", "first", "said"),
    [
        (("05/01/2027", "06/01/2027"), None, wall("2027-01-05 00:00"), "day/month"),
        (("01/05/2027", "01/06/2027"), None, wall("2027-01-05 00:00"), "month/day"),
        (("31/01/2027", "01/02/2027"), None, wall("2027-01-31 00:00"), ""),
        (("1/31/2027", "2/1/2027"), None, wall("2027-01-31 00:00"), ""),
        (("05/01/2027", "06/01/2027"), False, wall("2027-05-01 00:00"), ""),
        (("05/01/2027",), True, wall("2027-01-05 00:00"), ""),
        (("05/01/2027",), False, wall("2027-05-01 00:00"), ""),
        (("31/01/2027",), False, wall("2027-01-31 00:00"), "no month 31"),
        (("05.01.2027",), None, wall("2027-01-05 00:00"), ""),
    ],
)
def test_which_field_is_the_day(
    dates: tuple[str, ...], day_first: bool | None, first: datetime, said: str
) -> None:
    found = reading(table(*(f"{date} 12:00,20,50" for date in dates)), day_first)
    assert found.rows[0].at == to_minute(first + timedelta(hours=12), ZONE)
    notes = [note for note in found.notes if note != ZONELESS and "nothing was read" not in note]
    assert len(notes) == bool(said)
    assert said in "".join(notes)


def test_where_nothing_tells_the_day_from_the_month_it_asks() -> None:
    assert refusal(table("05/01/2027 23:00,19,55", "05/01/2027 23:30,19,55")) == (
        "bath.csv:2:1: nothing tells the day from the month in 5/1: say --day-first yes for 5 Jan, "
        "or --day-first no for 1 May"
    )


@pytest.mark.parametrize(
    ("clock", "hour"),
    [("12:30 AM", 0), ("12:30 PM", 12), ("1:30pm", 13), ("11:30 p.m.", 23), ("00:30", 0)],
)
def test_clocks_of_twelve_hours(clock: str, hour: int) -> None:
    found = reading(table(f"2027-01-09 {clock},20,50"))
    assert found.rows[0].at == to_minute(wall(f"2027-01-09 {hour:02}:30"), ZONE)


def test_a_day_that_there_is_not_has_no_time() -> None:
    found = reading(table("2027-02-30 12:00,20,50", "2027-02-28 24:00,20,50"))
    assert minutes(found.rows) == [to_minute(wall("2027-03-01 00:00"), ZONE)]
    assert "1 line without a time left out" in found.notes


# Clocks changed -----------------------------------------------------------------------------------


def test_the_hour_that_autumn_has_twice_is_read_twice() -> None:
    """Clocks in Toronto went from 2:00 back to 1:00 on 7 November 2027."""
    walls = ("00:30", "01:00", "01:30", "01:00", "01:30", "02:00")
    found = reading(table(*(f"2027-11-07 {wall},20,50" for wall in walls)))
    first = to_minute(wall("2027-11-07 00:30"), ZONE)
    assert minutes(found.rows) == [first + 30 * i for i in range(6)]


def test_the_same_with_the_newest_first() -> None:
    walls = ("00:30", "01:00", "01:30", "01:00", "01:30", "02:00")
    found = reading(table(*(f"2027-11-07 {wall},20,50" for wall in reversed(walls))))
    first = to_minute(wall("2027-11-07 00:30"), ZONE)
    assert minutes(found.rows) == [first + 30 * i for i in range(6)]


def test_a_clock_that_nobody_put_forward_is_found_out() -> None:
    """2:30 on 14 March 2027 is on no clock in Toronto that was."""
    walls = ("01:30", "02:00", "02:30", "03:00", "03:30")
    found = reading(table(*(f"2027-03-14 {wall},20,50" for wall in walls)))
    first = to_minute(wall("2027-03-14 01:30"), ZONE)
    assert minutes(found.rows) == [first + 30 * i for i in range(5)]
    assert found.notes == (
        "the logger's clock was not put forward in spring: read without the change",
    )


def test_a_clock_that_was_put_forward() -> None:
    found = reading(table(*(f"2027-03-14 {wall},20,50" for wall in ("01:30", "03:00", "03:30"))))
    first = to_minute(wall("2027-03-14 01:30"), ZONE)
    assert minutes(found.rows) == [first + 30 * i for i in range(3)]


# Figures ------------------------------------------------------------------------------------------


def every(step: int, figures: Iterable[str]) -> bytes:
    """A line every so many minutes."""
    times = (wall("2027-01-09 00:00") + timedelta(minutes=step * i) for i in range(30_000))
    return table(*(f"{t:%Y-%m-%d %H:%M},{f}" for t, f in zip(times, figures, strict=False)))


@pytest.mark.parametrize(
    ("heading", "celsius"),
    [
        ("temp C", 68.0), ("Temperature (°C)", 68.0), ("temp_c", 68.0), ("Temp, deg C", 68.0),
        ("temp F", 20.0), ("Temperature [°F]", 20.0), ("temp_f", 20.0), ("Temp Fahrenheit", 20.0),
        ("Temp ℉", 20.0), ("temperature", 20.0),
    ],
)  # fmt: skip
def test_units_of_temperature(heading: str, celsius: float) -> None:
    found = reading(table("2027-01-09 12:00,68,50", heading=f'time,"{heading}",rh'))
    assert found.rows[0].temperature == pytest.approx(celsius)


def test_figures_that_could_be_either_unit_are_refused() -> None:
    """40 C is as unlikely in a bathroom under work as 40 F, and the floor would show it."""
    assert "could be C or F" in refusal(table("2027-01-09 12:00,40,50", heading="time,temp,rh"))


def test_a_spike_is_left_out() -> None:
    found = reading(every(10, ["20,50"] * 9 + ["29,50"] + ["20,95"] + ["20,50"] * 9))
    assert {row.temperature for row in found.rows} == {20.0, None}
    assert {row.humidity for row in found.rows} == {0.5, None}
    assert "1 spike of temperature left out, far from what was read around it" in found.notes
    assert "1 spike of humidity left out, far from what was read around it" in found.notes


def test_a_step_is_no_spike() -> None:
    """A heater, or wet mortar: it goes up and stays."""
    found = reading(every(10, ["14,40"] * 10 + ["24,80"] * 10))
    assert [row.temperature for row in found.rows] == [14.0] * 10 + [24.0] * 10
    assert [row.humidity for row in found.rows] == [0.4] * 10 + [0.8] * 10


def test_what_comes_once_an_hour_is_no_spike() -> None:
    """An hour of steam may have been an hour of steam."""
    found = reading(every(60, ["20,50"] * 9 + ["20,95"] + ["20,50"] * 9))
    assert max(row.humidity or 0 for row in found.rows) == 0.95


def test_saturated_air_may_read_a_little_above_it() -> None:
    assert reading(table("2027-01-09 12:00,20,102.5")).rows[0].humidity == 1.0


def test_gaps_are_told_and_not_filled() -> None:
    found = reading(table("2027-01-09 12:00,20,50", "2027-01-09 12:30,20,50",
                          "2027-01-09 16:00,20,50", "2027-01-09 16:30,20,50"))  # fmt: skip
    assert len(found.rows) == 4
    assert [note.replace("\N{NO-BREAK SPACE}", " ") for note in found.notes][1:] == [
        "nothing was read from Sat 9 Jan 12:30 to Sat 9 Jan 16:00"
    ]


def test_many_gaps_are_counted() -> None:
    days = (f"2027-01-{d:02} {clock},20,50" for d in range(1, 9) for clock in ("9:00", "9:15"))
    assert reading(table(*days)).notes[-1] == "and 4 gaps more"


# No logs ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "this file is empty"),
        (b"  \n \n", "this file is empty"),
        (b"%PDF-1.7\n...", "a PDF"),
        (b"PK\x03\x04\x14\x00", "save the sheet as CSV"),
        (b"\x00\x01\x02\x03binary\x00\x00", "no text"),
        (b'{"hourly": {"time": []}}', "--forecast"),
        (b"Dear all,\nthe time was short, the temperature low\nYours\n", "no heading"),
        (b"job: Larch Row\ntimezone: America/Toronto\nair: {temperature: 66 F}\n", "no heading"),
        (b"2027-01-09 12:00,20,50\n", "time,temperature C,humidity %"),
        (b"name,price\nmortar,36.50\n", "no heading"),
        (b"time,temperature C\n", "no heading"),
        (b"time,temperature C\n15,20\n30,20\n", "counted from nobody says when"),
        (b"time,temperature C\n2027-01-09 12:00,\n2027-01-09 12:15,n/a\n", "nothing in it"),
    ],
)
def test_what_is_no_log_is_refused_with_what_would_be_right(content: bytes, words: str) -> None:
    message = refusal(content)
    assert message.startswith("bath.csv:")
    assert words in message


@given(st.binary(max_size=400))
def test_no_bytes_lead_to_a_traceback(content: bytes) -> None:
    try:
        found = reading(content)
    except BadFile:
        return
    assert found.rows


@given(
    st.sampled_from(sorted(SHAPES)), st.lists(st.tuples(st.integers(0, 700), st.binary(max_size=3)))
)
def test_no_damage_leads_to_a_traceback(shape: str, damage: list[tuple[int, bytes]]) -> None:
    content = (LOGGERS / shape).read_bytes()
    for at, new in damage:
        content = content[:at] + new + content[at + 1 :]
    try:
        found = reading(content)
    except BadFile:
        return
    assert minutes(found.rows) == sorted(set(minutes(found.rows)))
    for row in found.rows:
        assert row.temperature is None or -40 <= row.temperature <= 70
        assert row.humidity is None or 0 < row.humidity <= 1


def test_thirty_thousand_lines_are_read() -> None:
    found = reading(every(1, ["20.1,55"] * 30_000))
    assert len(found.rows) == 30_000


# Against another reader of dates ------------------------------------------------------------------


@given(
    st.datetimes(wall("2000-01-13 00:00"), wall("2037-12-31 00:00")),
    st.sampled_from([
        "%Y-%m-%dT%H:%M:%S+02:00", "%Y-%m-%d %H:%M:%SZ", "%Y%m%dT%H%M%S", "%d %b %Y %H:%M",
        "%b %d, %Y %I:%M %p", "%A, %d %B %Y %H:%M", "%Y/%m/%d %H:%M:%S", "%d.%m.%Y %H:%M",
    ]),
)  # fmt: skip
@examples()
def test_dates_are_read_as_dateutil_reads_them(at: datetime, form: str) -> None:
    """What dateutil's parser makes of the same text, in UTC where that names no offset."""
    text = at.strftime(form)
    other = dateutil.parser.parse(text, dayfirst="." in form)
    aware = other if other.tzinfo else other.replace(tzinfo=UTC)
    found = reading(table(f'"{text}",20,50'), zone="UTC")
    assert minutes(found.rows) == [int(aware.timestamp()) // 60]
