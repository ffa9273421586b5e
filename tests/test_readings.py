"""The air as read and as foreseen, laid over what a job supposes."""

from dataclasses import replace
from datetime import datetime

import numpy as np
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler import air as moist_air
from scheduler import progress, straying
from scheduler.clock import DAY, HOUR, to_minute
from scheduler.course import Supposed, both, quantities
from scheduler.forecast import Forecast
from scheduler.loggerfile import Row
from scheduler.model import Air, Conditions, Course, Job, Reading, Room, Stage
from scheduler.readings import laid_over, serving
from tests.support import planned

ZONE = "America/Toronto"
START = to_minute(datetime.fromisoformat("2027-01-08 17:00"), ZONE)
HOUSE = Air(19.0, 0.45, swing=1.5)
SHOWER = Air(16.0, 0.55, swing=1.0)
JOB = Job(
    name="Larch Row", timezone=ZONE, start=START, air=HOUSE, people={}, products={}, tasks=(),
    rooms={"shower": Room("shower", SHOWER), "bathroom": Room("bathroom", HOUSE)},
)  # fmt: skip


def read(hour: float, warm: float | None, damp: float | None, room: str | None = None) -> Reading:
    return Reading(START + round(hour * HOUR), room, warm, damp)


def laid(
    *readings: Reading, now: float = 100, forecast: Forecast | None = None, job: Job = JOB
) -> Job:
    return laid_over(job, readings, START + round(now * HOUR), forecast)[0]


def words(*readings: Reading, now: float = 100, forecast: Forecast | None = None) -> list[str]:
    notes = laid_over(JOB, readings, START + round(now * HOUR), forecast)[1]
    return [note.replace("\N{NO-BREAK SPACE}", " ") for note in notes]


def at(air: Air, hour: float) -> tuple[float, float]:
    """Temperature and humidity at so many hours after the start, rounded."""
    minute = np.array([START + round(hour * HOUR)])
    warm = moist_air.temperatures(air, minute, ZONE)[0]
    return round(float(warm), 3), round(float(moist_air.humidities(air, minute)[0]), 4)


def course(air: Air) -> Course:
    assert air.course is not None
    return air.course


STEADY = replace(JOB, air=Air(18.0, 0.50), rooms={"bath": Room("bath", Air(18.0, 0.50))})


# Which readings -----------------------------------------------------------------------------------


def test_nothing_read_changes_nothing() -> None:
    assert laid_over(JOB, (), START) == (JOB, ())


def test_readings_of_a_room_are_its_own() -> None:
    job = laid(read(1, 12, 0.7, "shower"))
    assert job.rooms["shower"].air.course
    assert job.air.course is None
    assert job.rooms["bathroom"].air.course is None


def test_readings_without_a_room_serve_rooms_that_have_the_air_of_the_job() -> None:
    job = laid(read(1, 12, 0.7))
    assert job.rooms["shower"].air.course is None
    assert job.rooms["bathroom"].air is job.air, "one air, so that what is reckoned is kept"
    assert at(job.air, 1) == (12.0, 0.7)


def test_a_room_that_is_read_needs_none_of_the_job() -> None:
    job = laid(read(1, 12, 0.7), read(1, 14, 0.6, "bathroom"))
    assert at(job.air, 1) == (12.0, 0.7)
    assert at(job.rooms["bathroom"].air, 1) == (14.0, 0.6)
    assert serving(JOB, [read(1, 12, 0.7)], "shower") == ()


def test_readings_that_are_still_to_come_are_left_aside() -> None:
    assert laid(read(5, 12, 0.7), now=4).air.course is None
    assert words(read(5, 12, 0.7), now=4) == ["1 reading later than now left aside"]


def test_the_order_of_readings_makes_no_difference() -> None:
    some = [read(h, 15 + h / 10, 0.5 + h / 100) for h in range(12)]
    one, other = course(laid(*some).air), course(laid(*reversed(some)).air)
    assert (one.minutes, one.temperatures) == (other.minutes, other.temperatures)


# The past -----------------------------------------------------------------------------------------


