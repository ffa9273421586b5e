"""Bytes to a table: encoding, delimiter, the heading below whatever stands before it, columns."""

import csv
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import takewhile, zip_longest
from typing import NamedTuple

from scheduler.loggerfile.rows import refused
from scheduler.loggerfile.stamps import looks_like_time

HEADING = "time,temperature C,humidity %"
"""A first line that is understood."""

_LOOKED_AT = 40  # lines; no logger writes a longer preface
_MORE_HEADINGS = 2  # lines with names of channels, then quantities, then units
_NO_TEXT = re.compile(r"[\x00-\x08\x0e-\x1f]")
_OTHER_FILES = (
    (b"PK\x03\x04", "a spreadsheet or an archive; open it and save the sheet as CSV"),
    (b"\xd0\xcf\x11\xe0", "a spreadsheet; open it and save the sheet as CSV"),
    (b"%PDF", "a PDF; have the logger's program write CSV"),
    (b"SQLite format", "a database; have the logger's program write CSV"),
    (b"\x1f\x8b", "packed with gzip; unpack it first"),
)

_DATE = re.compile(r"date|datum|fecha")
_CLOCK = re.compile(r"time|zeit|\bhora\b|heure|stamp|horodat|\bclock\b")
_NO_TIME = re.compile(r"zone|elapsed|duration|uptime|runtime|since|sync")
_TEMPERATURE = re.compile(
    r"temp|° ?[cf]\b|\bdeg(?:rees)? ?[cf]\b|celsius|fahrenheit|^t(?: (?:air|in|room))?(?: ?[\[(]|$)"
)
_HUMIDITY = re.compile(r"hum(?:[ie]|\b)|feucht|umidit|\br\.?h\b|\brf\b")
_OTHER_AIR = re.compile(
    r"dew|taupunkt|feels|apparent|heat ?index|wind|wet|soil|water|battery|set ?point|target|alarm"
    r"|surface|absolute|\babs\b|specific|g ?/ ?m|\bmax|(?<![0-9] )\bmin(?!utes?\b)|\bhigh\b|\blow\b"
)


class Columns(NamedTuple):
    """Which cells of a row say what; ``time`` are one or two (date, then clock)."""

    time: tuple[int, ...]
    temperature: int | None
    humidity: int | None
    passed_over: tuple[int, ...] = ()

    @property
    def last(self) -> int:
        """The last cell that is needed to know when."""
        return max(self.time)


@dataclass(frozen=True)
class Table:
    """The rows below a heading.

    Args:
        heading: the cells of the heading; of two lines, joined.
        columns: which cells are of use.
        rows: what stands below, cell by cell.
        line: where the rows begin, counting from 1.
    """

    heading: tuple[str, ...]
    columns: Columns
    rows: Sequence[Sequence[str]]
    line: int


def text_of(content: bytes, name: str) -> str:
    """The text of a file; refused where it is none.

    UTF-16 shows by its mark or its empty bytes; what is not UTF-8 is cp1252, as on Windows.
    """
    for start, what in _OTHER_FILES:
        if content.startswith(start):
            raise refused(name, f"this is {what}")
    for encoding in _encodings(content):
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if not text.strip():
            raise refused(name, f"this file is empty; a logger's begins such as: {HEADING}")
        if not _NO_TEXT.search(text):
            return text
    raise refused(name, f"this is no text, so no logger's table; one begins such as: {HEADING}")


def _encodings(content: bytes) -> tuple[str, ...]:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return ("utf-16",)
    head = content[:200]
    if head.count(0) * 3 > len(head):
        return ("utf-16-le",) if head[1:2] == b"\x00" else ("utf-16-be",)
    return ("utf-8-sig", "cp1252")


def table(text: str, name: str) -> Table:
    """The table in a text.

    Raises:
        BadFile: where no heading in the first lines names a time and a temperature or a humidity
            with rows of that kind below.
    """
    found = [each for delimiter in "\t;," if (each := _headed(text, delimiter, name))]
    if not found:
        if text.lstrip()[:1] in "{[":
            raise refused(
                name, "this is JSON and no logger's table; a forecast goes with --forecast"
            )
        raise refused(
            name,
            f"no heading in the first {_LOOKED_AT} lines names a time and a temperature or "
            f"humidity in columns of their own with times below; right would be such as: {HEADING}",
        )
    return min(found, key=lambda each: (each.line, -len(each.heading)))


def _headed(text: str, delimiter: str, name: str) -> Table | None:
    """The table as this delimiter shows it."""
    lines = text.splitlines()
    top = list(_cells(lines[: _LOOKED_AT + 8], delimiter, name))
    for i, row in enumerate(top[:_LOOKED_AT]):
        words = list(takewhile(_are_words, top[i + 1 : i + 1 + _MORE_HEADINGS]))
        heading = _joined([row, *words])
        columns = _columns(heading)
        start = i + 1 + len(words)
        if columns and _has_times(top[start : start + 5], columns):
            rows = list(_cells(lines[start:], delimiter, name))
            return Table(heading, columns, rows, start + 1)
    return None


def _cells(lines: Iterable[str], delimiter: str, name: str) -> Iterable[list[str]]:
    """Cells line by line, so that lines keep their numbers: no cell goes over several."""
    try:
        for line in lines:
            yield [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter), [])]
    except csv.Error as error:
        raise refused(name, f"this is no table that can be read: {error}") from None


def _are_words(cells: Sequence[str]) -> bool:
    """Whether a line below the heading belongs to it: units or names, and no figure."""
    return any(cells) and not any(re.match(r"[-+.,]?[0-9]", cell) for cell in cells)


def _joined(lines: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """The lines of a heading as one."""
    return tuple(" ".join(filter(None, cells)) for cells in zip_longest(*lines, fillvalue=""))


def _has_times(rows: Iterable[Sequence[str]], columns: Columns) -> bool:
    return any(
        len(row) > columns.last and looks_like_time(" ".join(row[i] for i in columns.time))
        for row in rows
    )


def _columns(heading: Sequence[str]) -> Columns | None:
    """Which cells are of use, where the heading names a time and what was measured."""
    names = [re.sub(r"[_\s]+", " ", cell.lower().replace("℃", "°c").replace("℉", "°f")).strip()
             for cell in heading]  # fmt: skip
    time = _time_columns(names)
    others = [i for i in range(len(names)) if i not in time and not _OTHER_AIR.search(names[i])]
    humid = [i for i in others if _HUMIDITY.search(names[i])]
    warm = [i for i in others if i not in humid and _TEMPERATURE.search(names[i])]
    if not time or not (warm or humid):
        return None
    first = (warm[0] if warm else None, humid[0] if humid else None)
    return Columns(time, *first, (*warm[1:], *humid[1:]))


def _time_columns(names: Sequence[str]) -> tuple[int, ...]:
    """One column with date and time, or two."""
    timely = [i for i, n in enumerate(names) if not _NO_TIME.search(n) and not _OTHER_AIR.search(n)]
    dates = [i for i in timely if _DATE.search(names[i])]
    clocks = [i for i in timely if _CLOCK.search(names[i]) and i not in dates]
    whole = [i for i in dates if _CLOCK.search(_DATE.sub("", names[i]))]
    if whole:
        return (whole[0],)
    if dates and clocks and "stamp" not in names[clocks[0]]:
        return (dates[0], clocks[0])
    return tuple((clocks or dates)[:1])
