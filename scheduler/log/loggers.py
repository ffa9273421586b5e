"""What a logger wrote down, as readings for a log: one for each quarter of an hour."""

from collections.abc import Iterable, Sequence
from itertools import groupby
from statistics import fmean

from scheduler.errors import BadInput
from scheduler.log.entry import Asked, check_room, too_early
from scheduler.log.words import on_site
from scheduler.model import Job, Reading
from scheduler.wording import counted

_QUARTER = 15  # minutes

Row = tuple[int, float | None, float | None]
"""A UTC minute, a temperature [°C] and a relative humidity [0..1], None for what is not there."""


def logged_air(
    rows: Sequence[Row], job: Job, asked: Asked
) -> tuple[tuple[Reading, ...], tuple[str, ...]]:
    """The readings of a logger's rows, and what to tell of rows that are left out.

    Raises:
        BadInput: something else was asked for than to log the air of that file; or none of the
            rows is of the time of the job.
    """
    if [word.lower() for word in asked.words] != ["air"] or asked.at is not None or asked.note:
        raise BadInput("--file goes with air alone, as in: thenwait log JOB air --file logger.csv")
    check_room(asked.room, job)
    usable = [row for row in rows if not too_early(row[0], job) and row[0] <= asked.now]
    left_out = len(rows) - len(usable)
    if not usable:
        first, last = (on_site(row[0], job.timezone) for row in (rows[0], rows[-1]))
        raise BadInput(
            f"none of this is of the time of the job: it is of {first} to {last}, and now is "
            f"{on_site(asked.now, job.timezone)}; look at the logger's clock and the job's 'start'"
        )
    rows_left = counted(left_out, "row")
    told = (f"{rows_left} left out: before the job or still to come",) if left_out else ()
    return quarters(usable, asked.room), told


def quarters(rows: Iterable[Row], room: str | None) -> tuple[Reading, ...]:
    """The means of each quarter of an hour, at the moment of its first row.

    A file that has grown since it was read last gives the same readings again, and more: so it may
    be read in again and again.

    >>> quarters([(30, 20.0, 0.5), (32, 21.0, None), (45, 20.0, 0.6)], None)[0]
    Reading(at=30, room=None, temperature=20.5, humidity=0.5)
    """
    by_quarter = groupby(sorted(rows, key=lambda row: row[0]), key=lambda row: row[0] // _QUARTER)
    means = (_mean([*same], room) for _, same in by_quarter)
    return tuple(each for each in means if (each.temperature, each.humidity) != (None, None))


def _mean(rows: Sequence[Row], room: str | None) -> Reading:
    warm = [t for _, t, _ in rows if t is not None]
    damp = [h for _, _, h in rows if h is not None]
    return Reading(
        rows[0][0],
        room,
        fmean(warm) if warm else None,
        min(fmean(damp), 1.0) if damp else None,
    )