def test_between_readings_the_air_is_on_the_line() -> None:
    air = laid(read(0, 14, 0.6), read(2, 16, 0.7), read(3, 13, 0.7)).air
    assert at(air, 1) == (15.0, 0.65)
    assert at(air, 2) == (16.0, 0.7)
    assert at(air, 2.5) == (14.5, 0.7)


def test_before_the_first_reading_it_is_as_supposed() -> None:
    assert at(laid(read(5, 14, 0.6)).air, 4.9) == at(HOUSE, 4.9)


def test_in_a_gap_the_worse_counts() -> None:
    """A logger that stops for a night; three steps of an hour are bridged, more are not."""
    warm = laid(*(read(h, 22, 0.30) for h in (0, 1, 2, 12, 13)), job=STEADY).air
    assert at(warm, 7) == (18.0, 0.50), "as supposed, where the line is warmer and drier"
    cold = laid(*(read(h, 12, 0.80) for h in (0, 1, 2, 12, 13)), job=STEADY).air
    assert at(cold, 7) == (12.0, 0.80), "on the line, where that is colder and damper"


def test_a_gap_of_three_hours_is_bridged() -> None:
    air = laid(*(read(h, 22, 0.30) for h in (0, 1, 4)), job=STEADY).air
    assert at(air, 2.5) == (22.0, 0.30)


def test_readings_once_a_day_are_gaps_all_of_them() -> None:
    air = laid(*(read(24 * d, 22, 0.30) for d in range(4)), job=STEADY).air
    assert at(air, 36) == (18.0, 0.50)


def test_a_quantity_that_was_not_read_is_as_supposed() -> None:
    air = laid(read(0, 14, None), read(1, 14, None)).air
    assert at(air, 0.5) == (14.0, 0.45)
    assert course(air).humidities == (0.45,) * len(course(air).minutes)


def test_temperature_and_humidity_may_be_read_at_different_times() -> None:
    air = laid(read(0, 14, None), read(1, None, 0.6), read(2, 16, None), read(3, None, 0.8)).air
    assert at(air, 1) == (15.0, 0.6)
    assert at(air, 2) == (16.0, 0.7)


# The future ---------------------------------------------------------------------------------------


def test_what_is_foreseen_is_the_swing_and_the_deviation_that_fades() -> None:
    readings = [read(h, at(HOUSE, h)[0] - 3, 0.60) for h in range(24)]
    air = laid(*readings, now=24).air
    far = [at(air, hour)[0] - at(HOUSE, hour)[0] for hour in (30, 30 + 48, 30 + 96)]
    assert -2.7 < far[0] < -2.1
    assert far[1] == pytest.approx(far[0] / np.e, rel=0.01)
    assert far[2] == pytest.approx(far[1] / np.e, rel=0.01)
    assert 0.04 < at(air, 23 + 48)[1] - 0.45 < 0.06


def test_the_course_is_what_the_process_expects() -> None:
    """The odds go by the same posterior: its mean is the air of the plan."""
    readings = [read(h / 4, 15 + h % 3, 0.5 + h % 5 / 50) for h in range(60)]
    air = laid(*readings).air
    hours = (21, 30, 70)  # the last reading is more than six hours ago
    nodes = np.array([START + h * HOUR for h in hours])
    warm, damp = (
        straying.given(of.strays, series.deviation(of, Supposed(HOUSE, ZONE)), nodes).mean
        for of, series in zip(quantities(), both(readings), strict=True)
    )
    for i, hour in enumerate(hours):
        there, moist = at(air, hour)
        assert there - at(HOUSE, hour)[0] == pytest.approx(warm[i], abs=2e-3)
        assert moist - 0.45 == pytest.approx(damp[i], abs=2e-4)


def test_soon_after_the_last_reading_the_air_is_as_bad_as_it_was_read() -> None:
    # Two damp readings far apart make 78 % likely at once, and no coat may trust in that.
    readings = [read(0, 18, 0.93), read(15.5, 18, 0.92)]
    air = laid(*readings, job=STEADY, now=16).air
    assert at(air, 15.75)[1] > 0.91
    assert at(air, 16.5)[1] > 0.89
    line = [at(air, 15.5 + h)[1] for h in (0, 2, 4, 6)]
    assert line[1] == pytest.approx((2 * line[0] + line[3]) / 3, abs=1e-4)
    assert line[2] == pytest.approx((line[0] + 2 * line[3]) / 3, abs=1e-4)
    known = course(air)
    assert known.driest is not None  # what cures with damp may not count on it
    assert all(dry <= damp for dry, damp in zip(known.driest, known.humidities, strict=True))
    assert min(known.driest) < 0.8


