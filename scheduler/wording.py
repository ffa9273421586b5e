"""Times, days, spans and lists in words; paragraphs wrapped to a width; text for any stream.

Names of days and months are English and never the locale's, so that one plan is one text. Words
that belong together ("Sun 14:05", "2 h 30 min") are glued by no-break spaces, which `wrapped`
turns into plain ones once the lines are broken.
"""

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from itertools import pairwise
from typing import Protocol

from scheduler.clock import day_of, day_start, to_local
from scheduler.quantities import show_duration

GLUE = "\N{NO-BREAK SPACE}"
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

READY = {
    "touch": "dry to the touch",
    "set": "set",
    "recoat": "ready to recoat",
    "sand": "ready to sand",
    "walk": "ready to walk on",
    "tile": "ready to tile",
    "grout": "ready to grout",
    "flood": "ready for the flood test",
    "paint": "ready to paint",
    "water": "ready for water",
}
"""Stages of a product as a person on site says them."""

_BEYOND_ASCII = re.compile(r"[^\x00-\x7f]")
_BREAK = re.compile(f"[^\\S{GLUE}]+")
_TURNS_TEXT_AROUND = frozenset(
    "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
)
_LOOKALIKES = {
    "\N{DEGREE SIGN}": "",  # "68 °F" stays a temperature as "68 F"
    "\N{EN DASH}": "-",
    "\N{EM DASH}": "-",
    "\N{MINUS SIGN}": "-",
    "\N{NON-BREAKING HYPHEN}": "-",
    "\N{HYPHEN}": "-",
    "\N{MULTIPLICATION SIGN}": "x",
    "\N{RIGHTWARDS ARROW}": "->",
    "\N{LEFTWARDS ARROW}": "<-",
    "\N{PLUS-MINUS SIGN}": "+/-",
    "\N{LESS-THAN OR EQUAL TO}": "<=",
    "\N{GREATER-THAN OR EQUAL TO}": ">=",
    "\N{LEFT SINGLE QUOTATION MARK}": "'",
    "\N{RIGHT SINGLE QUOTATION MARK}": "'",
    "\N{PRIME}": "'",
    "\N{LEFT DOUBLE QUOTATION MARK}": '"',
    "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
    "\N{DOUBLE PRIME}": '"',
    "\N{BULLET}": "*",
    "\N{MIDDLE DOT}": "-",
    "\N{FRACTION SLASH}": "/",
    "\N{GREEK SMALL LETTER MU}": "u",
    "\N{LATIN SMALL LETTER SHARP S}": "ss",
    "\N{LATIN SMALL LETTER AE}": "ae",
    "\N{LATIN CAPITAL LETTER AE}": "AE",
    "\N{LATIN SMALL LETTER O WITH STROKE}": "o",
    "\N{LATIN CAPITAL LETTER O WITH STROKE}": "O",
    "\N{LATIN SMALL LIGATURE OE}": "oe",
    "\N{LATIN CAPITAL LIGATURE OE}": "OE",
    "\N{LATIN SMALL LETTER D WITH STROKE}": "d",
    "\N{LATIN SMALL LETTER L WITH STROKE}": "l",
    "\N{LATIN CAPITAL LETTER L WITH STROKE}": "L",
    "\N{LATIN SMALL LETTER DOTLESS I}": "i",
}


def glued(text: str) -> str:
    """The text with its spaces made no-break, so that `wrapped` keeps it on one line."""
    return text.replace(" ", GLUE)


def duration(minutes: int) -> str:
    """A span [min] in words, glued.

    >>> duration(168).replace(GLUE, " ")
    '2 h 48 min'
    """
    return glued(show_duration(minutes))


def day(of: date, year: bool = False) -> str:
    """A calendar day, glued, with its year on request.

    >>> day(date(2027, 1, 9)).replace(GLUE, " ")
    'Sat 9 Jan'
    """
    words = f"{WEEKDAYS[of.weekday()]} {of.day} {MONTHS[of.month - 1]}"
    return glued(f"{words} {of.year}" if year else words)


