"""Quantities are read in every spelling people use, printed so they read back, or refused."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler import quantities as q

READERS: dict[str, Callable[[str], Any]] = {
    "duration": q.duration,
    "signed_duration": q.signed_duration,
    "temperature": q.temperature,
    "temperature_difference": q.temperature_difference,
    "humidity": q.humidity,
    "conditions": q.conditions,
    "length": q.length,
    "area": q.area,
    "volume": q.volume,
}
UNITS = st.sampled_from(["metric", "imperial"])


def sizes(least: float, most: float) -> st.SearchStrategy[float]:
    return st.floats(least, most, allow_nan=False)


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("20 min", 20),
        ("20min", 20),
        ("20 mins", 20),
        ("1 minute", 1),
        ("1.5 h", 90),
        ("1.5 hrs.", 90),
        ("1 Hour", 60),
        ("1 h 30 min", 90),
        ("1h30m", 90),
        ("1 h, 5 min", 65),
        ("1 hour and 5 minutes", 65),
        ("1 d 2 h 3 min", 1563),
        ("2 d", 2880),
        ("1 day", 1440),
        ("28 days", 40_320),
        ("1 w", 10_080),
        ("2 weeks", 20_160),
        ("½ h", 30),
        ("1½ h", 90),
        ("1 ½ h", 90),
        ("1 1/2 h", 90),
        ("1-1/2 h", 90),
        ("¾ hr", 45),
        (".5 h", 30),
        ("  2   h  ", 120),
        ("2\u00a0h", 120),
        ("0 min", 0),
        ("0", 0),
        ("90 s", 2),
        ("3653 d", 3653 * 1440),
    ],
)
def test_a_time_is_read_in_any_of_its_usual_spellings(text: str, minutes: int) -> None:
    assert q.duration(text) == minutes


# ISO 8601-1:2019, 5.5.2: designators, decimal sign comma or full stop, lowest order only.
@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("PT90M", 90),
        ("PT2H", 120),
        ("P1DT2H", 1560),
        ("P2D", 2880),
        ("P1W", 10_080),
        ("PT1,5H", 90),
        ("PT1.5H", 90),
        ("pt90m", 90),
        ("PT0M", 0),
        ("PT1H30M30S", 91),
    ],
)
def test_a_time_is_read_as_iso_8601(text: str, minutes: int) -> None:
    assert q.duration(text) == minutes


@pytest.mark.parametrize(
    ("text", "minutes"),
    # 1.1 * 60 is 66.00000000000001 in binary, and 0.7 h and 2.3 h are as bad
    [("1.1 h", 66), ("0.7 h", 42), ("2.3 h", 138), ("0.1 d", 144), ("1.01 h", 61), ("0.4 min", 1)],
)
def test_fractions_of_a_minute_round_up_and_only_those(text: str, minutes: int) -> None:
    assert q.duration(text) == minutes


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "ninety",
        "90",
        "1.5",
        "1:30",
        "1:30 h",
        "nan",
        "nan h",
        "inf",
        "inf h",
        "1e999",
        "1e3 min",
        "1_000 min",
        "1,000 min",
        "1,5 h",
        "٣ h",
        "３ h",
        "3² h",
        "1 h 30",
        "30 min 1 h",
        "1 h 1 h",
        "1-2 h",
        "1 h - 30 min",
        "1 h -30 min",
        "2 x 3 h",
        "1/0 h",
        "1/2/3 h",
        "5. h",
        "h",
        "3 months",
        "1 year",
        "overnight",
        "P",
        "PT",
        "P1",
        "P1DT",
        "P1Y",
        "P1M",
        "PT1H30",
        "P1W2DT",
        "--3 h",
        "3 h\x00",
        "9" * 5000 + " h",
        "0 " * 100 + "h",
    ],
)
def test_what_is_no_time_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(ValueError, match=r"^a time such as 45 min or 3 h$"):
        q.duration(text)
    with pytest.raises(ValueError, match=r"^a time such as 45 min or 3 h$"):
        q.signed_duration(text)


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("-30 min", -30),
        ("- 30 min", -30),
        ("−30 min", -30),
        ("-1 h 30 min", -90),
        ("-PT2H", -120),
        ("+2 h", 120),
        ("2 h", 120),
        ("0", 0),
        ("-0 min", 0),
        ("-1.5 min", -1),  # up is later: never start sooner than was written
    ],
)
def test_a_lag_may_be_negative(text: str, minutes: int) -> None:
    assert q.signed_duration(text) == minutes


@pytest.mark.parametrize(
    ("text", "celsius"),
    [
        ("68 F", 20.0),
        ("68F", 20.0),
        ("68f", 20.0),
        ("68°F", 20.0),
        ("68 °F", 20.0),
        ("68 ° F", 20.0),
        ("68º F", 20.0),
        ("68 ℉", 20.0),
        ("68 deg F", 20.0),
        ("68 deg. F", 20.0),
        ("68 degF", 20.0),
        ("68 degrees F", 20.0),
        ("68 degrees Fahrenheit", 20.0),
        ("20 C", 20.0),
        ("20.5 °C", 20.5),
        ("20 ℃", 20.0),
        ("20 celsius", 20.0),
        ("20 degrees centigrade", 20.0),
        ("293.15 K", 20.0),
        ("-5 C", -5.0),
        ("−5 C", -5.0),
        ("0 C", 0.0),
        ("32 F", 0.0),
        ("41 F", 5.0),
        ("50 F", 10.0),
        ("-40 F", -40.0),
        ("176 F", 80.0),
    ],
)
def test_a_temperature_is_read_in_any_of_its_usual_spellings(text: str, celsius: float) -> None:
    assert q.temperature(text) == celsius


@pytest.mark.parametrize(
    "text",
    ["", "68", "0", "68 degrees", "warm", "68 G", "68 F C", "6 8 F", "1e1 C", "٦٨ F", "nan C"],
)
def test_what_is_no_temperature_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(ValueError, match=r"^a temperature such as 68 F or 20 C$"):
        q.temperature(text)


@pytest.mark.parametrize(
    "text", ["-300 C", "-500 F", "-1 K", "200 F", "81 C", "-41 C", "9999999 F"]
)
def test_a_temperature_no_room_ever_has_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"^a temperature from -40 C to 80 C, such as 68 F"):
        q.temperature(text)


@pytest.mark.parametrize(
    ("text", "kelvin"),
    [("4 F", 4 / 1.8), ("9 °F", 5.0), ("3 C", 3.0), ("3 K", 3.0), ("0", 0.0), ("-0 C", 0.0)],
)
def test_a_difference_in_temperature_has_no_zero_point(text: str, kelvin: float) -> None:
    assert q.temperature_difference(text) == pytest.approx(kelvin, rel=1e-15)


@pytest.mark.parametrize("text", ["4", "-4 F", "61 C", "109 F", "", "4 %"])
def test_what_is_no_difference_in_temperature_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"^a difference in temperature such as 4 F or 2 C"):
        q.temperature_difference(text)


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("45 %", 0.45),
        ("45%", 0.45),
        ("45 % RH", 0.45),
        ("45% r.h.", 0.45),
        ("45 percent", 0.45),
        ("45 per cent", 0.45),
        ("45.5 %", 0.455),
        ("98 %", 0.98),
        ("0 %", 0.0),
        ("0", 0.0),
        ("100 %", 1.0),
    ],
)
def test_humidity_is_read_in_any_of_its_usual_spellings(text: str, share: float) -> None:
    assert q.humidity(text) == share


@pytest.mark.parametrize("text", ["0.45", "45", "", "-1 %", "damp", "1e1 %", "45 %%", "4 5 %"])
def test_what_is_no_humidity_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(ValueError, match=r"^a relative humidity such as 45 %$"):
        q.humidity(text)


@pytest.mark.parametrize("text", ["100.1 %", "101 %", "999999 %"])
def test_air_holds_no_more_than_all_the_water_it_can(text: str) -> None:
    with pytest.raises(ValueError, match=r"^a relative humidity from 0 % to 100 %, such as 45 %$"):
        q.humidity(text)


@pytest.mark.parametrize(
    ("text", "air"),
    [
        ("68 F 50 %", (20.0, 0.5)),
        ("68F 50%", (20.0, 0.5)),
        ("68 °F, 50 % RH", (20.0, 0.5)),
        ("68 F/50 %", (20.0, 0.5)),
        ("68 F and 50 %", (20.0, 0.5)),
        ("68 F at 50 percent", (20.0, 0.5)),
        ("50 % 68 F", (20.0, 0.5)),
        ("-5 C 80 %", (-5.0, 0.8)),
        ("68 F", (20.0, 0.5)),  # the laboratory's 50 %
        ("65 %", (23.0, 0.65)),  # the laboratory's 23 °C
    ],
)
def test_a_label_s_conditions_fall_back_on_the_laboratory(
    text: str, air: tuple[float, float]
) -> None:
    assert q.conditions(text) == air


@pytest.mark.parametrize(
    "text", ["", "73", "73 F 50", "50 % 60 %", "68 F 20 C", "68 F 50 % 3 h", "lab", "73 F 50 % dry"]
)
def test_what_is_no_state_of_the_air_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"^a state of the air such as 73 F 50 %$"):
        q.conditions(text)


def test_conditions_out_of_range_say_which_part_is_wrong() -> None:
    with pytest.raises(ValueError, match=r"^a temperature from"):
        q.conditions("200 F 50 %")
    with pytest.raises(ValueError, match=r"^a relative humidity from"):
        q.conditions("73 F 150 %")


# 1 in = 25.4 mm and 1 ft = 304.8 mm exactly: NIST Handbook 44, appendix C.
@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("3 ft 6 in", 1066.8),
        ("3 feet 6 inches", 1066.8),
        ("3ft6in", 1066.8),
        ("3ft-6in", 1066.8),
        ("3'6\"", 1066.8),
        ("3' 6\"", 1066.8),
        ("3'-6\"", 1066.8),
        ("3′ 6″", 1066.8),
        ("3’ 6”", 1066.8),
        ("6'2\"", 1879.6),
        ("3' 6 1/2\"", 1079.5),
        ("3'-6½\"", 1079.5),
        ("6''", 152.4),
        ("3/8 in", 9.525),
        ("⅜ in.", 9.525),
        ('3/8"', 9.525),
        ("1-1/4 in", 31.75),
        ("1 1/4 in", 31.75),
        ("1¼ inch", 31.75),
        ("1.25 in", 31.75),
        ("30 mil", 0.762),
        ("1 yd", 914.4),
        ("10 mm", 10.0),
        ("1.5 cm", 15.0),
        ("2.4 m", 2400.0),
        ("2 m 40 cm", 2400.0),
        ("2.4 metres", 2400.0),
        ("0", 0.0),
    ],
)
def test_a_length_is_read_as_the_trade_writes_it(text: str, mm: float) -> None:
    assert q.length(text) == mm


@pytest.mark.parametrize(
    ("text", "m2"),
    [
        ("42 sq ft", 3.90192768),  # 1 ft2 = 0.09290304 m2 exactly (NIST Handbook 44, appendix C)
        ("42 sq. ft.", 3.90192768),
        ("42 sqft", 3.90192768),
        ("42 ft2", 3.90192768),
        ("42 ft²", 3.90192768),
        ("42 sf", 3.90192768),
        ("42 square feet", 3.90192768),
        ("1 sq yd", 0.83612736),
        ("144 sq in", 0.09290304),
        ("4 m2", 4.0),
        ("4 m²", 4.0),
        ("4 m^2", 4.0),
        ("4.5 sq m", 4.5),
        ("4 square meters", 4.0),
        ("0", 0.0),
    ],
)
def test_an_area_is_read_in_metres_and_feet(text: str, m2: float) -> None:
    assert q.area(text) == m2


@pytest.mark.parametrize(
    ("text", "litres"),
    [
        ("1 gal", 3.785411784),  # 231 in3 (NIST Handbook 44, appendix C)
        ("1 US gal.", 3.785411784),
        ("3½ gallons", 13.248941244),
        ("1 gal 1 qt", 4.73176473),
        ("1 qt", 0.946352946),
        ("1 pint", 0.473176473),
        ("128 fl. oz.", 3.785411784),
        ("1 cu ft", 28.316846592),
        ("3.8 L", 3.8),
        ("3.8 litres", 3.8),
        ("500 mL", 0.5),
        ("500ml", 0.5),
        ("1 m3", 1000.0),
        ("0", 0.0),
    ],
)
def test_a_volume_is_read_in_litres_and_us_gallons(text: str, litres: float) -> None:
    assert q.volume(text) == litres


@pytest.mark.parametrize(
    ("kind", "text", "message"),
    [
        ("length", "", "a length such as 3/8 in, 3 ft 6 in or 10 mm"),
        ("length", "10", "a length such as 3/8 in, 3 ft 6 in or 10 mm"),
        ("length", "6'2", "a length such as 3/8 in, 3 ft 6 in or 10 mm"),
        ("length", "6 in 2 ft", "a length such as 3/8 in, 3 ft 6 in or 10 mm"),
        ("length", "4 m2", "a length such as 3/8 in, 3 ft 6 in or 10 mm"),
        ("length", "3 in - 6 in", "a length such as 3/8 in, 3 ft 6 in or 10 mm"),
        ("length", "-3 in", "a length of 0 or more, such as 3/8 in, 3 ft 6 in or 10 mm"),
        ("length", "2000 m", "a length of at most 1 km, such as 3/8 in, 3 ft 6 in or 10 mm"),
        ("area", "42", "an area such as 42 sq ft or 4 m2"),
        ("area", "42 ft", "an area such as 42 sq ft or 4 m2"),
        ("area", "-1 m2", "an area of 0 or more, such as 42 sq ft or 4 m2"),
        ("area", "100001 m2", "an area of at most 100000 m2, such as 42 sq ft or 4 m2"),
        ("volume", "1", "a volume such as 1 gal, 3.8 L or 500 mL"),
        ("volume", "1 oz", "a volume such as 1 gal, 3.8 L or 500 mL"),
        ("volume", "-1 L", "a volume of 0 or more, such as 1 gal, 3.8 L or 500 mL"),
        ("volume", "1001 m3", "a volume of at most 1000000 L, such as 1 gal, 3.8 L or 500 mL"),
        ("duration", "-5 min", "a time of 0 or more, such as 45 min or 3 h"),
        ("duration", "-PT5M", "a time such as 45 min or 3 h"),
        ("duration", "3654 d", "a time of at most 10 years, such as 45 min or 3 h"),
        ("duration", "P600W", "a time of at most 10 years, such as 45 min or 3 h"),
        ("signed_duration", "-3654 d", "a time of at most 10 years, such as 45 min or 3 h"),
    ],
)
def test_a_refusal_says_what_would_be_right(kind: str, text: str, message: str) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(message)}$"):
        READERS[kind](text)


@given(
    kind=st.sampled_from(sorted(READERS)),
    text=st.text(max_size=80)
    | st.text(alphabet="0123456789 .,-/'\"hminsdftPTWSFCKL%°½²^qxe", max_size=30)
    | st.from_regex(r"[0-9]{1,5}([./-][0-9]{1,3})? ?(h|min|F|C|%|ft|in|mm|m2|sq ft|gal|mL)"),
)
def test_any_text_is_read_or_refused_in_words(kind: str, text: str) -> None:
    try:
        value = READERS[kind](text)
    except ValueError as refusal:
        assert re.match("(a|an) [a-z]", str(refusal))  # noqa: PT017 (most texts raise nothing else)
    else:
        assert all(abs(x) < 1e7 for x in (value if isinstance(value, tuple) else (value,)))


@given(st.integers(-3653 * 1440, 3653 * 1440))
def test_a_time_printed_is_read_back_exactly(minutes: int) -> None:
    assert q.signed_duration(q.show_duration(minutes)) == minutes


@given(sizes(-40, 80), UNITS)
def test_a_temperature_printed_is_read_back_to_half_a_tenth(celsius: float, units: q.Units) -> None:
    step = 0.1 / 1.8 if units == "imperial" else 0.1
    assert abs(q.temperature(q.show_temperature(celsius, units)) - celsius) <= step / 2 + 1e-9


@given(sizes(0, 60), UNITS)
def test_a_difference_printed_is_read_back_to_half_a_tenth(kelvin: float, units: q.Units) -> None:
    step = 0.1 / 1.8 if units == "imperial" else 0.1
    read = q.temperature_difference(q.show_difference(kelvin, units))
    assert abs(read - kelvin) <= step / 2 + 1e-9


@given(sizes(0, 1))
def test_humidity_printed_is_read_back_to_half_a_tenth_of_a_percent(share: float) -> None:
    assert abs(q.humidity(q.show_humidity(share)) - share) <= 0.0005 + 1e-12


@given(sizes(0, 900_000), UNITS)
def test_a_length_printed_is_read_back_to_half_its_last_division(mm: float, units: q.Units) -> None:
    if units == "metric":
        step = 0.1 if mm < 1000 else 1.0
    else:
        step = 0.00254 if mm < 25.4 / 16 else 25.4 / 16
    assert abs(q.length(q.show_length(mm, units)) - mm) <= step / 2 + 1e-6


@given(sizes(0, 99_000), UNITS)
def test_an_area_printed_is_read_back_to_half_its_last_digit(m2: float, units: q.Units) -> None:
    step = 0.1 * 0.09290304 if units == "imperial" else 0.01
    assert abs(q.area(q.show_area(m2, units)) - m2) <= step / 2 + 1e-6


@given(sizes(0, 990_000), UNITS)
def test_a_volume_printed_is_read_back_to_half_its_last_digit(
    litres: float, units: q.Units
) -> None:
    gallon = 3.785411784
    if units == "metric":
        step = 0.01 if litres >= 1 else 0.0001
    else:
        step = 0.01 * gallon if litres >= gallon / 4 else 0.1 * gallon / 128
    assert abs(q.volume(q.show_volume(litres, units)) - litres) <= step / 2 + 1e-6


@pytest.mark.parametrize(
    ("shown", "text"),
    [
        (q.show_duration(0), "0 min"),
        (q.show_duration(45), "45 min"),
        (q.show_duration(90), "1 h 30 min"),
        (q.show_duration(1440), "24 h"),
        (q.show_duration(2879), "47 h 59 min"),
        (q.show_duration(2880), "2 d"),
        (q.show_duration(3120), "2 d 4 h"),
        (q.show_duration(2885), "2 d 5 min"),
        (q.show_duration(-90), "-1 h 30 min"),
        (q.show_temperature(20.0, "imperial"), "68 F"),
        (q.show_temperature(18.0, "imperial"), "64.4 F"),
        (q.show_temperature(-0.01, "metric"), "0 C"),
        (q.show_temperature(-5.0, "metric"), "-5 C"),
        (q.show_difference(4 / 1.8, "imperial"), "4 F"),
        (q.show_difference(4 / 1.8, "metric"), "2.2 C"),
        (q.show_humidity(0.45), "45 %"),
        (q.show_humidity(0.5549), "55.5 %"),
        (q.show_length(609.6, "imperial"), "2 ft"),
        (q.show_length(584.2, "imperial"), "23 in"),
        (q.show_length(9.525, "imperial"), "3/8 in"),
        (q.show_length(1879.6, "imperial"), "6 ft 2 in"),
        (q.show_length(1079.5, "imperial"), "3 ft 6-1/2 in"),
        (q.show_length(0.762, "imperial"), "30 mil"),
        (q.show_length(0.0, "imperial"), "0 in"),
        (q.show_length(0.0, "metric"), "0 mm"),
        (q.show_length(999.99, "metric"), "1000 mm"),
        (q.show_length(2438.4, "metric"), "2.438 m"),
        (q.show_area(3.9, "metric"), "3.9 m2"),
        (q.show_area(120_000.0, "metric"), "120000 m2"),
        (q.show_volume(3.785411784, "imperial"), "1 gal"),
        (q.show_volume(0.5, "metric"), "500 mL"),
    ],
)
def test_quantities_are_printed_as_a_label_prints_them(shown: str, text: str) -> None:
    assert shown == text
