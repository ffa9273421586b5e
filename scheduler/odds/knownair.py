"""How far the air of a room is from what is planned, given what was read of it."""

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from scheduler import straying
from scheduler.course import NEAR, Series, Supposed, both, quantities
from scheduler.model import Job
from scheduler.odds.stretches import Stretches
from scheduler.oddsfile import Straying, StrayingAir
from scheduler.progress import Reals
from scheduler.readings import serving

_REMEMBERED = 60 * 24 * 60
"""How far back readings count [min]: through any wait but the longest."""


class Known(NamedTuple):
    """What is known of a deviation over the first stretches: its mean, and what samples the rest.

    ``factor @ z`` with independent standard normal ``z`` has the covariance that is left.
    """

    mean: Reals
    factor: Reals


NOTHING = Known(np.zeros(0), np.zeros((0, 0)))


def known_air(
    job: Job, room: str | None, spread: StrayingAir, planned: Stretches
) -> tuple[Known, Known]:
    """What is known of temperature and humidity, until the course is what readings make likely.

    Both are deviations from the air as planned, which is not quite what readings make likely: a
    course goes through every reading, and none is exact; for a while after the last it keeps to
    the worse side.

    Args:
        job: as it stands.
        room: of which; None for the job.
        spread: how far air strays, and readings from it.
        planned: the stretches and their air.
    """
    past = (r for r in job.past.readings if r.at <= job.now) if job.past else ()
    warm, damp = both(serving(job, past, room))
    return (
        _known(0, warm, spread.temperature, planned, planned.temperature),
        _known(1, damp, spread.humidity, planned, planned.humidity),
    )


def _known(
    which: int, series: Series, spread: Straying, planned: Stretches, course: Reals
) -> Known:
    if not len(series.at) or not spread.strays:
        return NOTHING
    of, supposed = quantities()[which], Supposed(planned.air, planned.zone)
    deviations = series.values - of.supposed(supposed, series.at)
    read = straying.hourly(series.at, deviations, _REMEMBERED)
    last = int(planned.of(series.at[-1:] + NEAR)[0]) + 1
    found = straying.given(spread, read, planned.middles[:last])
    fine = replace(planned, count=last).fine
    usual = of.supposed(supposed, fine.ravel()).reshape(fine.shape).mean(axis=1)
    return Known(found.mean + usual - course[:last], found.factor)
