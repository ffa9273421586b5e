"""What the values of a job file may be: how each kind is read, and how an editor may check it.

What isn't peculiar to jobs is in ``yamlform.amounts``.
"""

import re
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Literal, NamedTuple

from scheduler import measures, quantities
from scheduler.catalogue import KEEP, LabelTime, classes
from scheduler.clock import DAY
from scheduler.jobfile import hourstext
from scheduler.model import STAGES, Measure, Prefer, Skill
from scheduler.rates import rates
from scheduler.yamlform.amounts import (
    DIFFERENCE,
    LONGEST,
    SPAN_FORM,
    at_most,
    form,
    or_zero,
    span,
)
from scheduler.yamlform.fields import Choice, Name, Value

_DOTS = re.compile(r"\s*(?:\.\.+|…)\s*")


def _within(text: str) -> int | None:
    try:
        return None if text.lower() == "none" else span(text)
    except ValueError as error:
        raise ValueError(f"{error}, or none") from None


def _label_time(text: str) -> LabelTime:
    """``2 h``, or with its window ``2 h..24 h``; ``2 h..none`` lifts the class's window."""
    first, dots, last = _DOTS.sub("..", text.strip()).partition("..")
    minutes = span(first)
    within = _within(last) if dots else KEEP
    if isinstance(within, int) and within < minutes:
        raise ValueError("a time and then a longer window, such as 2 h..24 h")
    return LabelTime(minutes, within)


class WorkTime(NamedTuple):
    """How long a piece of work takes [min], and at the shortest and longest where it is said."""

    usual: int
    span: tuple[int, int] | None = None


def _work(text: str) -> WorkTime:
    """``4 h``, or the shortest, usual and longest time: ``3 h..4 h..7 h``."""
    times = [*map(span, _DOTS.split(text.strip()))]
    if len(times) == 1:
        return WorkTime(times[0])
    if len(times) != 3 or not 0 < times[0] <= times[1] <= times[2]:
        raise ValueError("the shortest, the usual and the longest time, such as 3 h..4 h..7 h")
    return WorkTime(times[1], (times[0], times[2]))


def _count(text: str) -> int:
    if not re.fullmatch("[0-9]{1,3}", text) or not 1 <= int(text) <= 100:
        raise ValueError(COUNT.words)
    return int(text)


def _visits(text: str) -> int:
    number = re.fullmatch(r"\s*(\d+)\s*(?:visits?|days?)?\s*", text.lower())
    if number is None or not 1 <= int(number[1]) <= 100:
        raise ValueError(VISITS.words)
    return int(number[1])


def _at_least(text: str) -> int:
    try:
        minutes = span(re.sub(r"\s+at least\s*$", "", text.strip().lower()))
    except ValueError:
        minutes = 0
    if not 0 < minutes <= DAY:
        raise ValueError(AT_LEAST.words)
    return minutes


def _price(text: str) -> Decimal:
    if not re.fullmatch(r"[0-9]{1,7}(\.[0-9]{1,2})?", text):
        hint = "; the currency has a key of its own, 'currency'"
        raise ValueError(PRICE.words, hint if re.search(r"[^0-9.,\s-]", text) else "")
    return Decimal(text)


def _currency(text: str) -> str:
    if not re.fullmatch("[A-Za-z]{3}", text):
        raise ValueError(CURRENCY.words)
    return text.upper()


def _pace(text: str) -> float:
    if not re.fullmatch(r"[0-9]{1,2}(\.[0-9]{1,3})?", text) or not 0.1 <= float(text) <= 10:
        raise ValueError(PACE.words)
    return float(text)


def _priority(text: str) -> float:
    if not re.fullmatch(r"[0-9]{1,3}(\.[0-9])?", text) or not 0.1 <= float(text) <= 100:
        raise ValueError(PRIORITY.words)
    return float(text)


def _year(text: str) -> int:
    if not re.fullmatch("[0-9]{4}", text) or not 1000 <= int(text) <= hourstext.LATEST:
        raise ValueError(YEAR.words)
    return int(text)


def _used(text: str) -> Measure:
    return _NOTHING if text.strip() == "0" else measures.stuff(text)


def _share(text: str) -> float:
    found = re.fullmatch(r"([0-9]{1,3}(?:\.[0-9]+)?)\s*%", text.strip())
    if not found or float(found[1]) > 100:
        raise ValueError(SHARE.words)
    return float(found[1]) / 100


def _day(text: str) -> date:
    try:
        return hourstext.day(text.strip())
    except ValueError as error:
        words = DAY_ONLY.words if str(error) == hourstext.DATE_WORDS else str(error)
        raise ValueError(words) from None


_lag = at_most(LONGEST, "a time of at most 365 d either way", quantities.signed_duration)
_swing = at_most(
    30.0, "at most 30 C or 54 F either side of the mean", quantities.temperature_difference
)

