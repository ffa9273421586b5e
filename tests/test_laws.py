"""The six laws of waiting against published tables, standards and worked examples."""

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scheduler.air import Values, saturation_pressure
from scheduler.laws import LAWS, for_thickness, rate, works_at
from scheduler.model import LABORATORY, Conditions

DAY = 1440


def fahrenheit(degrees: float) -> float:
    return (degrees - 32) / 1.8


def factor(law: str, t: float, rh: float, at: Conditions = LABORATORY) -> float:
    """How many times longer than at the label's conditions."""
    return 1 / float(rate(law, t, rh, at))


def reached_after(label_hours: float, rates: Callable[[Values], Values]) -> float:
    """Hours until the integral of a rate over time comes to the label's hours."""
    step = 0.001
    middles = np.arange(0, 200, step) + step / 2
    return float((np.searchsorted(np.cumsum(rates(middles)) * step, label_hours) + 1) * step)


# Drying -----------------------------------------------------------------------------------------
# Table "Drying time - joint compound under joint tape" of Gypsum Association GA-236, reproduced in
# ASTM C840 and the Gypsum Construction Handbook; every cell from memory, as its provenance column
# says. Fit: hours = 22.5 / (p_sat (1 - rh)^0.90) with p_sat in kPa; where a figure is computed from
# it, then with psychrolib's p_sat, which is up to 0.25 % above ours: 0.06 h in 25.

GRID_FILE = Path(__file__).parent / "data" / "joint_compound_drying.csv"
GRID = {
    (int(row["rh_percent"]), int(row["temperature_f"])): float(row["hours"])
    for row in csv.DictReader(GRID_FILE.read_text(encoding="utf-8").splitlines())
}
NORMAL_ROOM = Conditions(fahrenheit(70), 0.50)
NORMAL_HOURS: float = 22.5 / (saturation_pressure(NORMAL_ROOM.temperature) / 1000 * 0.5**0.90)


def drying_hours(rh_percent: int, temperature_f: float) -> float:
    t = fahrenheit(temperature_f)
    return NORMAL_HOURS * factor("drying", t, rh_percent / 100, NORMAL_ROOM)


def test_the_drying_grid_is_whole() -> None:
    assert len(GRID) == 133
    assert {rh for rh, _ in GRID} == {*range(0, 90, 10), 85, *range(90, 99)}
    assert {t for _, t in GRID} == {32, 40, 50, 60, 70, 80, 100}


def test_the_normal_room_dries_joint_compound_in_the_table_s_seventeen_hours() -> None:
    assert GRID[50, 70] == 17
    assert pytest.approx(17, rel=0.015) == NORMAL_HOURS


@pytest.mark.parametrize("cell", sorted(GRID.keys() - {(85, 32)}))
def test_the_drying_law_is_within_15_percent_of_every_cell_but_one(cell: tuple[int, int]) -> None:
    assert drying_hours(*cell) == pytest.approx(GRID[cell], rel=0.15)


def test_the_two_cells_in_doubt_are_the_two_worst() -> None:
    # 10 days at 85 %, 32 F is out of line with its neighbours in row and column: perhaps misread.
    # 3 h at 0 %, 100 F is 3.4 h in the law, which rounds to the same whole hour.
    error = {cell: drying_hours(*cell) / hours - 1 for cell, hours in GRID.items()}
    worst = sorted(error, key=lambda cell: -abs(error[cell]))[:2]
    assert set(worst) == {(85, 32), (0, 100)}
    assert error[85, 32] == pytest.approx(-0.154, abs=0.005)
    assert round(drying_hours(0, 100)) == 3


def test_the_drying_law_is_within_5_percent_of_the_whole_grid_rms() -> None:
    errors = [drying_hours(*cell) / hours - 1 for cell, hours in GRID.items()]
    assert np.sqrt(np.mean(np.square(errors))) < 0.05


