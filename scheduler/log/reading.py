"""A log's bytes to its lines, in whatever order they stand, and what in them can't be read.

Lines are only ever added. One that was being written when the power went is the last of the file
and has no end; whoever writes next marks it as cut off and leaves it there. Either way it is told
and counts for nothing. Everything else that is no line is a problem: of what can't be read nobody
knows what it would have forbidden.
"""

import re
from codecs import BOM_UTF8, BOM_UTF16_BE, BOM_UTF16_LE
from dataclasses import dataclass

from scheduler.errors import BadFile, Problem
from scheduler.log.lines import Line, Unclear, read_line

LARGEST = 16_000_000
"""Bytes of a log; a reading every quarter of an hour in three rooms takes a year for that."""

CUT_OFF = "<cut off>"
"""What ends a line that was cut off while it was written."""

_MARK = "\N{ZERO WIDTH NO-BREAK SPACE}"  # some editors begin a file with it
_MERGE = re.compile(r"<{7}|={7}|>{7}|\|{7}")
_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f]")


@dataclass(frozen=True)
class LogFile:
    """What a log holds.

    Args:
        name: what the file is called in messages.
        lines: in order of writing, each once.
        cut_off: the rows of lines that were cut off, counted from 1.
        problems: what can't be read.
    """

    name: str
    lines: tuple[Line, ...] = ()
    cut_off: tuple[int, ...] = ()
    problems: tuple[Problem, ...] = ()


def read_log(content: bytes, name: str) -> LogFile:
    """The lines of a log.

    Raises:
        BadFile: it is no log at all: too large, or no text.
    """
    if len(content) > LARGEST:
        raise _no_log(name, f"larger than {LARGEST // 1_000_000} MB, so it is no log of a job")
    if content.startswith((BOM_UTF16_LE, BOM_UTF16_BE)):
        raise _no_log(name, "must be UTF-8 text; this is UTF-16")
    *whole, _ = content.split(b"\n")
    lines: set[Line] = set()
    cut_off: list[int] = []
    problems: list[Problem] = []
    for row, raw in enumerate(whole, 1):
        if raw.rstrip().endswith(CUT_OFF.encode()):
            cut_off.append(row)
            continue
        try:
            lines |= _line(raw, row)
        except Unclear as error:
            problems.append(Problem(name, row, error.column, str(error)))
    if not ended(content):
        cut_off.append(len(whole) + 1)
    return LogFile(name, tuple(sorted(lines)), tuple(cut_off), tuple(problems))


def ended(content: bytes) -> bool:
    """Whether no line at the end of a log was cut off."""
    last = content.rpartition(b"\n")[2]
    return not last.removeprefix(BOM_UTF8).strip()


def cut_off_in_words(file: LogFile) -> tuple[str, ...]:
    """What to tell of the lines that were cut off."""
    return tuple(
        f"{file.name}:{row}: this line was cut off while it was written and counts for nothing; "
        "if it should, log it again"
        for row in file.cut_off
    )


def _no_log(name: str, message: str) -> BadFile:
    return BadFile([Problem(name, 1, 1, message)])


def _line(raw: bytes, row: int) -> set[Line]:
    """The one line, or none where it is empty or a remark."""
    text = _text(raw)
    if not text.strip() or text.lstrip().startswith("#"):
        return set()
    if _MERGE.match(text):
        raise Unclear(
            1, "two logs were merged here and not put together: keep the lines of both, and "
            "take this one out"
        )  # fmt: skip
    return {read_line(text, row)}


def _text(raw: bytes) -> str:
    try:
        text = raw.decode().removeprefix(_MARK).removesuffix("\r")
    except UnicodeDecodeError as error:
        column = len(raw[: error.start].decode()) + 1
        raise Unclear(column, "must be UTF-8 text; this byte is none") from None
    if found := _CONTROL.search(text):
        raise Unclear(found.start() + 1, f"can't hold the control character {found.group()!r}")
    return text
