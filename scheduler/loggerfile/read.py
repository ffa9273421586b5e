"""A logger's file, step by step: text, table, times, figures, order, gaps."""

from collections.abc import Sequence
from math import isnan

import numpy as np

from scheduler.loggerfile.clocks import minutes
from scheduler.loggerfile.figures import (
    Figures,
    Minutes,
    humidities,
    temperatures,
    without_spikes,
)
from scheduler.loggerfile.rows import Row, Rows, refused
from scheduler.loggerfile.stamps import Stamp, offset_in, stamps
from scheduler.loggerfile.table import HEADING, Table, table, text_of
from scheduler.wording import counted, dated

GAP, GAP_STEPS = 180, 3
"""Longer than so many minutes and so many usual steps without a reading is a gap."""

_NAMED_GAPS = 3


def read(content: bytes, name: str, zone: str, day_first: bool | None = None) -> Rows:
    """The air that a logger wrote down, and every assumption made on the way.

    Args:
        content: of the file: delimited text with a heading, in any usual encoding.
        name: of the file, for messages.
        zone: IANA name of the zone of times that name none.
        day_first: whether 3/2 is the 3rd of February; None to find out from the file.

    Raises:
        BadFile: where it is no logger's table, with what would be right.
    """
    found = table(text_of(content, name), name)
    times, kept, notes = _times(found, name, zone, day_first)
    columns = found.columns
    warm = _temperatures(found, kept, name)
    damp = _humidities(found, kept)
    order, order_notes = _order(times)
    at = times[order]
    warm, damp = (
        without_spikes(at, Figures(each.values[order], each.notes), what)
        for each, what in ((warm, "temperature"), (damp, "humidity"))
    )
    rows = _rows(at, warm, damp)
    if not rows:
        raise refused(name, f"nothing in it can be read as air; right would be such as: {HEADING}")
    passed = [f"column '{found.heading[i]}' is left out" for i in columns.passed_over]
    return Rows(
        rows, (*notes, *passed, *order_notes, *warm.notes, *damp.notes, *gap_notes(rows, zone))
    )


def _times(
    found: Table, name: str, zone: str, day_first: bool | None
) -> tuple[Minutes, list[int], tuple[str, ...]]:
    """The UTC minute of each row that has a time, which rows those are, and notes."""
    columns = found.columns
    texts = [
        " ".join(row[i] for i in columns.time) if len(row) > columns.last else ""
        for row in found.rows
    ]
    read_times = stamps(texts, name, found.line, day_first)
    kept = [i for i, stamp in enumerate(read_times.stamps) if stamp is not None]
    if not kept:
        raise refused(name, "no line has a date with a time, such as 2027-01-09 18:30", found.line)
    offset = offset_in(" ".join(found.heading[i] for i in columns.time))
    known = [_with_offset(stamp, offset) for stamp in read_times.stamps if stamp is not None]
    newest_first = known[-1][0] < known[0][0]
    if newest_first:
        known, kept = known[::-1], kept[::-1]
    times, zone_notes = minutes(known, zone)
    timeless = sum(any(row) for row in found.rows) - len(kept)
    lost = (f"{counted(timeless, 'line')} without a time left out",) if timeless else ()
    return np.array(times), kept, (*read_times.notes, *zone_notes, *lost)


def _with_offset(stamp: Stamp, offset: int | None) -> Stamp:
    """The stamp with the offset of the heading, where it has none of its own."""
    return (stamp[0], offset if stamp[1] is None else stamp[1])


def _cells(found: Table, kept: Sequence[int], column: int) -> list[str]:
    return [found.rows[i][column] if len(found.rows[i]) > column else "" for i in kept]


def _temperatures(found: Table, kept: Sequence[int], name: str) -> Figures:
    column = found.columns.temperature
    if column is None:
        return Figures(np.full(len(kept), np.nan), ("it has no temperature",))
    return temperatures(_cells(found, kept, column), found.heading[column], name, found.line)


def _humidities(found: Table, kept: Sequence[int]) -> Figures:
    column = found.columns.humidity
    if column is None:
        return Figures(np.full(len(kept), np.nan), ("it has no humidity",))
    return humidities(_cells(found, kept, column), found.heading[column])


def _order(times: Minutes) -> tuple[Minutes, tuple[str, ...]]:
    """Which rows to take in which order: rising, the first of each minute."""
    order = np.argsort(times, kind="stable")
    first = np.concatenate(([True], np.diff(times[order]) > 0))
    notes = []
    if back := int((np.diff(times) < 0).sum()):
        notes.append(f"lines were out of order in {counted(back, 'place')}: sorted by time")
    if twice := int((~first).sum()):
        notes.append(f"{counted(twice, 'line')} of a minute that had one before left out")
    return order[first], tuple(notes)


def _rows(at: Minutes, warm: Figures, damp: Figures) -> tuple[Row, ...]:
    """Rows in which something was read."""
    some = np.isfinite(warm.values) | np.isfinite(damp.values)
    return tuple(
        Row(minute, None if isnan(t) else t, None if isnan(rh) else rh)
        for minute, t, rh in zip(
            at[some].tolist(), warm.values[some].tolist(), damp.values[some].tolist(), strict=True
        )
    )


def longest_step(at: Minutes) -> int:
    """The longest time [min] between two rows that is no gap."""
    return max(GAP, GAP_STEPS * int(np.median(np.diff(at)))) if len(at) > 1 else GAP


def gap_notes(rows: Sequence[Row], zone: str) -> tuple[str, ...]:
    """The gaps in rows, in words: the first few and how many more."""
    at = np.array([row.at for row in rows])
    gaps = np.flatnonzero(np.diff(at) > longest_step(at))
    words = [
        f"nothing was read from {dated(int(at[i]), zone)} to {dated(int(at[i + 1]), zone)}"
        for i in gaps[:_NAMED_GAPS]
    ]
    more = len(gaps) - _NAMED_GAPS
    return (*words, f"and {counted(more, 'gap')} more") if more > 0 else tuple(words)
