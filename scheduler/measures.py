"""How much of what: amounts whose unit says what is measured, and what a square metre takes.

``9.2 m2`` of wall, ``22.68 kg`` of mortar, ``1 gal`` of paint, ``6 each``. A usage is one amount
for another, ``2.57 kg/m2``; people say it the other way round too, ``95 sq ft per 50 lb``. A film
is a usage as well: litres to the square metre are millimetres of thickness.

Parsers raise ``ValueError`` with words that complete "must be ...", as those of ``quantities`` do.
"""

import re
from collections.abc import Collection, Mapping
from typing import NamedTuple, cast, get_args

from scheduler import quantities
from scheduler.model import Measure, Per, Unit
from scheduler.quantities import Units

MEASURE_WORDS = "an amount with its unit, such as 9.2 m2 or 22.68 kg"
QUANTITY_WORDS = "a quantity of work such as 9.2 m2, 42 sq ft, 12 ft, 3 each or 1 room"
STUFF_WORDS = "an amount such as 22.68 kg, 1 gal, 25 ft or 6 each"
USAGE_WORDS = "a usage such as 2.57 kg/m2, 95 sq ft per 50 lb, 0.6 L/m2 or a film of 24 mil"
UNIT_WORDS: Mapping[str, str] = {
    "m2": "an area such as 9.2 m2 or 42 sq ft",
    "m": "a length such as 24 ft or 7.5 m",
    "kg": "a mass such as 50 lb or 22.7 kg",
    "L": "a volume such as 1 gal or 3.8 L",
    "each": "a number such as 12 each",
    "room": "a number of rooms such as 1 room",
}
"""What an amount in each unit must be."""

_COUNTED = {
    **dict.fromkeys(("each", "piece", "pieces", "pc", "pcs"), "each"),
    **dict.fromkeys(("room", "rooms"), "room"),
}
_COUNT = re.compile(rf"([0-9]+(?:\.[0-9]+)?) ?({'|'.join(_COUNTED)})")
_MOST = 1_000_000  # pieces
_THICKEST_FILM = 10.0  # mm
_PER = re.compile(r" per |/ *(?=[a-z])")  # not the stroke of 3/8 in


class Usage(NamedTuple):
    """What is used of one thing [unit] for one [per] of another."""

    size: float
    unit: Unit
    per: Per


def measure(text: str) -> Measure:
    """An amount of anything that can be measured or counted.

    >>> measure("9.2 m2"), measure("6 each"), measure("7 ft 10-1/2 in").unit
    (Measure(size=9.2, unit='m2'), Measure(size=6.0, unit='each'), 'm')
    """
    match quantities.measured_in(text):
        case "m2":
            return Measure(quantities.area(text), "m2")
        case "kg":
            return Measure(quantities.mass(text), "kg")
        case "L":
            return Measure(quantities.volume(text), "L")
        case "m":
            return Measure(quantities.length(text) / 1000, "m")
    return _counted(text)


def _counted(text: str) -> Measure:
    found = _COUNT.fullmatch(" ".join(text.lower().split()))
    if not found:
        raise ValueError(MEASURE_WORDS)
    if float(found[1]) > _MOST:
        raise ValueError(f"a number of at most {_MOST}, such as 6 each")
    return Measure(float(found[1]), _COUNTED[found[2]])


def quantity(text: str) -> Measure:
    """How much work: an area, a length, a number of pieces or of rooms; above 0.

    >>> quantity("1 room"), quantity("12 m")
    (Measure(size=1.0, unit='room'), Measure(size=12.0, unit='m'))
    """
    return _one_of(text, get_args(Per), QUANTITY_WORDS)


def stuff(text: str) -> Measure:
    """How much of a product or of goods: a mass, a volume, a length, an area, a number; above 0.

    >>> stuff("1 L"), stuff("500 g")
    (Measure(size=1.0, unit='L'), Measure(size=0.5, unit='kg'))
    """
    return _one_of(text, get_args(Unit), STUFF_WORDS)


def _one_of(text: str, units: Collection[str], words: str) -> Measure:
    try:
        read = measure(text)
    except ValueError as error:
        raise ValueError(words if str(error) == MEASURE_WORDS else str(error)) from None
    if read.unit not in units or read.size <= 0:
        raise ValueError(words)
    return read


def usage(text: str) -> Usage:
    """What a square metre, a metre or a piece takes of something.

    >>> usage("30 each/m2")
    Usage(size=30.0, unit='each', per='m2')
    >>> round(usage("95 sq ft per 50 lb").size, 2), round(usage("24 mil").size, 2)
    (2.57, 0.61)
    """
    parts = _PER.split(" ".join(text.lower().split()))
    if len(parts) == 1:
        return Usage(_film(text), "L", "m2")
    try:
        top, bottom = (
            measure(part if re.match("[0-9.½¼¾]", part) else f"1 {part}") for part in parts
        )
        return _ratio(top, bottom)
    except ValueError:
        raise ValueError(USAGE_WORDS) from None


def _film(text: str) -> float:
    """Litres to the square metre of a wet film: its thickness in mm."""
    try:
        thickness = quantities.length(text)
    except ValueError:
        raise ValueError(USAGE_WORDS) from None
    if not 0 < thickness <= _THICKEST_FILM:
        raise ValueError(f"a film over 0 and up to {_THICKEST_FILM:g} mm, such as 0.6 mm or 24 mil")
    return thickness


def _ratio(top: Measure, bottom: Measure) -> Usage:
    """The usage of ``top`` per ``bottom``, or the other way round where that is what is meant."""
    if bottom.unit in {"kg", "L"}:
        top, bottom = bottom, top
    if top.unit not in get_args(Unit) or bottom.unit not in get_args(Per):
        raise ValueError(USAGE_WORDS)
    if not (top.size > 0 and bottom.size > 0):
        raise ValueError(USAGE_WORDS)
    return Usage(top.size / bottom.size, cast(Unit, top.unit), cast(Per, bottom.unit))


def show_measure(size: float, unit: str, units: Units) -> str:
    """An amount in the reader's units.

    >>> show_measure(22.68, "kg", "imperial"), show_measure(3.0, "each", "metric")
    ('50 lb', '3 each')
    """
    match unit:
        case "m2":
            return quantities.show_area(size, units)
        case "kg":
            return quantities.show_mass(size, units)
        case "L":
            return quantities.show_volume(size, units)
        case "m":
            return quantities.show_length(size * 1000, units)
    rounded = f"{size:.1f}".removesuffix(".0")
    return f"{rounded} {unit if unit == 'each' or size == 1 else unit + 's'}"
