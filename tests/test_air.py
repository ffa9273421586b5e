"""Moist air against handbooks and reference libraries; a room's air against the wall clock."""

import math
from datetime import date, datetime, time, timedelta

import numpy as np
import psychrolib
import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI
from hypothesis import given
from hypothesis import strategies as st

from scheduler import air
from scheduler.clock import to_local, to_minute
from scheduler.model import Air, Course

psychrolib.SetUnitSystem(psychrolib.SI)

ATMOSPHERE = 101_325.0  # Pa
WATER_TO_DRY_AIR = 0.621945  # ratio of molar masses; ASHRAE Fundamentals 2017 ch. 1
GAS_CONSTANT_OF_VAPOUR = 461.5  # J/(kg K)

TEMPERATURES = [float(t) for t in range(0, 41, 2)]
HUMIDITIES = [percent / 100 for percent in range(10, 96, 5)]


def iapws_saturation_pressure(t: float) -> float:
    """IAPWS-95, by CoolProp; its liquid begins at the triple point, 0.01 °C."""
    return float(PropsSI("P", "T", max(t, 0.01) + 273.15, "Q", 0, "Water"))


def iapws_dew_point(t: float, rh: float) -> float:
    pressure = rh * iapws_saturation_pressure(t)
    return float(PropsSI("T", "P", pressure, "Q", 0, "Water")) - 273.15


def fahrenheit(degrees: float) -> float:
    return (degrees - 32) / 1.8


@pytest.mark.parametrize(
    ("t", "pascals", "within"),
    [
        # ASHRAE Fundamentals 2017 ch. 1 table 3, as the tests of psychrolib quote it. Its values
        # below 0 °C are over ice and no concern of ours: relative humidity is over water.
        (5, 872.6, 0.002),
        (25, 3169.7, 0.003),
        (50, 12_351.3, 0.001),
        # IAPWS-IF97 table 35, T = 300 K, from memory
        (26.85, 3536.58941, 0.003),
        # IAPWS-95, computed with CoolProp
        (10, 1228.2, 0.0025),
        (20, 2339.3, 0.003),
        (30, 4247.0, 0.003),
        (40, 7384.9, 0.002),
    ],
)
def test_saturation_pressure_agrees_with_the_steam_tables_as_well_as_magnus_can(
    t: float, pascals: float, within: float
) -> None:
    assert air.saturation_pressure(t) == pytest.approx(pascals, rel=within)


@pytest.mark.parametrize("t", TEMPERATURES)
def test_saturation_pressure_is_within_three_in_a_thousand_of_two_libraries(t: float) -> None:
    assert air.saturation_pressure(t) == pytest.approx(iapws_saturation_pressure(t), rel=0.003)
    assert air.saturation_pressure(t) == pytest.approx(psychrolib.GetSatVapPres(t), rel=0.003)


def test_saturation_pressure_is_as_far_out_when_hot_as_its_docstring_admits() -> None:
    assert air.saturation_pressure(45.0) == pytest.approx(iapws_saturation_pressure(45), rel=0.001)
    excess = air.saturation_pressure(80.0) / iapws_saturation_pressure(80) - 1
    assert 0.012 < excess < 0.014


@pytest.mark.parametrize("t", TEMPERATURES)
@pytest.mark.parametrize("rh", HUMIDITIES)
def test_dew_points_above_freezing_are_within_three_hundredths_of_two_libraries(
    t: float, rh: float
) -> None:
    reference = psychrolib.GetTDewPointFromRelHum(t, rh)
    if reference > 0.05:
        assert air.dew_point(t, rh) == pytest.approx(reference, abs=0.03)
        assert air.dew_point(t, rh) == pytest.approx(iapws_dew_point(t, rh), abs=0.03)
    else:
        # psychrolib gives the frost point here, over ice, which is nearer to 0 °C than the dew
        # point, over water: -18 against -20 °C. No coat may be applied on a surface so cold.
        assert air.dew_point(t, rh) - 0.05 <= reference
        assert reference <= 0.84 * air.dew_point(t, rh) + 0.05


