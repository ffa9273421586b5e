"""One line of a log: when it was written, what it says, and of when; as text, and back.

    2027-01-09T12:00:04-05:00 done pan at 2027-01-09T11:30-05:00 # set before lunch
    2027-01-09T12:00:51-05:00 delivered membrane at 2027-01-09T10:00-05:00
    2027-01-09T12:01:20-05:00 air 61.5 F 55 % in shower at 2027-01-09T12:00-05:00
    2027-01-09T12:05:00-05:00 undone pan at 2027-01-09T12:05-05:00
    2027-01-09T12:06:00-05:00 air undone in shower at 2027-01-09T12:00-05:00

and readings of a span are taken back with ``from`` its first moment ``to`` its last.

Each line ends with a moment, but for its note. So what is left of a line that was cut off is never
a shorter line that says something else.
"""

import re
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import lru_cache
from typing import get_args

from scheduler import quantities
from scheduler.clock import instant, to_local
from scheduler.errors import did_you_mean
from scheduler.jobfile.hourstext import EARLIEST, LATEST
from scheduler.model import Event, EventKind, Reading
from scheduler.yamlform.tree import quoted

EVENTS: tuple[EventKind, ...] = get_args(EventKind)
VERBS = (*EVENTS, "undone", "undelivered", "air")
"""The words that say what happened."""

_STAMP = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:\d\d)", re.ASCII)
_RUN_TOGETHER = re.compile(rf"{_STAMP.pattern} (?:{'|'.join(VERBS)}) ", re.ASCII)
_MOMENT = "a moment with its offset, such as 2027-01-09T11:30-05:00"
_AIR = "air 68 F 55 % in shower at 2027-01-09T11:30-05:00"


@dataclass(frozen=True)
class Undone:
    """All that was written before of a task is taken back; of a delivery, where it says so.

    ``at`` is the minute at which somebody said so.
    """

    at: int
    of: str
    delivery: bool = False


@dataclass(frozen=True)
class Unread:
    """What was written before of the air of a room is taken back; without a room, the job's air.

    ``first`` and ``last`` are the minutes of the readings, both included.
    """

    room: str | None
    first: int
    last: int


Said = Event | Reading | Undone | Unread
"""What a line can say."""


@dataclass(frozen=True, order=True)
class Line:
    """A line, in order of writing; what was written in the same second is in order of its text.

    ``written`` counts seconds since 1970-01-01T00:00Z. ``row`` and ``column`` are the place of the
    task, product or room that it names, counted from 1.
    """

    written: int
    text: str
    said: Said = field(compare=False)
    note: str = field(default="", compare=False)
    row: int = field(default=1, compare=False)
    column: int = field(default=1, compare=False)

    @property
    def at(self) -> int:
        """The minute of what it says; the last one, where that is a span."""
        return self.said.last if isinstance(self.said, Unread) else self.said.at


class Unclear(ValueError):
    """Text that is no line of a log: at which column, counted from 1, and what would be right."""

    def __init__(self, column: int, message: str) -> None:
        self.column = column
        super().__init__(message)


# --------------------------------------------------------------------------------- to text


