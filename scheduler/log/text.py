"""A log as plain text: how far the job is, then what happened, by day, then what doesn't count."""

from collections.abc import Iterable, Iterator
from itertools import groupby

from scheduler.clock import day_of
from scheduler.history import with_past
from scheduler.layout import Entry, Section, laid_out
from scheduler.log.folding import Standing, folded
from scheduler.log.lines import Line
from scheduler.log.reading import LogFile
from scheduler.log.words import in_words, named, place, what
from scheduler.model import Event, Job, Past, Reading
from scheduler.quantities import show_humidity, show_temperature
from scheduler.wording import clock, counted, dated, day, glued, tidy

NOTHING_YET = (
    "Nothing is logged yet. What is done is logged as in: "
    'thenwait log JOB TASK done --at "sat 9:00"'
)


def log_text(job: Job, file: LogFile, now: int, width: int) -> str:
    """The log for somebody who wants to see what it says and whether that is right.

    Args:
        job: as its file has it.
        file: what its log holds.
        now: the present moment [UTC min].
        width: columns.
    """
    standing = folded(file.lines)
    sections = (
        Section(f"{tidy(job.name)}: what is logged", tuple(_so_far(job, standing, now))),
        *_days(job, standing),
        Section("TAKEN BACK", tuple(_replaced(job, standing.undone, "taken back"))),
        Section("CORRECTED", tuple(_replaced(job, standing.corrected, "in its place"))),
        Section("CUT OFF", tuple(_cut_off(file))),
    )
    return laid_out((section for section in sections if section.entries), width)


def _so_far(job: Job, standing: Standing, now: int) -> Iterator[Entry]:
    past = with_past(job, standing.log, now).past
    if past is None:
        yield Entry("", NOTHING_YET)
        return
    done = [task for task, what in past.actual.items() if what.finished is not None]
    yield Entry("done", f"{len(done)} of {counted(len(job.tasks), 'task')}")
    yield from _open(job, past)
    if past.delivered:
        yield Entry("delivered", ", ".join(past.delivered))
    for room, lines in groupby(sorted(standing.readings, key=_room), key=_room):
        yield Entry("air", f"{place(room or None)}: {_span(job, [*lines])}")


def _open(job: Job, past: Past) -> Iterator[Entry]:
    """What is under way, what failed, and tests that nobody wrote the outcome of."""
    for task, known in past.actual.items():
        if known.failed is not None:
            yield Entry("failed", f"{named(job, task)}, {dated(known.failed, job.timezone)}")
        elif known.finished is None and known.started is not None:
            yield Entry("under way", f"{named(job, task)}, {dated(known.started, job.timezone)}")
        elif job.task[task].hold and known.passed is None:
            yield Entry("not passed", f"{named(job, task)} is done and not logged as passed")


def _room(line: Line) -> str:
    return line.said.room or "" if isinstance(line.said, Reading) else ""


def _span(job: Job, lines: Iterable[Line]) -> str:
    """How many readings there are, from lowest to highest."""
    readings = [line.said for line in lines if isinstance(line.said, Reading)]
    warm = [each.temperature for each in readings if each.temperature is not None]
    damp = [each.humidity for each in readings if each.humidity is not None]
    between = [
        *(
            [_ends([glued(show_temperature(t, job.units)) for t in (min(warm), max(warm))])]
            if warm
            else []
        ),
        *([_ends([glued(show_humidity(h)) for h in (min(damp), max(damp))])] if damp else []),
    ]
    return ", ".join([counted(len(readings), "reading"), *between])


def _ends(shown: list[str]) -> str:
    return " to ".join(dict.fromkeys(shown))


def _days(job: Job, standing: Standing) -> Iterator[Section]:
    lines = sorted((*standing.events, *standing.readings), key=lambda line: (line.at, line))
    for on, of_day in groupby(lines, key=lambda line: day_of(line.at, job.timezone)):
        yield Section(day(on, year=True), tuple(_of_day(job, [*of_day])))


def _of_day(job: Job, lines: list[Line]) -> Iterator[Entry]:
    for line in lines:
        if isinstance(line.said, Event):
            note = (tidy(line.note),) if line.note else ()
            yield Entry(clock(line.at, job.timezone), what(job, line.said), note)
    read = sorted((line for line in lines if isinstance(line.said, Reading)), key=_room)
    for room, of_room in groupby(read, key=_room):
        yield Entry("air", f"{place(room or None)}: {_span(job, [*of_room])}")


def _replaced(job: Job, pairs: Iterable[tuple[Line, Line]], how: str) -> Iterator[Entry]:
    """Lines that don't count, and since when; the readings of a span in one."""
    by = groupby(sorted(pairs, key=lambda pair: pair[1]), key=lambda pair: pair[1])
    for later, found in by:
        gone = [line for line, _ in found]
        written = dated(later.written // 60, job.timezone)
        air = [line for line in gone if isinstance(line.said, Reading)]
        if air:
            yield Entry(
                "air", f"{place(_room(air[0]) or None)}: {_span(job, air)}; {how} {written}"
            )
        for line in gone:
            if line not in air:
                yield Entry("", f"{in_words(job, line)}; {how} {written}")


def _cut_off(file: LogFile) -> Iterator[Entry]:
    for row in file.cut_off:
        yield Entry(f"line {row}", "was cut off while it was written, and counts for nothing")