def test_compound_left_in_a_room_that_is_heated_dries_when_the_shares_add_up() -> None:
    # 12 h at 60 F, 50 %, then 70 F, 50 %. With the law 20.30 h (computed from the formula); with
    # two cells of the table, 24 h and 17 h: 12 + (1 - 12/24) 17 = 20.5 h.
    def rates(hours: Values) -> Values:
        t = np.where(hours < 12, fahrenheit(60), fahrenheit(70))
        return rate("drying", t, 0.50, NORMAL_ROOM)

    hours = reached_after(NORMAL_HOURS, rates)
    assert hours == pytest.approx(20.30, abs=0.06)
    from_cells = 12 + (1 - 12 / GRID[50, 60]) * GRID[50, 70]
    assert from_cells == 20.5
    assert hours == pytest.approx(from_cells, rel=0.015)


def test_compound_in_a_room_heated_by_day_only_dries_on_the_second_day() -> None:
    # 12 h at 70 F, 50 % and 12 h at 55 F, 80 %, over and over: 25.66 h (computed from the formula)
    def rates(hours: Values) -> Values:
        warm = hours % 24 < 12
        t = np.where(warm, fahrenheit(70), fahrenheit(55))
        return rate("drying", t, np.where(warm, 0.50, 0.80), NORMAL_ROOM)

    assert reached_after(NORMAL_HOURS, rates) == pytest.approx(25.66, abs=0.06)


@pytest.mark.parametrize(
    ("t", "rh", "times"),
    # computed from the formula, relative to the laboratory
    [
        (10, 0.50, 2.29),
        (15, 0.50, 1.65),
        (15, 0.80, 3.76),
        (20, 0.50, 1.20),
        (20, 0.80, 2.74),
        (23, 0.85, 2.96),
        (25, 0.40, 0.75),
        (30, 0.50, 0.66),
    ],
)
def test_a_coat_with_a_laboratory_label_takes_so_many_times_as_long(
    t: float, rh: float, times: float
) -> None:
    assert factor("drying", t, rh) == pytest.approx(times, abs=0.01)


def test_a_membrane_coat_at_10_c_waits_twice_to_two_and_a_half_times_its_label() -> None:
    assert 2.0 < factor("drying", 10, 0.50) < 2.5  # common practice, no published source


@pytest.mark.parametrize("law", ["drying", "thick-drying"])
def test_nothing_dries_in_frost_or_in_air_that_is_all_but_saturated(law: str) -> None:
    # no cell of the drying table above 98 % or below 32 F; frost ruins coats (GA-236, from memory)
    assert rate(law, 20, 0.98, LABORATORY) > 0
    assert rate(law, 20, 0.9801, LABORATORY) == 0
    assert rate(law, 20, 1.0, LABORATORY) == 0
    assert rate(law, 0.0, 0.5, LABORATORY) > 0
    assert rate(law, -0.01, 0.5, LABORATORY) == 0


# Thick drying -----------------------------------------------------------------------------------

# Climate factors for the drying of concrete relative to 18 °C, 60 %, at 35, 50, 60, 70, 80 %:
# G. Hedenblad, Drying of Construction Water in Concrete, 1997; from memory.
HEDENBLAD = {
    10: (1.2, 1.2, 1.3, 1.4, 1.7),
    18: (0.8, 0.9, 1.0, 1.1, 1.2),
    25: (0.7, 0.7, 0.8, 0.8, 1.0),
    30: (0.6, 0.6, 0.7, 0.7, 0.9),
}


def test_thick_drying_is_within_8_percent_of_the_swedish_climate_factors() -> None:
    at = Conditions(18, 0.60)
    law = np.array(
        [
            [factor("thick-drying", t, rh, at) for rh in (0.35, 0.5, 0.6, 0.7, 0.8)]
            for t in HEDENBLAD
        ]
    )
    table = np.array(list(HEDENBLAD.values()))
    # The factors are printed to one digit, up to 8 % off by that alone, the reference cell's 1.0
    # too; so the law is laid through all cells and not through that one.
    level = np.exp(np.mean(np.log(table / law)))
    assert level == pytest.approx(1, abs=0.02)
    assert level * law == pytest.approx(table, rel=0.08)


