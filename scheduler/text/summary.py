"""What stands above and below the days of a plan: the finish, what it rests on, what drives it."""

from collections.abc import Iterable, Iterator, Mapping

from scheduler.clock import day_of
from scheduler.layout import Entry, Section
from scheduler.model import Air, Course, Job, Plan, PlannedTask, TimeSplit
from scheduler.news import Headline
from scheduler.quantities import show_humidity, show_temperature
from scheduler.text.days import pieces
from scheduler.text.proofs import finish_proof, visits_proof, without
from scheduler.wording import GLUE, counted, dated, duration, glued, listed, moment, title

SPENT = {
    "work": "work",
    "waiting": "setting and drying",
    "outside_hours": "outside hours",
    "people_busy": "people busy elsewhere",
    "room_closed": "room closed",
    "air": "air out of limits",
    "dates": "waiting for a date",
}
UNUSED = "waiting for a date, or hours that went by unused"
_NEAREST = 4  # tasks named with their time to spare, besides those with the most
_CAUTIONS = (
    Entry("", "The product's label and the local code win over this plan."),
    Entry("", "The surface has the last word: where it is not hard and dry, wait longer."),
    Entry("", "Wiring, gas, supply pipes and bearing walls are for licensed trades."),
)


def top(job: Job, plan: Plan, news: Iterable[Headline]) -> tuple[Section, ...]:
    """What is new; start, finish, visits, days without; the air; where the time goes; warnings."""
    fresh = tuple(Entry(line.label, line.text) for line in news)
    now = () if job.past is None else (Entry("now", moment(job.now, plan.timezone)),)
    told = (_start(plan), _finish(job, plan), _visits(plan), *without(plan))
    head = Section(job.name, (*fresh, *now, *told))
    time = Section("WHERE THE TIME GOES", tuple(spent(job, plan.where_time_goes)))
    warnings = Section("WARNINGS", tuple(Entry("", f"! {text}") for text in plan.warnings))
    sections = (
        head,
        Section("WHAT THE DATES REST ON", tuple(_rests_on(job, plan))),
        time,
        warnings,
    )
    return tuple(section for section in sections if section.entries)


def _start(plan: Plan) -> Entry:
    return Entry("starts", f"{moment(plan.start, plan.timezone)} ({plan.timezone})")


def _finish(job: Job, plan: Plan) -> Entry:
    lasts = f"{duration(plan.finish - plan.start)} after the start"
    text = f"{moment(plan.finish, plan.timezone, ends=True)}, {lasts}"
    if plan.tasks and all(task.state == "done" for task in plan.tasks):
        return Entry("FINISHED", text, (*_promise(job, plan),))
    return Entry("FINISHES", text, (finish_proof(plan), *_promise(job, plan)))


def _promise(job: Job, plan: Plan) -> Iterator[str]:
    if job.finish_by is None:
        return
    spare = job.finish_by - plan.finish
    wanted = f"to be finished by {moment(job.finish_by, plan.timezone, ends=True)}"
    if spare < 0:
        yield f"TOO LATE by {duration(-spare)}: {wanted}."
    else:
        yield f"In time, {duration(spare) if spare else 'nothing'} to spare: {wanted}."


def _visits(plan: Plan) -> Entry:
    if plan.visits == 0:
        return Entry("visits", "nobody has to come")
    people = listed(f"{who} on {counted(n, 'day')}" for who, n in _days_of_people(plan).items())
    text = f"{plan.visits}: {people}"
    return Entry("visits", text, (visits_proof(plan),))


def _days_of_people(plan: Plan) -> Mapping[str, int]:
    """On how many local days each person comes, in the order they first do."""
    days = {
        (person, day_of(minute, plan.timezone)): None
        for task in sorted(plan.tasks, key=lambda task: task.start)
        for person in task.who
        for start, end in pieces(task)
        for minute in (*range(start, end, 720), max(start, end - 1))  # too short to miss a day
    }
    days |= {(each.who, day_of(each.start, plan.timezone)): None for each in plan.bookings}
    counts: dict[str, int] = {}
    for person, _ in days:
        counts[person] = counts.get(person, 0) + 1
    return counts


def _rests_on(job: Job, plan: Plan) -> Iterator[Entry]:
    rooms: dict[Air, dict[str, None]] = {}
    for room in (job.task[wait.task].room for wait in plan.waits if wait.product):
        rooms.setdefault(job.air_of(room), {})[room or "elsewhere"] = None
    if not rooms:
        return
    yield Entry("", "The waits are worked out for this air, day and night:")
    yield from (Entry("", f"{listed(names)}: {_air(air, job)}") for air, names in rooms.items())
    yield Entry(
        "",
        "Colder or damper air makes waits longer, so measure it in the room. Times on a label are "
        "minimums, not promises.",
    )
    if guessed := listed(_not_from_a_label(job, plan)):
        yield Entry("", f"From the catalogue and not from your own label: {guessed}.")