def test_air_read_as_better_than_is_likely_is_not_believed_longer() -> None:
    good, same = laid(read(0, 25, 0.30), job=STEADY).air, laid(read(0, 18, 0.5), job=STEADY).air
    assert at(good, 1)[0] < 23
    assert at(good, 1)[1] > 0.38
    assert at(same, 1) == pytest.approx((18.0, 0.5), abs=1e-6)


def test_the_course_ends_where_nothing_is_left_of_the_deviation() -> None:
    air = laid(read(0, 10, 0.9)).air
    end = (course(air).minutes[-1] - START) / HOUR
    assert 4 * 24 < end < 14 * 24
    for hour in (end, end + 0.25):
        assert at(air, hour)[0] == pytest.approx(at(HOUSE, hour)[0], abs=0.0511)
        assert at(air, hour)[1] == pytest.approx(0.45, abs=0.00511)


def test_readings_as_supposed_change_no_temperature() -> None:
    readings = [read(h, at(HOUSE, h)[0], 0.45) for h in range(0, 10)]
    air = laid(*readings).air
    assert len(course(air).minutes) < 60
    for hour in (9.25, 9.5, 12, 20):
        assert at(air, hour)[0] == pytest.approx(at(HOUSE, hour)[0], abs=0.01)


def test_humidity_keeps_to_what_there_can_be() -> None:
    air = laid(*(read(h, 18, 1.0) for h in range(100)), job=replace(STEADY, air=Air(18, 0.99))).air
    assert max(course(air).humidities) <= 1.0
    dry = laid(*(read(h, 18, 0.01) for h in range(100)), job=replace(STEADY, air=Air(18, 0.02))).air
    assert min(course(dry).humidities) >= 0.01


def test_a_course_that_says_nothing_new_has_few_nodes() -> None:
    air = laid(*(read(h, 18, 0.50) for h in range(100)), job=STEADY).air
    assert len(course(air).minutes) == 2


READINGS = st.lists(
    st.builds(
        read, st.integers(0, 200), st.none() | st.floats(-5, 35), st.none() | st.floats(0.05, 1),
        st.sampled_from([None, "shower", "bathroom"]),
    ),
    max_size=30,
)  # fmt: skip


@given(READINGS, st.integers(0, 220))
def test_any_readings_make_sound_courses(readings: list[Reading], now: int) -> None:
    job, notes = laid_over(JOB, readings, START + now * HOUR)
    for air in (job.air, *(room.air for room in job.rooms.values())):
        if air.course:
            assert len(air.course.minutes) >= 2
            assert (np.diff(air.course.minutes) > 0).all()
            assert len(air.course.minutes) == len(air.course.temperatures)
            assert all(0.01 <= rh <= 1 for rh in air.course.humidities)
            assert all(-40 <= t <= 80 for t in air.course.temperatures)
    assert all(notes)


# Forecasts ----------------------------------------------------------------------------------------


def rows(*air: tuple[float, float | None, float | None]) -> tuple[Row, ...]:
    return tuple(Row(START + round(hour * HOUR), warm, damp) for hour, warm, damp in air)


def test_a_forecast_of_the_room_takes_the_place_of_what_is_supposed() -> None:
    ahead = Forecast(rows(*((h, 25.0, 0.35) for h in range(48))))
    job = laid(forecast=ahead, now=0)
    assert at(job.air, 10) == (25.0, 0.35)
    assert at(job.air, 60) == at(HOUSE, 60)
    assert job.rooms["bathroom"].air is job.air
    assert job.rooms["shower"].air.course is None, "it has an air of its own"