def test_cold_and_damp_hold_up_a_screed_far_less_than_a_coat() -> None:
    # same table, 10 °C, 80 % against 25 °C, 50 %: 1.7 / 0.7 = 2.4 times as long
    thick, thin = (
        factor(law, 10, 0.80, Conditions(25, 0.50)) for law in ("thick-drying", "drying")
    )
    assert thick == pytest.approx(1.7 / 0.7, rel=0.08)
    assert thin > 2 * thick


@pytest.mark.parametrize(
    ("mm", "days"),
    # BS 5385-3:2014: a day a mm up to 40 mm (trade article, read); two beyond: common practice,
    # sources differ (BS 8203's older wording has 50 mm, from memory)
    [(20, 20), (40, 40), (50, 60), (75, 110)],
)
def test_a_screed_dries_a_day_a_millimetre_to_40_and_two_beyond(mm: float, days: int) -> None:
    assert for_thickness("thick-drying", 40 * DAY, mm, 40) == days * DAY
    assert for_thickness("thick-drying", 60 * DAY, mm, 50) == days * DAY


# Hydration --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("reference", "t", "age"),
    # ASTM C1074 eq. 2 with Q = 5000 K: formula and Q from memory, values computed
    [
        (20, 5, 0.3986),
        (20, 10, 0.5475),
        (20, 15, 0.7438),
        (20, 20, 1.0),
        (20, 23, 1.1886),
        (20, 25, 1.3311),
        (20, 30, 1.7553),
        (20, 35, 2.2939),
        (23, 5, 0.3354),
        (23, 10, 0.4606),
        (23, 15, 0.6258),
        (23, 20, 0.8413),
        (23, 23, 1.0),
        (23, 30, 1.4768),
        (23, 35, 1.9299),
    ],
)
def test_cement_ages_as_astm_c1074_has_it(reference: float, t: float, age: float) -> None:
    assert rate("hydration", t, 0.5, Conditions(reference, 0.5)) == pytest.approx(age, abs=1e-4)


def test_hot_curing_gets_no_more_credit_than_35_c() -> None:
    # The formula alone has 2.97 at 40 °C (relative to 20); but heat that speeds the first day
    # lowers the strength of the 28th (Klieger, PCA Research Bulletin 103, read about).
    at = Conditions(20, 0.5)
    assert rate("hydration", 40, 0.5, at) == rate("hydration", 35, 0.5, at) < 2.9723


def test_cement_gets_no_credit_below_5_c() -> None:
    # The formula alone has 0.287 at 0 °C; ACI's answer on cold weather, read: below 5 °C setting is
    # "greatly retarded". No label for tile work allows such air, so we promise nothing in it.
    assert rate("hydration", 5.0, 0.5, LABORATORY) > 0
    assert rate("hydration", 4.99, 0.5, LABORATORY) == 0
    assert rate("hydration", 0.0, 0.5, LABORATORY) == 0


def test_a_cold_morning_and_a_warm_noon_come_to_20_and_a_quarter_hours_of_age() -> None:
    # constructed history of 24 h: 12, 18, 22, 15 °C for 6 h each, Q = 5000 K, 20 °C: 20.253 h
    ages = rate("hydration", np.array([12.0, 18.0, 22.0, 15.0]), 0.5, Conditions(20, 0.5)) * 6
    assert ages == pytest.approx([3.7182, 5.3366, 6.7351, 4.4629], abs=1e-4)
    assert ages.sum() == pytest.approx(20.253, abs=5e-4)


