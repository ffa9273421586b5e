"""What to add to a log: the bytes, made from what the file holds at that very moment."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from scheduler.errors import BadInput, ThenwaitError
from scheduler.log.checks import problems
from scheduler.log.entry import Already, Asked, said
from scheduler.log.folding import Standing, folded, subject
from scheduler.log.lines import Line, Said, Unclear, line_text, read_line
from scheduler.log.meaning import meaning
from scheduler.log.reading import CUT_OFF, LARGEST, LogFile, cut_off_in_words, ended, read_log
from scheduler.model import Job, Reading
from scheduler.wording import counted, tidy


class Added(NamedTuple):
    """What goes to the end of a log, empty where it says so already; and what to tell of it."""

    content: bytes
    told: tuple[str, ...]


def added(content: bytes, name: str, job: Job, asked: Asked, clock: int) -> Added:
    """A line for what somebody asks to log.

    Args:
        content: what the log holds.
        name: what it is called in messages.
        job: as its file has it.
        asked: what to log.
        clock: when that is written [s since 1970-01-01T00:00Z].

    Raises:
        BadInput: it can't be meant.
        BadFile: the log is none.
    """
    file = read_log(content, name)
    standing = folded(file.lines)
    try:
        what = said(asked, job, standing)
    except Already as already:
        return Added(b"", (f"{already}; nothing was written", *_remarks(file, standing, job)))
    line = _line(job, what, asked.note, _written(file, what, clock))
    new = folded((*file.lines, line))
    return Added(
        _grown(content, [line]), (*meaning(job, new, line, asked.now), *_remarks(file, new, job))
    )


def added_readings(
    content: bytes, name: str, job: Job, readings: Sequence[Reading], clock: int
) -> Added:
    """A line for each reading that the log doesn't have yet, all written at once; as ``added``."""
    file = read_log(content, name)
    standing = folded(file.lines)
    known = {*standing.log.readings}
    rooms = {each.room: each for each in readings}
    written = {room: _written(file, each, clock) for room, each in rooms.items()}
    lines = [_line(job, each, "", written[each.room]) for each in readings]
    fresh = [line for line in lines if line.said not in known]
    there = len(lines) - len(fresh)
    told = f"logged {counted(len(fresh), 'reading')}" + (
        f"; {there} there already" if there else ""
    )
    grown = _grown(content, fresh) if fresh else b""
    return Added(grown, (told, *_remarks(file, folded((*file.lines, *fresh)), job)))


def _written(file: LogFile, what: Said, clock: int) -> int:
    """When it is written: after all else of the same subject, whatever the clock shows."""
    of = subject(what)
    return max((clock, *(line.written + 1 for line in file.lines if subject(line.said) == of)))


def _line(job: Job, what: Said, note: str, written: int) -> Line:
    text = line_text(written, what, job.timezone, job.units, tidy(note))
    if text.endswith(CUT_OFF):
        raise BadInput(f"a note can't end with {CUT_OFF}, which marks lines that were cut off")
    try:
        return read_line(text)
    except Unclear:
        raise BadInput("a note can't hold a line of a log") from None


def _grown(content: bytes, lines: Iterable[Line]) -> bytes:
    """The lines, after a mark for one that was cut off before them."""
    mark = b"" if ended(content) else f" {CUT_OFF}\n".encode()
    new = mark + "".join(f"{line.text}\n" for line in lines).encode()
    if len(content) + len(new) > LARGEST:
        raise ThenwaitError(f"the log would be larger than {LARGEST // 1_000_000} MB")
    return new


def _remarks(file: LogFile, standing: Standing, job: Job) -> tuple[str, ...]:
    """What is wrong with the log besides; it is told, and keeps nobody from adding to it."""
    wrong = sorted((*file.problems, *problems(standing, job, file.name)))
    until = ["until this is mended, nothing is planned from this log"] if wrong else []
    return (*cut_off_in_words(file), *map(str, wrong), *until)
