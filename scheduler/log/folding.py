"""Lines in any order, folded into what stands: undone and corrected lines are left out.

What was written later counts, wherever it stands in the file, so two copies of a log that grew
apart may be put together line by line, in any order.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from scheduler.log.lines import Line, Said, Undone, Unread
from scheduler.model import Event, EventKind, Log, Reading

Subject = tuple[str, str | None]
"""What a line is of: a task, a delivery, or the air of a room."""


@dataclass(frozen=True)
class Standing:
    """How a log stands.

    Args:
        events: lines on tasks and deliveries, in the order in which that happened.
        readings: lines on air, in the order of the readings.
        undone: lines that were taken back, each with the line that did it.
        corrected: lines in whose place stands another, each with that one.
    """

    events: tuple[Line, ...] = ()
    readings: tuple[Line, ...] = ()
    undone: tuple[tuple[Line, Line], ...] = ()
    corrected: tuple[tuple[Line, Line], ...] = ()

    @property
    def log(self) -> Log:
        """The nouns alone."""
        events = tuple(line.said for line in self.events if isinstance(line.said, Event))
        readings = (line.said for line in self.readings if isinstance(line.said, Reading))
        return Log(events, _merged(readings))

    def attempt(self, task: str) -> dict[EventKind, Line]:
        """The lines on a task since its test failed last, if ever, by what they say."""
        found: dict[EventKind, Line] = {}
        for line in self.events:
            if isinstance(line.said, Event) and subject(line.said) == ("task", task):
                found = {} if line.said.kind == "failed" else {**found, line.said.kind: line}
        return found

    def of(self, what: Subject) -> tuple[Line, ...]:
        """The lines of one subject."""
        lines = self.readings if what[0] == "air" else self.events
        return tuple(line for line in lines if subject(line.said) == what)


def folded(lines: Iterable[Line]) -> Standing:
    """How a log stands that holds these lines, in any order."""
    kept: dict[Subject, list[Line]] = {}
    undone: list[tuple[Line, Line]] = []
    for line in sorted(lines):
        of = kept.setdefault(subject(line.said), [])
        if isinstance(line.said, Undone | Unread):
            undone += [(each, line) for each in of if _takes_back(line.said, each)]
            of[:] = [each for each in of if not _takes_back(line.said, each)]
        else:
            of.append(line)
    return _corrected(kept, tuple(undone))


def subject(said: Said) -> Subject:
    """What a line is of."""
    match said:
        case Event(kind="delivered", of=of) | Undone(of=of, delivery=True):
            return "delivery", of
        case Event(of=of) | Undone(of=of):
            return "task", of
        case Reading(room=room) | Unread(room=room):
            return "air", room


def happening(line: Line) -> tuple[int, Line]:
    """The order in which lines happened; by writing where that was in the same minute."""
    return line.at, line


def _takes_back(by: Undone | Unread, line: Line) -> bool:
    if isinstance(by, Unread):
        return isinstance(line.said, Reading) and by.first <= line.said.at <= by.last
    return True


def _corrected(kept: dict[Subject, list[Line]], undone: tuple[tuple[Line, Line], ...]) -> Standing:
    events: list[Line] = []
    readings: list[Line] = []
    corrected: list[tuple[Line, Line]] = []
    for (what, _), lines in kept.items():
        stands, replaced = _latest(lines)
        (readings if what == "air" else events).extend(stands)
        corrected += replaced
    return Standing(
        tuple(sorted(events, key=happening)),
        tuple(sorted(readings, key=happening)),
        tuple(sorted(undone)),
        tuple(sorted(corrected)),
    )


def _latest(lines: list[Line]) -> tuple[list[Line], list[tuple[Line, Line]]]:
    """Of the lines of one subject those that stand, and the others with what stands for them.

    A test that failed ends an attempt: what comes after it is another one and corrects nothing.
    """
    attempt = 0
    place: dict[tuple[object, ...], list[Line]] = {}
    for line in sorted(lines, key=happening):
        for slot in _slots(line, attempt):
            place.setdefault(slot, []).append(line)
        attempt += isinstance(line.said, Event) and line.said.kind == "failed"
    stands = {max(same) for same in place.values()}
    gone = {line: max(same) for same in place.values() for line in same if line not in stands}
    return list(stands), list(gone.items())


def _slots(line: Line, attempt: int) -> list[tuple[object, ...]]:
    """What a line is the last word on: the state of an attempt, or a quantity at a minute."""
    match line.said:
        case Event(kind=kind):
            return [(kind, attempt)]
        case Reading(at=at, temperature=warm, humidity=damp):
            read = (("warm", warm), ("damp", damp))
            return [(at, quantity) for quantity, value in read if value is not None]
    return []


def _merged(readings: Iterable[Reading]) -> tuple[Reading, ...]:
    """One for each room and minute: of each quantity what was written last; in order of time."""
    found: dict[tuple[int, str | None], Reading] = {}
    for each in readings:
        before = found.get((each.at, each.room), each)
        found[each.at, each.room] = Reading(
            each.at,
            each.room,
            before.temperature if each.temperature is None else each.temperature,
            before.humidity if each.humidity is None else each.humidity,
        )
    return tuple(found.values())