def test_a_day_at_23_c_is_52_hours_at_10_c() -> None:
    # computed from ASTM C1074's formula
    assert 24 * factor("hydration", 10, 0.5) == pytest.approx(52.1, abs=0.05)
    assert 24 * factor("hydration", 20, 0.5) == pytest.approx(28.5, abs=0.05)


def test_ten_degrees_colder_takes_cement_1_7_to_2_0_times_as_long() -> None:
    # The tile setters' rule doubles the time for each 18 F below 70 F (maker's page, read), which
    # is Q = 5800 K; a third per 10 F is 4400 K; ASTM's 5000 K lies between.
    for t in range(15, 36):
        ratio = factor("hydration", t - 10, 0.5) / factor("hydration", t, 0.5)
        assert 1.7 <= ratio <= 2.0
    ratio = factor("hydration", 10, 0.5) / factor("hydration", 20, 0.5)
    assert ratio == pytest.approx(1.83, abs=0.01)


@pytest.mark.parametrize(
    ("t", "freiesleben_hansen", "eurocode"),
    # age factors relative to 20 °C: Freiesleben Hansen and Pedersen 1977 (from memory, 0.01), and
    # EN 1992-1-1 eq. B.10 (formula from memory, computed)
    [(5, 0.29, 0.4778), (10, 0.50, 0.6161), (15, 0.75, 0.7875), (20, 1.0, 0.9981)],
)
def test_in_a_cool_room_the_law_lies_between_two_other_published_functions(
    t: float, freiesleben_hansen: float, eurocode: float
) -> None:
    age = float(rate("hydration", t, 0.5, Conditions(20, 0.5)))
    low, high = sorted((freiesleben_hansen, eurocode))
    assert low * 0.99 <= age <= high * 1.01


@pytest.mark.parametrize(
    ("t", "most"),
    # higher of the same two functions; ASTM's Q is greater than theirs, so the law runs ahead when
    # warm, by 6, 12 and 18 %. That can't bring a wait under its label: labels are minimums.
    [(25, 1.26), (30, 1.57), (35, 1.95)],
)
def test_in_a_warm_room_the_law_runs_less_than_a_fifth_ahead_of_them(t: float, most: float) -> None:
    age = float(rate("hydration", t, 0.5, Conditions(20, 0.5)))
    assert most < age < 1.2 * most


def set_hours(temperature_f: float) -> float:
    """Setting time by the law, from 6 h at 70 F."""
    return 6 * factor("hydration", fahrenheit(temperature_f), 0.5, Conditions(fahrenheit(70), 0.5))


# Setting time of concrete against temperature, as ready-mix trade bodies print it; from memory, its
# two ends read.


@pytest.mark.parametrize(("temperature_f", "hours"), [(80, 4), (70, 6), (60, 8), (50, 10 + 2 / 3)])
def test_in_habitable_rooms_cement_sets_within_a_tenth_of_the_published_times(
    temperature_f: float, hours: float
) -> None:
    assert set_hours(temperature_f) == pytest.approx(hours, rel=0.10)


@pytest.mark.parametrize(
    ("temperature_f", "hours", "late"), [(90, 2 + 2 / 3, 1.21), (100, 1 + 2 / 3, 1.67)]
)
def test_in_hot_rooms_the_law_is_later_than_the_published_times(
    temperature_f: float, hours: float, late: float
) -> None:
    # The table's own hot half implies Q = 7000 K, outside the 4000 to 6200 K of all other sources;
    # at 100 F the law's limit of 35 °C adds to it. Too late is the side to err on.
    assert set_hours(temperature_f) / hours == pytest.approx(late, abs=0.01)


@pytest.mark.parametrize("temperature_f", [40, 30, 20])
def test_near_frost_the_law_promises_no_set_at_all(temperature_f: float) -> None:
    # The table has 14 h 20 at 40 F, 19 h at 30 F and no set at 20 F; below 5 °C we credit nothing.
    assert rate("hydration", fahrenheit(temperature_f), 0.5, NORMAL_ROOM) == 0