@pytest.mark.parametrize(
    ("t", "rh", "expected", "within"),
    [
        # weather-station manual, p. 36, read
        (22, 0.40, 8, 0.5),
        # painting guide, read: 16 °C, 71 % has its dew point at 11 °C
        (16, 0.71, 11, 0.5),
        # coating glossary, read
        (30, 0.55, 20, 0.5),
        # climate table, read; it cuts off decimals, so the exact formula lies up to 1 K above it
        (20, 0.50, 9, 1.0),
        (20, 0.90, 18, 1.0),
        (25, 0.80, 21, 1.0),
        (30, 0.80, 26, 1.0),
        # DIN 4108-5 dew point table, from memory
        (20, 0.50, 9.3, 0.1),
        (20, 0.85, 17.4, 0.1),
        (25, 0.50, 13.9, 0.1),
        (30, 0.70, 23.9, 0.1),
        (10, 0.60, 2.6, 0.1),
    ],
)
def test_dew_points_agree_with_printed_tables(
    t: float, rh: float, expected: float, within: float
) -> None:
    assert air.dew_point(t, rh) == pytest.approx(expected, abs=within)


@pytest.mark.parametrize(
    ("t", "rh", "expected"),
    # dew point chart for coatings, read; it cuts off too: allow 1.2 F
    [(70, 0.50, 50), (60, 0.60, 45), (90, 0.90, 87), (70, 0.65, 57), (80, 0.50, 59)],
)
def test_dew_points_agree_with_a_site_chart_in_fahrenheit(
    t: float, rh: float, expected: float
) -> None:
    assert air.dew_point(fahrenheit(t), rh) * 1.8 + 32 == pytest.approx(expected, abs=1.2)


def test_the_dew_point_from_a_wet_bulb_reading_agrees_with_a_painting_guide() -> None:
    # painting guide, read: 21 °C dry and 17 °C wet bulb, dew point 15 °C
    rh = psychrolib.GetRelHumFromTWetBulb(21, 17, ATMOSPHERE)
    assert air.dew_point(21.0, rh) == pytest.approx(15, abs=0.5)


def humidity_ratio(pressure: float) -> float:
    """Water to dry air by mass, ASHRAE Fundamentals 2017 ch. 1 eq. 20."""
    return WATER_TO_DRY_AIR * pressure / (ATMOSPHERE - pressure)


def test_the_handbook_s_first_example_comes_out() -> None:
    # ASHRAE Fundamentals 2017 ch. 1 example 1, read off its chart: 40 °C dry and 20 °C wet bulb
    # give RH 14 % to 1 % and dew point 7 °C to 0.5 K. It also reads W 0.0065, where the handbook's
    # own equations have 0.0064, so for the moisture those are the reference.
    rh = psychrolib.GetRelHumFromTWetBulb(40, 20, ATMOSPHERE)
    assert rh == pytest.approx(0.14, abs=0.01)
    moisture = psychrolib.GetHumRatioFromTWetBulb(40, 20, ATMOSPHERE)
    assert humidity_ratio(air.vapour_pressure(40.0, rh)) == pytest.approx(moisture, rel=0.002)
    assert air.dew_point(40.0, rh) == pytest.approx(7, abs=0.5)


def test_vapour_pressure_gives_the_handbook_s_moisture_of_saturated_air() -> None:
    # ASHRAE Fundamentals 2017 ch. 1 table 2: W_sat at 5 °C is 0.005425, to 0.5 %. The table is of
    # real air, which holds a little more vapour than its parts would alone: 0.4 % here (CoolProp).
    mole_fraction = HAPropsSI("psi_w", "T", 278.15, "P", ATMOSPHERE, "R", 1.0)
    real = mole_fraction * ATMOSPHERE / iapws_saturation_pressure(5)
    assert 1.003 < real < 1.005
    pressure = real * air.vapour_pressure(5.0, 1.0)
    assert humidity_ratio(pressure) == pytest.approx(0.005425, rel=0.005)