def line_text(written: int, said: Said, zone: str, units: quantities.Units, note: str = "") -> str:
    """A line as it stands in the file, without its end.

    Args:
        written: seconds since 1970-01-01T00:00Z.
        said: what it says.
        zone: IANA name of the zone in which its moments are shown.
        units: in which temperatures are shown, unless the others are exact and these are not.
        note: for people; on one line.
    """
    stamp = (to_local(written // 60, zone) + timedelta(seconds=written % 60)).isoformat()
    return " ".join([stamp, *_words(said, zone, units), *(["#", note] if note else [])])


def _words(said: Said, zone: str, units: quantities.Units) -> list[str]:
    match said:
        case Event():
            return [said.kind, said.of, "at", _shown(said.at, zone)]
        case Undone():
            verb = "undelivered" if said.delivery else "undone"
            return [verb, said.of, "at", _shown(said.at, zone)]
        case Reading():
            return ["air", _state(said, units), *_in(said.room), "at", _shown(said.at, zone)]
    ends = ["from", _shown(said.first, zone), "to", _shown(said.last, zone)]
    one = said.first == said.last
    return ["air undone", *_in(said.room), *(["at", ends[1]] if one else ends)]


def _in(room: str | None) -> list[str]:
    return [] if room is None else ["in", room]


def _shown(minute: int, zone: str) -> str:
    return to_local(minute, zone).isoformat(timespec="minutes")


def _state(said: Reading, units: quantities.Units) -> str:
    warm = [] if said.temperature is None else [_exactly(said.temperature, units)]
    damp = [] if said.humidity is None else [quantities.show_humidity(said.humidity)]
    return " ".join([*warm, *damp])


def _exactly(celsius: float, units: quantities.Units) -> str:
    other: quantities.Units = "metric" if units == "imperial" else "imperial"
    shown = [quantities.show_temperature(celsius, each) for each in (units, other)]
    exact = (text for text in shown if abs(quantities.temperature(text) - celsius) < 1e-9)
    return next(exact, shown[0])


# ------------------------------------------------------------------------------- from text


class _Words:
    """The words of a line up to its note, taken from the left, each with its column."""

    def __init__(self, text: str) -> None:
        self.end = len(text) + 1
        found = [(word.group(), word.start() + 1) for word in re.finditer(r"\S+", text)]
        notes = [i for i, (word, _) in enumerate(found) if word.startswith("#") and i]
        self.words = found[: notes[0]] if notes else found
        self.note = text[found[notes[0]][1] :].strip() if notes else ""
        self.note_column = found[notes[0]][1] if notes else self.end
        self.named = 1

    @property
    def next(self) -> str:
        """The word to come; empty at the end."""
        return self.words[0][0] if self.words else ""

    def unclear(self, must_be: str) -> Unclear:
        """What is wrong with the word to come."""
        column = self.words[0][1] if self.words else self.note_column
        found = f"found {quoted(self.next)}" if self.next else "nothing is there"
        return Unclear(column, f"{must_be} ({found})")

    def take(self, must_be: str) -> str:
        """The word to come, whatever it is."""
        if not self.words:
            raise self.unclear(must_be)
        return self.words.pop(0)[0]

    def name(self, must_be: str) -> str:
        """The word to come, which is the name that the line is about."""
        self.named = self.words[0][1] if self.words else self.end
        return self.take(must_be)

    def skip(self, word: str, must_be: str) -> None:
        """The word to come, which must be this one."""
        if self.next != word:
            raise self.unclear(must_be)
        self.words.pop(0)


def read_line(text: str, row: int = 1) -> Line:
    """The line that a text is, spaces at its ends and in between not counted.

    Raises:
        Unclear: it is none.
    """
    words = _Words(text)
    written = _seconds(words, "must begin with when it was written: 2027-01-09T12:00:04-05:00")
    said = _said(words)
    if words.words:
        raise words.unclear("must end here, or go on with # and a note")
    if _RUN_TOGETHER.search(words.note):
        raise Unclear(words.note_column, "must be two lines: they have run together")
    one_spelling = " ".join(text.split())
    return Line(written, one_spelling, _noted(said, words.note), words.note, row, words.named)


def _noted(said: Said, note: str) -> Said:
    return Event(said.at, said.kind, said.of, note) if isinstance(said, Event) else said


def _said(words: _Words) -> Said:
    must_be = f"must say what happened: {', '.join(VERBS[:-1])} or {VERBS[-1]}"
    verb = words.next.lower()
    if verb not in VERBS:
        raise words.unclear(must_be + (did_you_mean(verb, VERBS) if len(verb) < 100 else ""))
    words.take(must_be)
    if verb == "air":
        return _of_air(words)
    of = words.name(f"must name what is {verb}, such as: {verb} pan at 2027-01-09T11:30-05:00")
    at = _at(words, f"{verb} {of}" if len(of) < 40 else verb)
    if verb in {"undone", "undelivered"}:
        return Undone(at, of, delivery=verb == "undelivered")
    return Event(at, next(kind for kind in EVENTS if kind == verb), of)


def _at(words: _Words, before: str) -> int:
    words.skip("at", f"must go on with 'at' and a moment: {before} at 2027-01-09T11:30-05:00")
    return _minute(words)


def _of_air(words: _Words) -> Reading | Unread:
    if words.next == "undone":
        return _unread(words)
    column, state = words.words[0][1] if words.words else words.end, []
    while words.next not in {"in", "at", ""}:
        state.append(words.take(_AIR))
    try:
        warm, damp = _instrument(" ".join(state))
    except ValueError as error:
        raise Unclear(column, f"must be {error} (found {quoted(' '.join(state))})") from None
    room = _room(words)
    return Reading(_at(words, "air 68 F 55 %"), room, warm, damp)


@lru_cache(maxsize=4096)
def _instrument(state: str) -> tuple[float | None, float | None]:
    return quantities.reading(state)


def _room(words: _Words) -> str | None:
    if words.next != "in":
        return None
    words.take("in")
    return words.name("must name a room, such as: in shower")


def _unread(words: _Words) -> Unread:
    words.take("undone")
    room = _room(words)
    if words.next != "from":
        at = _at(words, "air undone")
        return Unread(room, at, at)
    words.take("from")
    first = _minute(words)
    words.skip("to", "must go on with 'to' and a moment: to 2027-01-09T11:30-05:00")
    return Unread(room, first, _minute(words))


def _minute(words: _Words) -> int:
    return _seconds(words, f"must be {_MOMENT}") // 60


def _seconds(words: _Words, must_be: str) -> int:
    """The moment that the word to come is [s since 1970-01-01T00:00Z]."""
    if not _STAMP.fullmatch(words.next):
        raise words.unclear(must_be)
    try:
        moment = datetime.fromisoformat(words.next)
    except ValueError:
        raise words.unclear(f"must be a moment that the calendar has, such as {_MOMENT}") from None
    if not EARLIEST <= moment.year <= LATEST:
        raise words.unclear(f"must be in the years {EARLIEST} to {LATEST}")
    words.take(must_be)
    return instant(moment) * 60 + moment.second