def test_a_forecast_may_be_of_one_room() -> None:
    ahead = Forecast(rows(*((h, 25.0, 0.35) for h in range(48))), room="shower")
    job = laid(forecast=ahead, now=0)
    assert at(job.rooms["shower"].air, 10) == (25.0, 0.35)
    assert job.air.course is None
    assert job.rooms["bathroom"].air.course is None


def test_readings_go_before_a_forecast() -> None:
    ahead = Forecast(rows(*((h, 25.0, 0.35) for h in range(48))))
    air = laid(read(0, 14, 0.6), read(2, 14, 0.6), forecast=ahead, now=3).air
    assert at(air, 1) == (14.0, 0.6)
    # Soon after a reading the air is no better than on the line to what is forecast in 6 h.
    assert at(air, 5) == pytest.approx((14 + 11 / 2, 0.6 - 0.25 / 2), abs=1e-3)
    assert at(air, 8) == (25.0, 0.35)
    after = at(air, 50)[0] - at(HOUSE, 50)[0]
    assert -2 < after < -0.3, "what the readings showed goes on to fade behind it"


def test_a_gap_in_a_forecast_is_the_worse_side() -> None:
    ahead = Forecast(rows((0, 25.0, 0.35), (1, 25.0, 0.35), (20, 25.0, 0.35), (21, 25.0, 0.35)))
    assert at(laid(forecast=ahead, now=0, job=STEADY).air, 10) == (18.0, 0.50)


def test_moisture_outdoors_makes_a_room_as_damp_as_psychrolib_has_it() -> None:
    """Within 0.5 % of the saturation pressures of ASHRAE, which psychrolib has."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    outdoors = Forecast(rows((0, 17.0, 0.90), (24, 17.0, 0.90)), outdoor=True)
    outdoors = replace(outdoors, rows=rows(*((h, 17.0, 0.90) for h in range(25))))
    _, damp = at(laid(forecast=outdoors, now=0, job=STEADY).air, 5)
    moisture = psychrolib.GetVapPresFromRelHum(17.0, 0.90)
    assert damp == pytest.approx(psychrolib.GetRelHumFromVapPres(18.0, moisture), rel=0.005)


def test_dry_cold_air_outdoors_dries_no_room() -> None:
    outdoors = Forecast(rows(*((h, -10.0, 0.60) for h in range(48))), outdoor=True)
    air = laid(forecast=outdoors, now=0).air
    for hour in (1, 13, 30):
        assert at(air, hour) == pytest.approx(at(HOUSE, hour), abs=0.01)


def test_air_outdoors_warms_no_room_and_cools_none() -> None:
    outdoors = Forecast(rows(*((h, 33.0, 0.40) for h in range(48))), outdoor=True)
    air = laid(forecast=outdoors, now=0, job=STEADY).air
    assert at(air, 10)[0] == 18.0
    assert at(air, 10)[1] > 0.9


def test_air_outdoors_without_its_temperature_or_humidity_tells_nothing() -> None:
    outdoors = Forecast(rows(*((h, None, 0.9) for h in range(48))), outdoor=True)
    assert laid(forecast=outdoors, now=0).air.course is None


STAGES = [
    Stage("set", law, 12 * HOUR, Conditions(23.0, 0.5), "published", "test", shorten=True)
    for law in ("hydration", "drying", "thick-drying", "moisture-cure")
]


@pytest.mark.parametrize("stage", STAGES, ids=lambda stage: stage.law)
@given(data=st.data())
def test_air_outdoors_never_shortens_a_wait(stage: Stage, data: st.DataObject) -> None:
    """Whatever is read indoors, and whatever the law: not even one that likes it damp."""
    outdoors = Forecast(
        rows(*((h, data.draw(st.floats(-20, 38)), data.draw(st.floats(0.1, 1))) for h in range(9))),
        outdoor=True,
    )
    readings = data.draw(st.lists(st.builds(
        read, st.integers(-5, 3), st.floats(5, 30), st.floats(0.2, 0.9)), max_size=4))  # fmt: skip
    without = laid(*readings, now=3).air
    with_it = laid(*readings, now=3, forecast=outdoors).air
    for finish in (START, START + 4 * HOUR):
        ends = [
            progress.ready(stage, air, ZONE, START - DAY, START + 60 * DAY).after(finish)
            for air in (without, with_it)
        ]
        assert ends[1] >= ends[0] - 1


# Plans --------------------------------------------------------------------------------------------

SEALED = """
    job: Larch Row
    timezone: America/Toronto
    start: 2027-01-08 17:00
    air: {temperature: 19 C, humidity: 45 %, swing: 1.5 C}
    people: {me: {hours: [daily 8:00-20:00]}}
    rooms: {shower: {}}
    products:
      membrane: {class: liquid-membrane}
      silicone: {class: silicone, thickness: 6 mm}
    tasks:
      coat: {who: me, room: shower, work: 1 h, applies: membrane}
      coat-2: {who: me, room: shower, work: 1 h, applies: membrane, after: {coat: recoat}}
      bead: {who: me, room: shower, work: 1 h, applies: silicone, after: {coat-2: tile}}
      use: {who: me, room: shower, work: 1 h, after: {bead: water}}