@pytest.mark.parametrize(
    ("low", "high", "published"),
    # Q implied by: a third per 10 F at 60 to 70 F (rule from memory); doubling per 18 F (read)
    [(60, 70, 4399), (52, 70, 5798)],
)
def test_the_law_s_temperature_dependence_lies_within_the_published_rules(
    low: float, high: float, published: float
) -> None:
    cold, warm = (fahrenheit(t) + 273.15 for t in (low, high))
    ratio = set_hours(low) / set_hours(high)
    implied = np.log(ratio) / (1 / cold - 1 / warm)
    assert implied == pytest.approx(5000, rel=1e-9)
    assert implied == pytest.approx(published, rel=0.14)


# Moisture cure ----------------------------------------------------------------------------------


def test_a_sealant_joint_twice_as_deep_takes_four_times_as_long() -> None:
    # depth grows with the square root of time (from memory); 4 mm in about 24 h (trade page, read)
    assert for_thickness("moisture-cure", 24 * 60, 8, 4) == 4 * 24 * 60
    assert for_thickness("moisture-cure", 8 * 24 * 60, 2, 4) == 2 * 24 * 60


def test_a_thin_sealant_joint_keeps_from_water_for_a_day_or_for_its_stated_time() -> None:
    # Sealant guides, read: at least 24 h. A faster sealant's own time is not made longer.
    assert for_thickness("moisture-cure", 48 * 60, 1, 4) == 24 * 60
    assert for_thickness("moisture-cure", 12 * 60, 1, 4) == 12 * 60


def test_silicone_cures_slower_in_dry_air_unlike_a_coat() -> None:
    # trade page, read: silicone cures with moisture, dry air slows it
    assert factor("moisture-cure", 23, 0.25) == pytest.approx(2)
    assert factor("drying", 23, 0.25) < 1


def test_silicone_cures_slower_in_the_cold_and_not_in_frost() -> None:
    # vapour pressure at 10 °C and 23 °C: 1228.2 and 2810 Pa (IAPWS-95, computed)
    assert factor("moisture-cure", 10, 0.5) == pytest.approx(2810 / 1228.2, rel=0.005)
    assert rate("moisture-cure", -0.1, 0.5, LABORATORY) == 0


# All laws ---------------------------------------------------------------------------------------

temperatures = st.floats(-40, 80)
humidities = st.floats(0, 1)
labels = st.builds(Conditions, st.floats(5, 40), st.floats(0.05, 0.95))
law_names = st.sampled_from(sorted(LAWS))


def test_there_are_six_laws_and_each_says_what_it_does() -> None:
    assert set(LAWS) == {
        "hydration",
        "drying",
        "thick-drying",
        "moisture-cure",
        "gypsum-set",
        "fixed",
    }
    assert all(law.name == name and len(law.says) > 10 for name, law in LAWS.items())


@given(law_names, labels)
def test_at_the_label_s_conditions_every_law_keeps_the_label_s_time(
    law: str, at: Conditions
) -> None:
    assert rate(law, at.temperature, at.humidity, at) == 1


@given(
    st.sampled_from(["hydration", "drying", "thick-drying"]),
    st.tuples(temperatures, temperatures).map(sorted),
    st.tuples(humidities, humidities).map(sorted),
    labels,
)
def test_colder_or_damper_air_never_speeds_up_what_sets_or_dries(
    law: str, t: list[float], rh: list[float], at: Conditions
) -> None:
    cold, warm = t
    dry, damp = rh
    assert rate(law, cold, damp, at) <= rate(law, warm, dry, at)


@given(
    st.tuples(temperatures, temperatures).map(sorted),
    st.tuples(humidities, humidities).map(sorted),
    labels,
)
def test_colder_or_drier_air_never_speeds_up_a_moisture_cure(
    t: list[float], rh: list[float], at: Conditions
) -> None:
    cold, warm = t
    dry, damp = rh
    assert rate("moisture-cure", cold, dry, at) <= rate("moisture-cure", warm, damp, at)