_DATES = r"[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}"
LAG = Value(
    "a time such as 12 h or -30 min",
    _lag,
    or_zero(form(r"^\s*[-+−]?\s*" + SPAN_FORM, "12 h", "-30 min")),
)
WITHIN = Value(
    "a time such as 45 min or 3 h, or none",
    _within,
    or_zero(form(r"^\s*" + SPAN_FORM + r"|^[Nn][Oo][Nn][Ee]$", "24 h", "none")),
)
LABEL_TIME = Value(
    "a time such as 2 h, or with a window: 2 h..24 h",
    _label_time,
    or_zero(form(r"[0-9].*[A-Za-z]|^0+$", "2 h", "2 h..24 h", "2 h..none")),
)
WORK = Value(
    "a time such as 45 min or 3 h",
    _work,
    or_zero(form(r"^\s*" + SPAN_FORM, "45 min", "3 h", "3 h..4 h..7 h", "2 d")),
)
SWING = replace(DIFFERENCE, parse=_swing)
COUNT = Value(
    "a number from 1 to 100", _count, {"type": ["integer", "string"], "pattern": "^[0-9]{1,3}$",
                                       "minimum": 1, "maximum": 100}
)  # fmt: skip
VISITS = Value(
    "a number from 1 to 100, such as 2 visits",
    _visits,
    {"type": ["integer", "string"], "pattern": r"^\s*[0-9]{1,3}(\s*([Vv]isits?|[Dd]ays?))?\s*$",
     "minimum": 1, "maximum": 100},
)  # fmt: skip
AT_LEAST = Value(
    "a time of at most 24 h, such as 4 h at least",
    _at_least,
    form(r"^\s*[0-9.½¼¾].*[A-Za-z]", "4 h at least", "90 min"),
)
MOMENT = Value(
    hourstext.DATE_WORDS,
    hourstext.moment,
    form(rf"^\s*{_DATES}([ Tt].*)?$", "2027-01-08", "2027-01-08 17:00"),
)
HOURS = Value(
    hourstext.HOURS_WORDS,
    hourstext.hours,
    form(r"[0-9].*([-–—‒―−‐‑]| to )|24/7|^\s*[Aa][Ll][Ww][Aa][Yy][Ss]\s*$",
          "mon-fri 18:00-21:30", "2027-01-14 8:00-12:00", "always"),
)  # fmt: skip
AWAY = Value(
    hourstext.AWAY_WORDS,
    hourstext.away,
    form(rf"^\s*{_DATES}", "2027-01-13", "2027-01-20..2027-01-22"),
)
BOOKED = Value(
    hourstext.BOOKED_WORDS,
    hourstext.booked,
    form(rf"^\s*{_DATES}.*([-–—‒―−‐‑]| to )", "2027-01-14 8:00-12:00"),
)
ZONE = Name(
    "an IANA time zone such as America/Toronto or Europe/Berlin",
    lambda: form(r"^[A-Za-z][A-Za-z0-9_+/-]*$", "America/Toronto", "Europe/Berlin"),
)
RESERVED = ("any", "all", "who")
"""Words of ``who`` that can't be the ids of people."""

PERSON = Name("the id of a person, a list such as [me, plumber], or {me: 1, helper: 2}")
ROOM = Name("the id of a room")
PRODUCT = Name("the id of a product, or a class of the catalogue such as grout")
CLASS = Name("a class of the catalogue such as thinset", lambda: {"enum": list(classes())})
TASK = Name("the id of a task")
STAGE = Name("a stage such as recoat", lambda: {"enum": list(STAGES)})
ENDS = Choice[Literal["start", "finish"]]({"start": "start", "finish": "finish"})
UNITS = Choice[Literal["metric", "imperial"]]({"metric": "metric", "imperial": "imperial"})
_MEASURE = r"^\s*[0-9.½¼¾⅓⅔⅛⅜⅝⅞].*[A-Za-z\'\"²]"
QUANTITY = Value(
    measures.QUANTITY_WORDS, measures.quantity, form(_MEASURE, "9.2 m2", "42 sq ft", "12 ft")
)
_NOTHING = Measure(0.0, "each")
USED = Value(
    f"{measures.STUFF_WORDS}; or 0", _used, or_zero(form(_MEASURE + r"|^0$", "22.68 kg", "6 each"))
)
STUFF = Value(measures.STUFF_WORDS, measures.stuff, form(_MEASURE, "22.68 kg", "1 gal", "6 each"))
USAGE = Value(measures.USAGE_WORDS, measures.usage, form("[0-9]", "2.57 kg/m2", "24 mil"))
SHARE = Value("a share such as 10 %", _share, form(r"[0-9] ?%", "10 %"))
PRICE = Value(
    "an amount of money without its currency, such as 38.50",
    _price,
    {"type": ["number", "string"], "minimum": 0, "pattern": r"^[0-9]{1,7}(\.[0-9]{1,2})?$"},
)
CURRENCY = Value(
    "a currency as ISO 4217 has it, such as CAD or EUR",
    _currency,
    form("^[A-Za-z]{3}$", "CAD", "EUR"),
)
PREFER = Choice[Prefer]({
    "finish": "finish",
    "fewest-days-without": "fewest-days-without",
    "fewest-visits": "fewest-visits",
})  # fmt: skip
PACE = Value(
    "a factor from 0.1 to 10, such as 1.6 for one who takes 1.6 times as long",
    _pace,
    {"type": ["number", "string"], "minimum": 0.1, "maximum": 10, "pattern": r"^[0-9.]+$"},
)
PRIORITY = Value(
    "a number from 0.1 to 100, such as 2 for a job in which a day late weighs twice",
    _priority,
    {"type": ["number", "string"], "minimum": 0.1, "maximum": 100, "pattern": r"^[0-9.]+$"},
)
CREW_FILE = Name("the name of a file beside this one, such as crew.yaml")
YEAR = Value(
    "a year such as 1962", _year, {"type": ["integer", "string"], "minimum": 1000,
                                   "maximum": hourstext.LATEST, "pattern": "^[0-9]{4}$"}
)  # fmt: skip
DAY_ONLY = Value("a date such as 2027-03-01", _day, form(rf"^\s*{_DATES}\s*$", "2027-03-01"))
SKILL = Choice[Skill]({"trade": "trade", "handy": "handy", "beginner": "beginner"})
RATE = Name("a kind of work such as wall-tile", lambda: {"enum": list(rates())})
USED_BY_ALL = Name("what the household uses, a word such as shower, or a list of them")
SUPPLIED = Name("the id of a product or of goods, or a list such as [thinset, grout]")