def day_run(first: date, last: date, year: bool = False) -> str:
    """A run of calendar days, both ends included; the month once where it is the same.

    >>> day_run(date(2027, 1, 11), date(2027, 1, 13)).replace(GLUE, " ")
    'Mon 11 – Wed 13 Jan'
    """
    if first == last:
        return day(first, year)
    if (first.year, first.month) == (last.year, last.month):
        return f"{glued(f'{WEEKDAYS[first.weekday()]} {first.day} –')} {day(last, year)}"
    return f"{glued(f'{day(first, year)} –')} {day(last, year)}"


def moment(minute: int, zone: str, seen: date | None = None, *, ends: bool = False) -> str:
    """A UTC minute as a local time, as short as the day it is read on allows, glued.

    Args:
        minute: UTC minute.
        zone: IANA name.
        seen: the local day on which it is read: that day's times need no day, those less than a
            week away only the weekday. None gives day and year.
        ends: something ends then: midnight is 24:00 of the day that it ends.

    >>> (moment(29993640, "UTC", date(2027, 1, 10)), moment(29993760, "UTC", date(2027, 1, 10),
    ...     ends=True).replace(GLUE, " "))
    ('22:00', '24:00')
    """
    on, time = _wall(minute, zone, ends)
    if seen is None:
        return glued(f"{day(on, year=True)} {time}")
    away = abs((on - seen).days)
    if away == 0:
        return time
    return glued(f"{WEEKDAYS[on.weekday()] if away < 7 else day(on, on.year != seen.year)} {time}")


def dated(minute: int, zone: str, *, ends: bool = False) -> str:
    """A UTC minute as local weekday, date and time, glued; ``ends`` as in `moment`.

    >>> dated(29993640, "UTC").replace(GLUE, " ")
    'Sun 10 Jan 22:00'
    """
    on, time = _wall(minute, zone, ends)
    return glued(f"{day(on)} {time}")


def _wall(minute: int, zone: str, ends: bool) -> tuple[date, str]:
    on = day_of(minute, zone)
    if ends and minute == day_start(on, zone):
        return day_of(minute - 1, zone), "24:00"
    return on, clock(minute, zone)


def clock(minute: int, zone: str) -> str:
    """The local time of day; with the zone's short name in the hour that comes twice in autumn.

    >>> clock(29993640, "UTC")
    '22:00'
    """
    local = to_local(minute, zone)
    return glued(f"{local:%H:%M} {local:%Z}" if _comes_twice(local) else f"{local:%H:%M}")


def time_of_day(minutes: int) -> str:
    """Minutes since midnight as a clock shows them.

    >>> time_of_day(1110)
    '18:30'
    """
    return f"{minutes // 60:02}:{minutes % 60:02}"


def _comes_twice(local: datetime) -> bool:
    return local.utcoffset() != local.replace(fold=1 - local.fold).utcoffset()


def listed(names: Iterable[str]) -> str:
    """Names as an English list.

    >>> listed(["me", "helper", "plumber"])
    'me, helper and plumber'
    """
    *most, last = [*names] or [""]
    return f"{', '.join(most)} and {last}" if most else last


def crew(hands: Mapping[str, int]) -> list[str]:
    """Who is there, with how many of them where there are several.

    >>> crew({"me": 1, "helper": 2})
    ['me', 'helper (2)']
    """
    return [who if several == 1 else f"{who} ({several})" for who, several in hands.items()]


def counted(number: int, noun: str) -> str:
    """A number with its noun.

    >>> counted(1, "day"), counted(11, "day")
    ('1 day', '11 days')
    """
    return f"{number} {noun}{'' if number == 1 else 's'}"


def columns(text: str) -> int:
    """How many columns of a terminal the text takes: wide characters two, combining ones none.

    >>> columns("grout"), columns("浴室"), columns("fu\N{COMBINING DIAERESIS}r")
    (5, 4, 3)
    """
    if text.isascii():
        return len(text)
    return sum(
        0
        if unicodedata.category(char) in {"Mn", "Me", "Cf"}
        else 2
        if unicodedata.east_asian_width(char) in {"W", "F"}
        else 1
        for char in text
    )


def tidy(text: str) -> str:
    r"""The text on one line with single spaces, without what could steer a terminal.

    >>> tidy(" Set\x1b[2J\ttile\n")
    'Set[2J tile'
    """
    words = ("".join(filter(_harmless, word)) for word in text.split())
    return " ".join(word for word in words if word)


