"""Text and amounts as they stand in files: how each kind is read, and how an editor may check it.

The patterns for editors are wide: they catch a missing unit, and leave the rest to the readers.
"""

import unicodedata
from collections.abc import Callable
from functools import lru_cache
from typing import TypeVar

from scheduler import quantities
from scheduler.clock import DAY
from scheduler.model import Conditions
from scheduler.yamlform.fields import TEXT, Schema, Value

T = TypeVar("T", int, float)

SPAN_FORM = r"([0-9.½¼¾].*[A-Za-z]\.?|[pP][0-9Tt].*|0+)\s*$"
"""The pattern of a time, less what may stand before it."""


def form(pattern: str, *examples: str) -> Schema:
    """The JSON Schema of text, for an editor."""
    return {"type": "string", "pattern": pattern, "examples": list(examples)}


def or_zero(of: Schema) -> Schema:
    """Nought may do without its unit, and is a number to an editor then."""
    return {"anyOf": [of, {"const": 0}]}


def at_most(most: T, words: str, parse: Callable[[str], T]) -> Callable[[str], T]:
    """A parser that refuses more than ``most``, either way from 0; ``words`` complete "must be"."""

    def checked(text: str) -> T:
        value = parse(text)
        if abs(value) > most:
            raise ValueError(words)
        return value

    return checked


LONGEST = 365 * DAY
span = lru_cache(
    at_most(LONGEST, "a time of at most 365 d, such as 45 min or 3 h", quantities.duration)
)
"""Text to a time [min] of at most a year; files say the same few many times."""


def _clean(text: str) -> str:
    """Text on one line, without characters that would steer a terminal or upset a calendar."""
    if not text.isprintable():  # most text is, and need not be looked at letter by letter
        text = "".join(" " if c.isspace() else c for c in text if c.isspace() or _prints(c))
    return " ".join(text.split())


def _clean_lines(text: str) -> str:
    """Text with its lines kept, each of them clean."""
    return "\n".join(map(_clean, text.strip().splitlines()))


def _prints(char: str) -> bool:
    directional = "\u202a" <= char <= "\u202e" or "\u2066" <= char <= "\u2069"
    return unicodedata.category(char) not in {"Cc", "Cs"} and not directional


def _some(cleaned: Callable[[str], str]) -> Callable[[str], str]:
    def parse(text: str) -> str:
        if not (kept := cleaned(text)):
            raise ValueError("text")
        return kept

    return parse


def _some_time(text: str) -> int:
    if not (minutes := span(text)):
        raise ValueError("a time over 0 min, such as 45 min or 3 h")
    return minutes


@lru_cache
def _state(text: str) -> Conditions:
    return Conditions(*quantities.conditions(text))


def _thick(text: str) -> float:
    size = quantities.length(text)
    if not 0 < size <= 500:
        raise ValueError("a thickness over 0 and up to 500 mm, such as 10 mm or 3/8 in")
    return size


LINE = Value("text", _some(_clean), TEXT)
LINES = Value("text", _some(_clean_lines), TEXT)
DURATION = Value(
    "a time such as 45 min or 3 h",
    span,
    or_zero(form(r"^\s*" + SPAN_FORM, "45 min", "3 h", "1 h 30 min", "2 d")),
)
SOME_TIME = Value("a time such as 45 min or 3 h", _some_time, form(r"^\s*" + SPAN_FORM, "3 h"))
TEMPERATURE = Value(
    "a temperature such as 68 F or 20 C",
    quantities.temperature,
    form(r"[0-9].*[A-Za-z℃℉]", "68 F", "20 C"),
)
DIFFERENCE = Value(
    "a difference in temperature such as 4 F or 2 C",
    quantities.temperature_difference,
    or_zero(form(r"[0-9].*[A-Za-zº°℃℉]|^0$", "4 F", "2 C")),
)
HUMIDITY = Value(
    "a relative humidity such as 45 %",
    quantities.humidity,
    or_zero(form(r"[0-9] ?(%|[Pp])|^0$", "45 %")),
)
AIR_STATE = Value(
    "a state of the air such as 73 F 50 %",
    _state,
    form(r"[0-9]", "73 F 50 %"),
)
THICKNESS = Value(
    "a thickness such as 10 mm or 3/8 in", _thick, form(r"[0-9½¼¾⅛⅜⅝⅞]", "10 mm", "3/8 in")
)