@pytest.mark.parametrize("law", sorted(LAWS))
def test_a_law_says_truly_whether_the_air_affects_it(law: str) -> None:
    t, rh = np.meshgrid(np.linspace(-40, 80, 25), np.linspace(0, 1, 21))
    rates = rate(law, t, rh, LABORATORY)
    assert rates.shape == t.shape
    assert bool((rates != 1).any()) == LAWS[law].affected_by_air
    # Rated minutes of setting compound hold "in extreme humidity" (trade journal, read)
    assert LAWS[law].affected_by_air == (law not in {"gypsum-set", "fixed"})


@given(law_names, temperatures, humidities, labels)
def test_a_rate_is_a_finite_number_from_0_up(law: str, t: float, rh: float, at: Conditions) -> None:
    assert 0 <= rate(law, t, rh, at) < 1e4


def test_temperature_and_humidity_are_broadcast_together() -> None:
    t = np.array([10.0, 20.0, 30.0])
    assert rate("drying", t, 0.5, LABORATORY).tolist() == [
        float(rate("drying", each, 0.5, LABORATORY)) for each in t
    ]
    assert rate("drying", 20.0, np.array([0.3, 0.5]), LABORATORY).shape == (2,)


@pytest.mark.parametrize(
    ("law", "at", "works"),
    [
        ("hydration", Conditions(4, 0.5), False),
        ("hydration", Conditions(5, 1.0), True),
        ("drying", Conditions(20, 0.99), False),
        ("drying", Conditions(-1, 0.5), False),
        ("thick-drying", Conditions(20, 0.99), False),
        ("moisture-cure", Conditions(20, 0.0), False),
        ("moisture-cure", Conditions(20, 1.0), True),
        ("gypsum-set", Conditions(-5, 1.0), True),
    ],
)
def test_a_label_that_speaks_of_air_in_which_nothing_happens_is_refused(
    law: str, at: Conditions, works: bool
) -> None:
    assert works_at(law, at) == works
    if not works:
        with pytest.raises(ValueError, match=r"^conditions in which a label can be kept \("):
            rate(law, 20, 0.5, at)


@given(law_names, st.integers(0, 100_000), st.floats(0.1, 200), st.floats(0.1, 200))
def test_a_thicker_layer_never_takes_less_time(
    law: str, minutes: int, thickness: float, usual: float
) -> None:
    assume(thickness >= usual)
    assert for_thickness(law, minutes, usual, usual) == minutes
    assert for_thickness(law, minutes, thickness, usual) >= minutes
    if law not in {"thick-drying", "moisture-cure"}:
        assert for_thickness(law, minutes, thickness, usual) == minutes


def test_fractions_of_a_minute_round_up_but_binary_noise_does_not() -> None:
    assert for_thickness("moisture-cure", 100, 9.525, 3 * 3.175) == 100  # 3/8 in is three 1/8 in
    assert for_thickness("moisture-cure", 100, 5, 4) == 157  # 156.25


@pytest.mark.parametrize(("thickness", "usual"), [(0, 4), (-1, 4), (4, 0), (float("nan"), 4)])
def test_a_thickness_of_nothing_is_refused(thickness: float, usual: float) -> None:
    with pytest.raises(ValueError, match=r"^a thickness above 0, such as 4 mm or 1/4 in$"):
        for_thickness("thick-drying", 100, thickness, usual)


def test_which_laws_like_it_damp() -> None:
    """Declared beside each law, and seen in its speed over all the air there is."""
    damp = np.linspace(0.05, 0.95, 19)
    for name, law in LAWS.items():
        speeds = [law.speed(np.full(19, t), damp) for t in (6.0, 15.0, 23.0, 34.0)]
        assert all((np.diff(speed) > 0).all() for speed in speeds) == law.likes_damp, name