@pytest.mark.parametrize(
    ("t", "rh", "grams"),
    # climate table, read: absolute humidity [g/m3], to 0.12
    [(20, 0.50, 8.7), (25, 0.60, 13.8), (10, 0.50, 4.7)],
)
def test_vapour_pressure_gives_the_absolute_humidity_of_a_climate_table(
    t: float, rh: float, grams: float
) -> None:
    density = air.vapour_pressure(t, rh) / (GAS_CONSTANT_OF_VAPOUR * (t + 273.15)) * 1000
    assert density == pytest.approx(grams, abs=0.12)


@pytest.mark.parametrize(
    ("surface", "dew", "enough"),
    [
        # painting guide, read: 19 °C on air of 21/17 °C wet bulb is 4 K above: go
        (19.0, air.dew_point(21.0, psychrolib.GetRelHumFromTWetBulb(21, 17, ATMOSPHERE)), True),
        # same: 13 °C in air of 16 °C, 71 % is 2 K above: no
        (13.0, air.dew_point(16.0, 0.71), False),
    ],
)
def test_the_three_kelvin_rule_decides_as_a_painting_guide_does(
    surface: float, dew: float, enough: bool
) -> None:
    assert (surface - dew >= 3) == enough


def test_the_margin_over_the_dew_point_shrinks_to_nothing_in_saturated_air() -> None:
    assert air.margin_over_dew_point(18.0, 1.0) == pytest.approx(0, abs=1e-12)
    assert air.margin_over_dew_point(20.0, 0.5) == pytest.approx(20 - 9.3, abs=0.1)
    # ISO 8502-4 as coaters use it: 3 K above the dew point is about 83 % at room temperature
    assert air.margin_over_dew_point(20.0, 0.82) > 3 > air.margin_over_dew_point(20.0, 0.84)


def test_bone_dry_air_has_a_finite_dew_point() -> None:
    assert -80 < air.dew_point(20.0, 0.0) < -50
    assert air.margin_over_dew_point(20.0, 0.0) > 70


@given(st.floats(-30, 60), st.floats(0.02, 1))
def test_air_cooled_to_its_dew_point_is_saturated(t: float, rh: float) -> None:
    saturated = air.saturation_pressure(air.dew_point(t, rh))
    assert saturated == pytest.approx(air.vapour_pressure(t, rh), rel=1e-9)


def test_arrays_and_floats_give_the_same() -> None:
    t = np.array([[0.0, 10.0], [20.0, 40.0]])
    for many, one in (
        (air.saturation_pressure(t), air.saturation_pressure(40.0)),
        (air.vapour_pressure(t, 0.3), air.vapour_pressure(40.0, 0.3)),
        (air.dew_point(t, 0.3), air.dew_point(40.0, 0.3)),
        (air.margin_over_dew_point(t, 0.3), air.margin_over_dew_point(40.0, 0.3)),
    ):
        assert many.shape == t.shape
        assert many[1, 1] == pytest.approx(one, rel=1e-14)


ROOM = Air(temperature=18.0, humidity=0.5, swing=4.0)

# Both clock changes of both hemispheres in 2027, a zone that moves by half an hour, one with odd
# minutes, one that moves for a month of the moon's calendar, and one that never moves.
ZONES = [
    "America/Toronto",
    "Europe/Berlin",
    "Australia/Sydney",
    "Australia/Lord_Howe",
    "Asia/Kathmandu",
    "Africa/Casablanca",
    "UTC",
]


def wall(day: date, hour: int) -> datetime:
    """Naive: what the clock on the wall shows."""
    return datetime.combine(day, time(hour))


def hourly(zone: str, days: int = 400) -> np.ndarray:
    return to_minute(wall(date(2027, 1, 1), 0), zone) + 60 * np.arange(days * 24)


@pytest.mark.parametrize("zone", ZONES)
def test_the_temperature_follows_the_clock_on_the_wall_for_a_whole_year(zone: str) -> None:
    minutes = hourly(zone)
    clock = [to_local(int(minute), zone) for minute in minutes]
    expected = [
        18 + 4 * math.cos(2 * math.pi * (at.hour + at.minute / 60 - 15) / 24) for at in clock
    ]
    assert air.temperatures(ROOM, minutes, zone) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("day", range(0, 365, 7))
