"""The air as it was last read, against the limits of a product: it goes before what is foreseen."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from scheduler.clock import DAY
from scheduler.model import Conditions, Job, Limits, Reading
from scheduler.quantities import show_humidity, show_temperature
from scheduler.readings import serving
from scheduler.ready.case import Case, Rule
from scheduler.ready.verdict import Finding
from scheduler.ready.words import breaches
from scheduler.wording import glued, listed

COUNTS = DAY
"""How long a reading out of limits forbids a start, where none since is within them [min]."""


def as_read(case: Case) -> Iterator[Rule]:
    """No start in air that was last read as out of the product's limits, whatever is foreseen."""
    job, product = case.job, case.job.product_of(case.task)
    if product is None or job.past is None:
        return
    known = [r for r in serving(job, job.past.readings, case.task.room) if r.at <= job.now]
    for reading in _last(known):
        if bad := _breaches(product.limits, reading, job):
            said = f"{_in_words(reading, job)} was read {case.when(reading.at)}"
            yield _rule(case, reading.at, f"{said}, {bad}: not for {product.id}, read it again")


def _last(known: Sequence[Reading]) -> Iterator[Reading]:
    """The last temperature and the last humidity; together where they were read together."""
    by_time = sorted(known, key=lambda reading: reading.at, reverse=True)
    warm = next((r for r in by_time if r.temperature is not None), None)
    damp = next((r for r in by_time if r.humidity is not None), None)
    if warm and warm is damp:
        yield warm
        return
    if warm:
        yield replace(warm, humidity=None)
    if damp:
        yield replace(damp, temperature=None)


def _breaches(limits: Limits, read: Reading, job: Job) -> str:
    """What of a reading is out of the limits, in words; what was not read is in nothing's way."""
    if read.temperature is None:
        limits = Limits(humidity_max=limits.humidity_max)
    elif read.humidity is None:
        limits = replace(limits, humidity_max=None, dew_margin=None)
    return listed(breaches(limits, Conditions(read.temperature or 0.0, read.humidity or 0.0), job))


def _in_words(read: Reading, job: Job) -> str:
    warm = None if read.temperature is None else show_temperature(read.temperature, job.units)
    damp = None if read.humidity is None else show_humidity(read.humidity)
    return listed(glued(each) for each in (warm, damp) if each is not None)


def _rule(case: Case, read: int, text: str) -> Rule:
    again = read + COUNTS
    finding = Finding("air", False, text, again) if read <= case.at < again else None
    return Rule(lambda start: max(start, again) if start >= read else start, finding)