"""


def days(*readings: Reading, forecast: Forecast | None = None) -> float:
    """How long the job takes in the air as laid over it; the plan is verified."""
    job = laid(*readings, now=24, forecast=forecast, job=planned.read(SEALED))
    return (planned.verified(job).finish - START) / DAY


def test_a_plan_goes_by_what_was_read() -> None:
    cold = [read(h, 9, 0.85) for h in range(24)]
    warm = [read(h, 24, 0.40) for h in range(24)]
    assert days(*warm) <= days() < days(*cold)


def test_a_plan_in_damp_air_outdoors_is_sound_and_no_shorter() -> None:
    wet = Forecast(rows(*((h, 19, 0.8 + h % 24 / 200) for h in range(24 * 14))), outdoor=True)
    assert days(forecast=wet) >= days()
    dry = [read(h, 19, 0.25) for h in range(24)]
    assert days(*dry, forecast=wet) >= days(*dry)


# Words --------------------------------------------------------------------------------------------


def test_it_says_how_the_air_came_about() -> None:
    readings = [read(h, at(HOUSE, h)[0] - 3, 0.60) for h in range(24)]
    assert words(*readings, now=24) == [
        "the job, bathroom: air as read 24 times from Fri 8 Jan 17:00 to Sat 9 Jan 16:00; for 6 "
        "h after it no better than on the line from there, then as supposed, 2.4 C colder and"
        " 11.3 % damper now, which fades over days",
    ]


def test_it_says_where_nothing_was_read() -> None:
    said = words(*(read(h, 18, 0.5, "shower") for h in (0, 1, 12, 13)))
    assert said[1] == (
        "shower: not read from Fri 8 Jan 18:00 to Sat 9 Jan 05:00: there the worse counts of what "
        "is supposed and the line between"
    )


SPAN = "the forecast, from Fri 8 Jan 2027 17:00 to Fri 8 Jan 2027 18:00,"
TWO = rows((0, 20.0, 0.4), (1, 20.0, 0.4))


@pytest.mark.parametrize(
    ("forecast", "said"),
    [
        (Forecast(TWO), f"{SPAN} is the air of the job after what was read"),
        (Forecast(TWO, room="shower"), f"{SPAN} is the air of shower after what was read"),
        (
            Forecast(TWO, outdoor=True),
            f"{SPAN} is of outdoors: rooms are taken as damp as its moisture makes them at their "
            "own temperature, where that is more than supposed; a guess, which shortens no wait",
        ),
        (
            Forecast(rows((-60, 20.0, 0.4), (-50, 20.0, 0.4))),
            "the forecast, from Wed 6 Jan 2027 05:00 to Wed 6 Jan 2027 15:00, is not of the time "
            "of the job",
        ),
        (
            Forecast(TWO, room="attic"),
            f"{SPAN} counts for no room: each has air of its own; say --forecast ROOM=FILE",
        ),
    ],
)
def test_it_says_what_a_forecast_is_good_for(forecast: Forecast, said: str) -> None:
    assert words(forecast=forecast, now=0) == [said]


def test_a_forecast_of_another_time_changes_nothing() -> None:
    past = Forecast(rows((-60, 30.0, 0.4), (-50, 30.0, 0.4)))
    assert laid(forecast=past, now=0) == JOB