def _not_from_a_label(job: Job, plan: Plan) -> Iterable[str]:
    """Products of which a stage that somebody waits for has not the owner's label behind it."""
    return dict.fromkeys(
        wait.product
        for wait in plan.waits
        if wait.product is not None
        and wait.stage is not None
        and job.products[wait.product].stage(wait.stage).basis != "owner's label"
    )


def _air(air: Air, job: Job) -> str:
    low, mean, high = (
        glued(show_temperature(air.temperature + part * air.swing, job.units))
        for part in (-1, 0, 1)
    )
    swing = f" ({low} at {glued('03:00,')} {high} at 15:00)" if air.swing else ""
    assumed = " — ASSUMED, the job file does not say" if air.assumed else ""
    measured = f"; {_measured(air.course, job.timezone)}" if air.course else ""
    return f"{mean}{swing}, humidity {glued(show_humidity(air.humidity))}{assumed}{measured}"


def _measured(course: Course, zone: str) -> str:
    since, until = dated(course.minutes[0], zone), dated(course.minutes[-1], zone)
    return f"from {since} as read, and as foreseen from that until {until}"


def spent(job: Job, split: TimeSplit) -> Iterator[Entry]:
    """Where time goes: shares that add to 100 %, the largest first, each with its length."""
    named = SPENT if job.past is None else SPENT | {"dates": UNUSED}
    parts = {words: getattr(split, key) for key, words in named.items()}
    parts = {words: minutes for words, minutes in parts.items() if minutes > 0}
    for words, share in shares(parts).items():
        yield Entry(glued(f"{share} %"), f"{words}, {duration(parts[words])}")


def shares(parts: Mapping[str, int]) -> dict[str, int]:
    """Whole percentages that add to 100, largest part first; the largest remainders round up.

    >>> shares({"work": 1, "drying": 1, "nights": 1})
    {'work': 34, 'drying': 33, 'nights': 33}
    """
    total = sum(parts.values())
    exact = {name: 100 * part / total for name, part in parts.items()}
    short = 100 - sum(int(share) for share in exact.values())
    up = set(sorted(exact, key=lambda name: int(exact[name]) - exact[name])[:short])
    order = sorted(parts, key=lambda name: -parts[name])
    return {name: int(exact[name]) + (name in up) for name in order}


def end(job: Job, plan: Plan) -> tuple[Section, ...]:
    """The driving chain, what the tasks have to spare, hold points and cautions."""
    sections = (
        Section("WHAT DRIVES THE FINISH", tuple(_chain(plan))),
        Section("TIME TO SPARE", tuple(_to_spare(plan))),
        Section("HOLD POINTS", tuple(_holds(job, plan))),
        Section("BEFORE YOU COVER ANYTHING", _CAUTIONS),
    )
    return tuple(section for section in sections if section.entries)


def _chain(plan: Plan) -> Iterator[Entry]:
    for task in (plan.task[key] for key in plan.chain):
        why = f"{GLUE}— {task.because.text}" if task.because.text else ""
        yield Entry(dated(task.start, plan.timezone), f"{title(task)}{why}")
    if plan.chain:
        yield Entry(dated(plan.finish, plan.timezone, ends=True), "Finished")


def _to_spare(plan: Plan) -> Iterator[Entry]:
    """The critical tasks, those nearest to them, and those that can wait longest."""
    named: dict[int, list[str]] = {}
    still = (task for task in plan.tasks if task.state == "open")
    for task in sorted(still, key=lambda task: task.float_minutes):
        named.setdefault(0 if task.critical else task.float_minutes, []).append(title(task))
    critical = named.pop(0, [])
    if critical:
        yield Entry("critical:", "; ".join(critical))
    spare = [*named]
    for minutes in [*spare[:_NEAREST], *spare[_NEAREST:][-1:]]:
        yield Entry(duration(minutes), "; ".join(named[minutes]))


def _holds(job: Job, plan: Plan) -> Iterator[Entry]:
    for task in sorted(plan.tasks, key=lambda task: task.finish):
        if job.task[task.id].hold:
            lasts = task.finish > task.start  # a milestone at midnight ends no day
            yield Entry(
                dated(task.finish, plan.timezone, ends=lasts), f"{title(task)}{_outcome(job, task)}"
            )


def _outcome(job: Job, task: PlannedTask) -> str:
    """How a hold point came out, as far as it was logged."""
    known = job.actual(task.id)
    if known.passed is not None:
        return f"{GLUE}— passed"
    if known.failed is not None:
        return f"{GLUE}— failed {dated(known.failed, job.timezone, ends=True)}, to be done again"
    return f"{GLUE}— done, but not logged as passed" if task.state == "done" else ""