class Named(Protocol):
    """A task, of a job or of a plan."""

    @property
    def id(self) -> str:
        """Its key in the job file."""

    @property
    def name(self) -> str:
        """What its owner calls it."""


def title(task: Named) -> str:
    """A task's name on one line; its id where nothing of the name can be shown."""
    return tidy(task.name) or task.id


def in_quotes(task: Named) -> str:
    """A task's name, fit to stand in a sentence, in quotes."""
    return f"'{title(task)}'"


def wrapped(text: str, width: int, first: str = "", rest: str = "") -> list[str]:
    """The text as lines of at most ``width`` columns.

    A word that is longer goes on over several lines where it is written in wide characters, as
    Chinese and Japanese are, without spaces; any other sticks out and is never cut: it may be a
    path, or a name to be typed.

    Args:
        text: one paragraph; runs of white space count as one space. Control characters are left
            out: a name in a file must not move the cursor of a terminal.
        width: columns of the terminal.
        first: what stands before the first line.
        rest: what stands before the others.

    >>> wrapped("Tape and fill the joints", 15, "  ", "    ")
    ['  Tape and fill', '    the joints']
    """
    lines, line, empty = [], first, True
    for gap, piece in _pieces(text, width - columns(rest)):
        if not empty and columns(line + gap + piece) > width:
            lines.append(line)
            line, empty = rest, True
        line += piece if empty else gap + piece
        empty = False
    return [*lines, line.rstrip()]


def _pieces(text: str, room: int) -> Iterator[tuple[str, str]]:
    """What stays on one line, each with the gap before it; a line has ``room`` columns."""
    for words in filter(None, map(tidy, _BREAK.split(text))):
        for word in [words] if columns(words) <= room else words.split(" "):
            whole = columns(word) <= room
            for i, piece in enumerate([word] if whole else _characters(word)):
                yield " " if i == 0 else "", piece


def _characters(word: str) -> list[str]:
    """A word cut before and after its wide characters, each with the marks that combine with it."""
    pieces = [word[0]]
    for before, char in pairwise(word):
        if columns(char) == 2 or columns(before) == 2 == columns(char) + 1:
            pieces.append(char)
        else:
            pieces[-1] += char
    return pieces


def _harmless(char: str) -> bool:
    return unicodedata.category(char) not in {"Cc", "Cs"} and char not in _TURNS_TEXT_AROUND


def plain(text: str, encoding: str | None) -> str:
    r"""The text for a stream: what its encoding can't carry becomes a look-alike, never a '?'.

    >>> plain("62 °F – Béton → 浴", "ascii"), plain("62 °F – ½", "latin-1")
    ('62 F - Beton -> \\u6d74', '62 °F - ½')
    """
    return _BEYOND_ASCII.sub(
        lambda found: found[0] if _carries(encoding or "ascii", found[0]) else _lookalike(found),
        text,
    )


def _carries(encoding: str, char: str) -> bool:
    try:
        char.encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def ascii_only(text: str) -> str:
    """The text in ASCII: look-alikes, letters without their accents, else the code point.

    >>> ascii_only("3 × 2½ … “Fußleiste”")
    '3 x 2-1/2 ... "Fussleiste"'
    """
    return _BEYOND_ASCII.sub(_lookalike, text)


def _lookalike(found: re.Match[str]) -> str:
    """A character in ASCII; a fraction keeps its distance from the whole number before it."""
    char, before = found[0], found.string[found.start() - 1 : found.start()]
    fraction = unicodedata.category(char) == "No" and unicodedata.numeric(char, 0) % 1
    return ("-" if fraction and before.isdigit() else "") + _in_ascii(char)


def _in_ascii(char: str) -> str:
    if char in _LOOKALIKES:
        return _LOOKALIKES[char]
    parts = unicodedata.normalize("NFKD", char)
    if parts != char:
        return "".join(part if part.isascii() else _in_ascii(part) for part in parts)
    if unicodedata.combining(char):
        return ""
    return char.encode("ascii", "backslashreplace").decode()