def test_three_in_the_afternoon_is_warmest_and_three_in_the_night_coldest(
    zone: str, day: int
) -> None:
    afternoon = wall(date(2027, 1, 4) + timedelta(days=day), 15)
    night = afternoon + timedelta(hours=12)
    ends = np.array([to_minute(afternoon, zone), to_minute(night, zone)])
    assert air.temperatures(ROOM, ends, zone) == pytest.approx([22, 14], abs=1e-9)


@pytest.mark.parametrize(
    "change",
    # Toronto's clocks change on 2027-03-14 and 2027-11-07 at 2:00 (tz database)
    [date(2027, 3, 14), date(2027, 11, 7)],
)
def test_the_course_jumps_at_the_very_minute_the_clocks_change(change: date) -> None:
    start = to_minute(wall(change, 0), "America/Toronto")
    course = air.temperatures(ROOM, start + np.arange(6 * 60), "America/Toronto")
    jumps = np.flatnonzero(np.abs(np.diff(course)) > 0.05)
    assert jumps.tolist() == [119]  # from 1:59 to 3:00, or from 1:59 to 1:00 again


def test_steady_air_is_the_same_at_any_time() -> None:
    steady = Air(temperature=16.5, humidity=0.6)
    assert set(air.temperatures(steady, hourly("UTC", 3), "UTC").tolist()) == {16.5}


def test_the_order_and_shape_of_the_minutes_do_not_matter() -> None:
    minutes = hourly("Europe/Berlin", 200)
    shuffled = np.random.default_rng(1).permutation(minutes).reshape(24, 200)
    course = dict(
        zip(minutes.tolist(), air.temperatures(ROOM, minutes, "Europe/Berlin"), strict=True)
    )
    found = air.temperatures(ROOM, shuffled, "Europe/Berlin")
    assert found.shape == (24, 200)
    assert [course[minute] for minute in shuffled.ravel().tolist()] == found.ravel().tolist()
    assert air.temperatures(ROOM, minutes[:0], "Europe/Berlin").shape == (0,)
    assert air.temperatures(ROOM, minutes[5:6], "Europe/Berlin")[0] == course[int(minutes[5])]


def test_a_long_course_looks_at_the_clock_once_a_day_and_not_once_a_node() -> None:
    looks = 0
    original = air._offset

    def counted(minute: int, zone: str) -> int:
        nonlocal looks
        looks += 1
        return original(minute, zone)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(air, "_offset", counted)
        air._offsets.cache_clear()
        air.temperatures(ROOM, hourly("America/Toronto", 417), "America/Toronto")
    assert looks < 3 * 417


COURSE = Course((1000, 1060, 1120), (10.0, 14.0, 6.0), (0.5, 0.7, 0.6), (0.4, 0.5, 0.6))


def test_the_mean_of_a_course() -> None:
    """10, 11, 12, 13 °C at the quarters of the hour; 50 to 65 %."""
    average = air.mean(Air(20.0, 0.5, course=COURSE), 1000, 1060, "UTC")
    assert average.temperature == pytest.approx(11.5)
    assert average.humidity == pytest.approx(0.575)
    assert air.mean(Air(20.0, 0.5, course=COURSE), 1060, 1060, "UTC").temperature == 14.0


def test_the_driest_of_a_course_leaves_out_what_damp_air_outdoors_may_add() -> None:
    around = Air(20.0, 0.5, course=COURSE)
    minutes = np.array([999, 1000, 1060, 1120, 1121])
    assert air.humidities(around, minutes).tolist() == [0.5, 0.5, 0.7, 0.6, 0.5]
    assert air.humidities(around, minutes, driest=True).tolist() == [0.5, 0.4, 0.5, 0.6, 0.5]


def test_the_coldest_from_a_minute_on() -> None:
    assert air.coldest(Air(20.0, 0.5, swing=2.0), 0) == 18.0
    assert air.coldest(Air(20.0, 0.5, swing=2.0, course=COURSE), 1000) == 6.0
    assert air.coldest(Air(20.0, 0.5, swing=2.0, course=COURSE), 1121) == 18.0
