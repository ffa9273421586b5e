"""Quantities as people write them: times, temperatures, humidity, lengths, areas, volumes, masses.

Each parser takes text and returns a number in the unit its docstring names, or raises
``ValueError`` with words that complete "must be ...". Units may not be left out, except on ``0``,
and sizes are exact fractions until the very end: 1.1 h is 66 min, not a hair more. Case, spaces,
``½`` and typographic quotes don't matter. ``show_*`` prints text that its parser reads back.

Sources: NIST Handbook 44, appendix C (inch, foot, yard, US gallon, pound: exact); ISO
8601-1:2019, 5.5.2 (``P1DT2H``), less years and months, which have no fixed length.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import ceil
from typing import Literal

from scheduler.model import LABORATORY

Units = Literal["metric", "imperial"]

_LONGEST = 60  # characters; nobody writes a quantity longer than that
_COLDEST, _WARMEST = -40, 80  # °C; outside it no room is meant, and no formula here holds
_WIDEST_DIFFERENCE = 60  # K
_DEGREES_PER_KELVIN = Fraction(9, 5)

_SPELLINGS = str.maketrans(
    {
        "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4",
        "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
        **dict.fromkeys("′’‘", "'"),
        **dict.fromkeys("″”“", '"'),
        **dict.fromkeys("−‑", "-"),
        **dict.fromkeys("º˚", "°"),
        "⁄": "/", "²": "^2", "³": "^3", "℃": "°c", "℉": "°f",
    }
)  # fmt: skip
_FRACTION_SIGN = re.compile("(?<=[0-9])(?=[½¼¾⅓⅔⅛⅜⅝⅞])")
_NUMBER = r"(?:(?:[0-9]+[ -])?[0-9]+/0*[1-9][0-9]*|[0-9]+(?:\.[0-9]+)?|\.[0-9]+)"
_TEMPERATURE = re.compile(
    rf"(-?)({_NUMBER}) ?(?:°|deg(?:ree)?s?)? ?(f(?:ahrenheit)?|c(?:elsius|entigrade)?|k(?:elvin)?)"
)
_HUMIDITY = re.compile(rf"({_NUMBER}) ?(?:%|percent|per cent|pct)(?: ?r\.?h)?")
_BETWEEN_CONDITIONS = re.compile(r"(?<=[a-z%])[ ,;/]*(?:and|at)? ?(?=[-0-9.])")
_ISO = re.compile(
    rf"p(?=.*[0-9])(?:({_NUMBER})w)?(?:({_NUMBER})d)?"
    rf"(?:t(?=[0-9.])(?:({_NUMBER})h)?(?:({_NUMBER})m)?(?:({_NUMBER})s)?)?"
)
_ISO_MINUTES = tuple(Fraction(s, 60) for s in (604_800, 86_400, 3600, 60, 1))


@dataclass(frozen=True)
class _Kind:
    """What is measured: its noun, what it looks like, its units and how much of it makes sense."""

    noun: str
    example: str
    most: Fraction
    most_words: str
    units: Mapping[str, Fraction]

    def unreadable(self) -> ValueError:
        return ValueError(f"{self.noun} such as {self.example}")

    def checked(self, size: Fraction) -> Fraction:
        """``size``, unless it is nonsense."""
        if size < 0:
            raise ValueError(f"{self.noun} of 0 or more, such as {self.example}")
        if size > self.most:
            raise ValueError(f"{self.noun} of at most {self.most_words}, such as {self.example}")
        return size


def _named(sizes: Mapping[str, Fraction | int | str]) -> dict[str, Fraction]:
    """Every spelling of every unit, from ``{"spelling|spelling": size}``."""
    return {name: Fraction(size) for names, size in sizes.items() for name in names.split("|")}


_TIME = _Kind(
    "a time", "45 min or 3 h", Fraction(3653 * 1440), "10 years",
    _named({
        "w|wk|wks|week|weeks": 10_080,
        "d|day|days": 1440,
        "h|hr|hrs|hour|hours": 60,
        "min|mins|minute|minutes|m": 1,
        "s|sec|secs|second|seconds": Fraction(1, 60),
    }),
)  # fmt: skip
_LENGTH = _Kind(
    "a length", "3/8 in, 3 ft 6 in or 10 mm", Fraction(1_000_000), "1 km",
    _named({
        "m|metre|metres|meter|meters": 1000,
        "yd|yds|yard|yards": "914.4",
        "ft|foot|feet|'": "304.8",
        'in|ins|inch|inches|"': "25.4",
        "cm|centimetre|centimetres|centimeter|centimeters": 10,
        "mm|millimetre|millimetres|millimeter|millimeters": 1,
        "mil|mils": "0.0254",
    }),
)  # fmt: skip
_AREA = _Kind(
    "an area", "42 sq ft or 4 m2", Fraction(100_000), "100000 m2",
    _named({
        "m2|m^2|sq m|sqm|square metre|square metres|square meter|square meters": 1,
        "yd2|yd^2|sq yd|square yard|square yards": "0.83612736",
        "ft2|ft^2|sq ft|sqft|sf|square foot|square feet": "0.09290304",
        "in2|in^2|sq in|square inch|square inches": "0.00064516",
    }),
)  # fmt: skip
_VOLUME = _Kind(
    "a volume", "1 gal, 3.8 L or 500 mL", Fraction(1_000_000), "1000000 L",
    _named({
        "m3|m^3|cubic metre|cubic metres|cubic meter|cubic meters": 1000,
        "ft3|ft^3|cu ft|cubic foot|cubic feet": "28.316846592",
        "gal|gals|gallon|gallons|us gal|us gallon|us gallons": "3.785411784",
        "l|litre|litres|liter|liters": 1,
        "qt|qts|quart|quarts": "0.946352946",
        "pt|pts|pint|pints": "0.473176473",
        "fl oz|floz|fluid ounce|fluid ounces": "0.0295735295625",
        "ml|millilitre|millilitres|milliliter|milliliters": "0.001",
    }),
)  # fmt: skip
_MASS = _Kind(
    "a mass", "22.68 kg or 50 lb", Fraction(100_000), "100000 kg",
    _named({
        "t|tonne|tonnes": 1000,
        "kg|kgs|kilo|kilos|kilogram|kilograms": 1,
        "lb|lbs|pound|pounds": "0.45359237",
        "oz|ounce|ounces": "0.028349523125",
        "g|gram|grams": "0.001",
    }),
)  # fmt: skip
_TEMPERATURE_WORDS = "a temperature such as 68 F or 20 C"
_DIFFERENCE_WORDS = "a difference in temperature such as 4 F or 2 C"
_HUMIDITY_WORDS = "a relative humidity such as 45 %"


def _plain(text: str) -> str:
    """The text in lower case and one spelling; empty where it is too long to be a quantity."""
    if len(text) > _LONGEST:
        return ""
    text = _FRACTION_SIGN.sub(" ", text).translate(_SPELLINGS).replace("''", '"').lower()
    return " ".join(re.sub(r"(?<=[a-z])\.", "", text).split())


def _number(text: str) -> Fraction:
    """The size of what ``_NUMBER`` matches: ``2``, ``2.5``, ``3/8``, ``1 1/4``, ``1-1/4``."""
    return sum((Fraction(part) for part in re.split("[ -]", text)), Fraction(0))


@lru_cache
def _term(names: tuple[str, ...]) -> str:
    """The pattern of a number with one of the units ``names``."""
    longest_first = sorted(names, key=len, reverse=True)
    return rf"({_NUMBER}) ?({'|'.join(map(re.escape, longest_first))})(?![a-z^])"


def _sum(kind: _Kind, text: str) -> Fraction:
    """The sum of terms such as ``3 ft 6 in``, the greater unit first, each unit once."""
    if re.fullmatch(_NUMBER, text) and _number(text) == 0:
        return Fraction(0)
    term = _term(tuple(kind.units))
    if not re.fullmatch(rf"{term}(?:(?: ?,| and)? ?{term})*", text):
        raise kind.unreadable()
    terms = [(_number(n), kind.units[unit]) for n, unit in re.findall(term, text)]
    sizes = [size for _, size in terms]
    if sizes != sorted(set(sizes), reverse=True):
        raise kind.unreadable()
    return sum((n * size for n, size in terms), Fraction(0))


def _parse(kind: _Kind, text: str) -> Fraction:
    """A checked size; a minus sign is read only to say what is wrong with it."""
    sign, rest = (-1, text[1:].lstrip()) if text.startswith("-") else (1, text)
    size = _sum(kind, rest)
    return kind.checked(sign * size if size else Fraction(0))


def duration(text: str) -> int:
    """A time [min], such as ``45 min``, ``1.5 h``, ``1 h 30 min``, ``2 d`` or ``PT90M``.

    A day is 24 h and a week 7 d, elapsed. A fraction of a minute rounds up.

    >>> duration("1½ hrs"), duration("2 d 4 h"), duration("P1DT2H"), duration("0")
    (90, 3120, 1560, 0)
    >>> duration("ninety")
    Traceback (most recent call last):
    ValueError: a time such as 45 min or 3 h
    """
    return ceil(_minutes(_plain(text)))


def _minutes(plain: str) -> Fraction:
    iso = _ISO.fullmatch(plain.replace(",", "."))
    if not iso:
        return _parse(_TIME, plain)
    parts = zip(iso.groups(), _ISO_MINUTES, strict=True)
    return _TIME.checked(sum((_number(n) * size for n, size in parts if n), Fraction(0)))


def seconds(text: str) -> float:
    """A time [s] in any spelling of a ``duration``.

    >>> seconds("30s"), seconds("1.5 min"), seconds("PT2M")
    (30.0, 90.0, 120.0)
    """
    return float(60 * _minutes(_plain(text)))


def signed_duration(text: str) -> int:
    """A time [min] that may be negative, as lags are: ``-30 min``, ``-PT2H``.

    >>> signed_duration("-1 h 30 min"), signed_duration("2 h")
    (-90, 120)
    """
    plain = _plain(text)
    sign = -1 if plain.startswith("-") else 1
    rest = plain[1:].lstrip() if plain.startswith(("-", "+")) else plain
    if rest.startswith("-"):
        raise _TIME.unreadable()
    return ceil(sign * _minutes(rest))


def temperature(text: str) -> float:
    """A temperature [°C], -40 to 80, such as ``68 F``, ``20 C``, ``68°F`` or ``68 deg F``.

    A bare ``0`` is refused: it means one thing in Celsius and another in Fahrenheit.

    >>> temperature("68 F"), temperature("20°C")
    (20.0, 20.0)
    """
    found = _TEMPERATURE.fullmatch(_plain(text))
    if not found:
        raise ValueError(_TEMPERATURE_WORDS)
    sign, number, scale = found.groups()
    degrees = -_number(number) if sign else _number(number)
    celsius = {
        "f": (degrees - 32) / _DEGREES_PER_KELVIN,
        "c": degrees,
        "k": degrees - Fraction("273.15"),
    }[scale[0]]
    if not _COLDEST <= celsius <= _WARMEST:
        raise ValueError(f"a temperature from {_COLDEST} C to {_WARMEST} C, such as 68 F or 20 C")
    return float(celsius)


def temperature_difference(text: str) -> float:
    """A difference in temperature [K], 0 to 60, such as ``4 F`` or ``2 C``.

    >>> round(temperature_difference("4 F"), 2), temperature_difference("3 K")
    (2.22, 3.0)
    """
    plain = _plain(text)
    found = _TEMPERATURE.fullmatch("0 c" if plain == "0" else plain)
    if not found:
        raise ValueError(_DIFFERENCE_WORDS)
    sign, number, scale = found.groups()
    kelvin = _number(number) / (_DEGREES_PER_KELVIN if scale[0] == "f" else 1)
    if (sign and kelvin) or kelvin > _WIDEST_DIFFERENCE:
        raise ValueError(f"{_DIFFERENCE_WORDS}, from 0 C to {_WIDEST_DIFFERENCE} C")
    return float(kelvin)


def humidity(text: str) -> float:
    """Relative humidity [0..1], such as ``45 %`` or ``45% RH``.

    >>> humidity("45 %")
    0.45
    """
    plain = _plain(text)
    found = _HUMIDITY.fullmatch("0 %" if plain == "0" else plain)
    if not found:
        raise ValueError(_HUMIDITY_WORDS)
    share = _number(found[1]) / 100
    if share > 1:
        raise ValueError("a relative humidity from 0 % to 100 %, such as 45 %")
    return float(share)


def conditions(text: str) -> tuple[float, float]:
    """A state of the air ([°C], [0..1]), such as ``73 F 50 %``; either part may be missing.

    What is missing is as in the laboratory: 23 °C, 50 %.

    >>> conditions("68 F, 65 % RH"), conditions("60 %")
    ((20.0, 0.65), (23.0, 0.6))
    """
    warm, damp = reading(text)
    return (
        LABORATORY.temperature if warm is None else warm,
        LABORATORY.humidity if damp is None else damp,
    )


def reading(text: str) -> tuple[float | None, float | None]:
    """What an instrument shows ([°C], [0..1]), such as ``68 F 55 %``; None for what it doesn't.

    >>> reading("68°F 55%"), reading("55 % RH"), reading("-2 C")
    ((20.0, 0.55), (None, 0.55), (-2.0, None))
    """
    parts = _BETWEEN_CONDITIONS.split(_plain(text))
    damp = [part for part in parts if _HUMIDITY.fullmatch(part)]
    warm = [part for part in parts if _TEMPERATURE.fullmatch(part)]
    if len(damp) > 1 or len(warm) > 1 or len(damp) + len(warm) != len(parts):
        raise ValueError("a state of the air such as 73 F 50 %")
    return (temperature(warm[0]) if warm else None, humidity(damp[0]) if damp else None)


def length(text: str) -> float:
    """A length [mm], such as ``3 ft 6 in``, ``3/8 in``, ``6'2"``, ``2.4 m`` or ``30 mil``.

    A mil is a thousandth of an inch, as films are measured.

    >>> length("3'-6 in"), length("1-1/4 in"), length("2.4 m")
    (1066.8, 31.75, 2400.0)
    """
    return float(_parse(_LENGTH, re.sub(r"('|ft|foot|feet)-(?=[0-9])", r"\1 ", _plain(text))))


def area(text: str) -> float:
    """An area [m2], such as ``42 sq ft`` or ``4 m2``.

    >>> round(area("42 sq. ft."), 3), area("4 m²")
    (3.902, 4.0)
    """
    return float(_parse(_AREA, _plain(text)))


def volume(text: str) -> float:
    """A volume [L], such as ``1 gal`` (US), ``3.8 L`` or ``500 mL``.

    >>> round(volume("1 gal"), 3), volume("500 mL")
    (3.785, 0.5)
    """
    return float(_parse(_VOLUME, _plain(text)))


def mass(text: str) -> float:
    """A mass [kg], such as ``22.68 kg``, ``50 lb`` or ``500 g``.

    >>> round(mass("50 lb"), 2), mass("500 g")
    (22.68, 0.5)
    """
    return float(_parse(_MASS, _plain(text)))


Measured = Literal["m2", "kg", "L", "m"]

_MEASURED: Mapping[Measured, _Kind] = {"m2": _AREA, "kg": _MASS, "L": _VOLUME, "m": _LENGTH}
_LAST_UNIT = re.compile(r"[a-z'\"][a-z ^]*[23]?$")


def measured_in(text: str) -> Measured | None:
    """What an amount is read as, by its last unit; None where that is no unit of size.

    >>> measured_in("42 sq ft"), measured_in("3 ft 6 in"), measured_in("6 each")
    ('m2', 'm', None)
    """
    last = _LAST_UNIT.search(_plain(text))
    named = last.group() if last else ""
    return next((unit for unit, kind in _MEASURED.items() if named in kind.units), None)


def _digits(value: float, places: int) -> str:
    """``value`` rounded to ``places`` (1 or more), without trailing zeros or a minus on zero."""
    return f"{round(value, places) + 0.0:.{places}f}".rstrip("0").rstrip(".")


def show_duration(minutes: int) -> str:
    """A time, exactly; in hours until two days are full, as labels count them.

    >>> [show_duration(m) for m in (45, 90, 1440, 3120, 0, -30)]
    ['45 min', '1 h 30 min', '24 h', '2 d 4 h', '0 min', '-30 min']
    """
    size = abs(minutes)
    days = size // 1440 if size >= 2 * 1440 else 0
    hours, rest = divmod(size - days * 1440, 60)
    parts = [f"{n} {unit}" for n, unit in ((days, "d"), (hours, "h"), (rest, "min")) if n]
    return ("-" if minutes < 0 else "") + (" ".join(parts) or "0 min")


def show_temperature(celsius: float, units: Units) -> str:
    """A temperature given in °C, to a tenth of a degree.

    >>> show_temperature(20.0, "imperial"), show_temperature(18.86, "metric")
    ('68 F', '18.9 C')
    """
    if units == "imperial":
        return f"{_digits(celsius * 1.8 + 32, 1)} F"
    return f"{_digits(celsius, 1)} C"


def show_difference(kelvin: float, units: Units) -> str:
    """A difference in temperature given in K, to a tenth of a degree.

    >>> show_difference(3.0, "imperial"), show_difference(3.0, "metric")
    ('5.4 F', '3 C')
    """
    return f"{_digits(kelvin * 1.8, 1)} F" if units == "imperial" else f"{_digits(kelvin, 1)} C"


def show_humidity(share: float) -> str:
    """Relative humidity given as 0..1, to a tenth of a percent.

    >>> show_humidity(0.45)
    '45 %'
    """
    return f"{_digits(share * 100, 1)} %"


def show_length(mm: float, units: Units) -> str:
    """A length given in mm: to a tenth of a mm, a mm from 1 m on; to 1/16 in, a mil below that.

    >>> [show_length(x, "imperial") for x in (1066.8, 31.75, 406.4, 0.762)]
    ['3 ft 6 in', '1-1/4 in', '16 in', '30 mil']
    >>> [show_length(x, "metric") for x in (2400.0, 9.5)]
    ['2.4 m', '9.5 mm']
    """
    if units == "metric":
        return f"{_digits(mm, 1)} mm" if mm < 1000 else f"{_digits(mm / 1000, 3)} m"
    sixteenths = round(mm / 25.4 * 16)
    if mm * 16 < 25.4:
        return f"{_digits(mm / 0.0254, 1)} mil" if mm > 0 else "0 in"
    feet, rest = divmod(sixteenths, 12 * 16) if sixteenths >= 24 * 16 else (0, sixteenths)
    return " ".join(([f"{feet} ft"] if feet else []) + ([_inches(rest)] if rest else []))


def _inches(sixteenths: int) -> str:
    whole, part = divmod(sixteenths, 16)
    fraction = str(Fraction(part, 16)) if part else ""
    return "-".join(filter(None, (str(whole) if whole else "", fraction))) + " in"


def show_area(m2: float, units: Units) -> str:
    """An area given in m2, to 0.01 m2 or 0.1 sq ft.

    >>> show_area(3.902, "imperial"), show_area(4.0, "metric")
    ('42 sq ft', '4 m2')
    """
    return f"{_digits(m2 / 0.09290304, 1)} sq ft" if units == "imperial" else f"{_digits(m2, 2)} m2"


def show_volume(litres: float, units: Units) -> str:
    """A volume given in L, to 0.01 L or US gallon; mL and fluid ounces below 1 L and 1 qt.

    >>> show_volume(3.785, "imperial"), show_volume(0.3, "imperial"), show_volume(0.5, "metric")
    ('1 gal', '10.1 fl oz', '500 mL')
    """
    if units == "metric":
        return f"{_digits(litres, 2)} L" if litres >= 1 else f"{_digits(litres * 1000, 1)} mL"
    gallons = litres / 3.785411784
    return f"{_digits(gallons, 2)} gal" if gallons >= 0.25 else f"{_digits(gallons * 128, 1)} fl oz"


def show_mass(kg: float, units: Units) -> str:
    """A mass given in kg, to 0.01 kg or 0.1 lb; in g below 1 kg.

    >>> show_mass(22.68, "imperial"), show_mass(22.68, "metric"), show_mass(0.25, "metric")
    ('50 lb', '22.68 kg', '250 g')
    """
    if units == "imperial":
        return f"{_digits(kg / 0.45359237, 1)} lb"
    return f"{_digits(kg, 2)} kg" if kg >= 1 else f"{_digits(kg * 1000, 1)} g"
