"""Why each task starts when it does."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from scheduler import limits
from scheduler.clock import day_of
from scheduler.hours import NEVER
from scheduler.model import Job, Reason, ReasonKind
from scheduler.network import Network
from scheduler.passes import Starts, earliest_start, release
from scheduler.quantities import show_duration
from scheduler.steps import Arc, Begun, Offset, Step
from scheduler.without import held
from scheduler.wording import GLUE, READY, clock, day, listed


@dataclass(frozen=True)
class Binding:
    """What holds a start.

    Args:
        arc: the link or crew or room that released it last; None where only dates did.
        released: when that let it start [UTC min], hours and air not yet counted.
        ready: when everything but people's other tasks let it start.
        kind: what it waited for last of all, hours and air counted in.
        free: when the job let it start, though it did not: before ``released`` where the present
            holds it, before its start where it has begun.
    """

    arc: Arc | None
    released: int
    ready: int
    kind: ReasonKind
    free: int


def bindings(
    network: Network, site: Network, starts: Starts, arcs: Sequence[Arc]
) -> tuple[Binding, ...]:
    """The binding reason of each start.

    Args:
        network: the job compiled with all hours.
        site: the same with people there only on the days they come, and nothing closed earlier.
        starts: a schedule, everything as early as ``site`` and ``arcs`` allow.
        arcs: links and the order of crews and rooms.
    """
    into: list[list[Arc]] = [[] for _ in network.steps]
    for arc in arcs:
        if arc.before != arc.after:
            into[arc.after].append(arc)
    found = [_binding(network, site, starts, step, into[step.index]) for step in network.steps]
    for j, morning in held(network, starts).items():
        if found[j].kind == "trip" and found[j].free < morning:
            found[j] = replace(found[j], kind="without")
    return tuple(_by_days(network, starts, found, into))


def _by_days(
    network: Network, starts: Starts, found: Sequence[Binding], into: Sequence[Sequence[Arc]]
) -> Iterator[Binding]:
    """The reasons, a day that the rules of visits need being one of its own."""
    for_much = {(limit.who, j) for limit in network.limits if limit.least for j in limit.steps}
    for step, binding in zip(network.steps, found, strict=True):
        if binding.kind == "trip":
            binding = _by_day(network, starts, found, step.index, into[step.index])  # noqa: PLW2901
        if binding.kind == "trip" and any((who, step.index) in for_much for who in step.task.who):
            binding = replace(binding, kind="visits")  # noqa: PLW2901
        yield binding


def _by_day(
    network: Network, starts: Starts, found: Sequence[Binding], j: int, arcs: Iterable[Arc]
) -> Binding:
    """What holds a start that would be a visit more: the task that has to be on that day."""
    step = network.steps[j]
    for arc in arcs:
        bound = _start_bound(network, arc, starts) if arc.kind == "visits" else NEVER
        if found[arc.before].kind not in {"trip", "visits"} and step.first(bound) == starts[j]:
            return replace(found[j], arc=arc, released=bound, free=bound, kind="visits")
    return found[j]


def _binding(
    network: Network, site: Network, starts: Starts, step: Step, arcs: Sequence[Arc]
) -> Binding:
    start = starts[step.index]
    if isinstance(step, Begun):
        return _behind(network, starts, step, "log")
    floor = max(network.job.now, step.not_before)
    released = [(_start_bound(network, arc, starts), arc) for arc in arcs]

    def holds(bound: int) -> bool:
        return earliest_start(site.steps[step.index], "start", bound) == start

    tight = [(bound, arc) for bound, arc in released if holds(bound)]
    if holds(floor) or any(not arc.backward for _, arc in tight):
        # What comes later is no reason where dates, hours or what came before hold it as well.
        tight = [(bound, arc) for bound, arc in tight if not arc.backward]
    ready = max([floor, *(bound for bound, arc in released if arc.kind != "people")])
    if not tight or max(bound for bound, _ in tight) <= floor:
        kind: ReasonKind = "start" if floor == network.job.now else "date"
        kind = _kind(step, floor, start, kind)
        if floor > step.not_before and network.job.past is not None:
            return _behind(network, starts, step, kind)
        return Binding(None, floor, ready, kind, floor)
    latest_bound = max(bound for bound, _ in tight)
    arc = next(arc for bound, arc in tight if bound == latest_bound)
    kind = _kind(step, latest_bound, start, arc.kind)
    if arc.kind == "visits" and kind == "hours":
        kind = "visits"  # the day is what counts, and nobody begins at midnight
    return Binding(arc, latest_bound, ready, kind, latest_bound)


def _behind(network: Network, starts: Starts, step: Step, kind: ReasonKind) -> Binding:
    """What let a task start that has begun, or that nothing holds but the present.

    It is the last of the links and the people that came free for it, as they were logged.
    """
    since = step.begun if isinstance(step, Begun) else network.job.now
    came = [(_start_bound(network, arc, starts), arc) for arc in _history(network, starts, step)]
    came = [(bound, arc) for bound, arc in came if bound <= since]
    ready = max((bound for bound, arc in came if arc.kind != "people"), default=network.job.start)
    own = max(network.job.start, step.not_before)
    free = max((bound for bound, _ in came), default=own)
    arc = next((arc for bound, arc in came if bound == free and bound > own), None)
    free = max(free, own)
    if not isinstance(step, Begun) and step.workable.next(free) >= since:
        # It could not have begun before, so that it is no later than what came before it.
        alone: ReasonKind = "date" if step.not_before == own else "start"
        last = alone if arc is None else arc.kind
        return Binding(arc, free, ready, _kind(step, free, starts[step.index], last), free)
    return Binding(arc, since, ready, kind, free)


def _history(network: Network, starts: Starts, step: Step) -> Iterator[Arc]:
    """From tasks begun to another: its links, and those of its people."""
    begun = [other for other in network.steps if isinstance(other, Begun) and other is not step]
    known = {other.index for other in begun}
    for arc in (*network.gone, *network.arcs):
        if arc.after == step.index and arc.before in known and not arc.backward:
            yield arc
    for who in step.task.who if step.task.work else ():
        for other in begun:
            if who in other.task.who and other.task.work:
                yield Arc(other.index, "finish", step.index, "start", Offset(0), "people", who=who)


def _start_bound(network: Network, arc: Arc, starts: Starts) -> int:
    """The minute before which an arc does not let its later step start.

    An arc to a finish holds the start by what the work itself takes; hours hold it further.
    """
    bound = release(network, arc, starts)
    if arc.to == "start" or bound >= NEVER:
        return bound
    step = network.steps[arc.after]
    return min(step.first_start(bound), bound - step.task.work)


def _kind(step: Step, released: int, start: int, kind: ReasonKind) -> ReasonKind:
    """What a start waited for after it was released."""
    if start == released:
        return kind
    if step.first(released) < start:
        return "trip"
    if step.elsewhere and step.unheld.first(released) < start:
        return "elsewhere"
    if step.short.next(released) < start:
        return "notice"
    present = step.present.next(released)
    bad_air = present < start and present not in step.workable
    return "air" if bad_air or not step.task.who else "hours"


def reason(network: Network, starts: Starts, j: int, binding: Binding) -> Reason:
    """The binding reason of a start, in words."""
    step, zone = network.steps[j], network.job.timezone
    if isinstance(step, Begun):
        return Reason("log", _as_logged(step, zone))
    arc, kind = _holding(binding), binding.kind
    before = None if arc is None else network.steps[arc.before].task
    if kind == "elsewhere":
        delay = starts[j] - step.unheld.first(binding.released)
        return _elsewhere(step, starts[j], delay, _released(network, starts, binding), zone)
    released = _released(network, starts, binding)
    who = listed(step.task.who)
    last = {
        "hours": f"{who or 'the work'}: next hours {_at(starts[j], zone)}",
        "notice": _noticed(network.job, step, starts[j]),
        "air": f"the air is within the product's limits from {_at(starts[j], zone)}",
        "trip": f"{who}: an earlier day would be one more day to come",
        "visits": _few_visits(network.job, step.task.who),
        "without": f"an earlier day would be one more without the {listed(step.task.closes)}",
    }.get("" if arc is not None and kind == arc.kind else kind)
    text = released if last is None else f"{released}; {last}" if released else last
    return Reason(
        kind,
        text,
        None if before is None else before.id,
        None if arc is None else arc.stage,
    )


def _as_logged(step: Begun, zone: str) -> str:
    if step.state == "done":
        return f"done {_at(step.end, zone)}, as logged"
    return f"begun {_at(step.begun, zone)}, as logged"


def _holding(binding: Binding) -> Arc | None:
    """What holds the start; nothing of what came before does where the present does."""
    return binding.arc if binding.free == binding.released else None


def _noticed(job: Job, step: Step, start: int) -> str:
    """Who wants notice, and how long."""
    wanted = [who for who in step.task.who if job.people[who].notice]
    notice = listed(
        f"{who} wants {show_duration(job.people[who].notice)} of notice" for who in wanted
    )
    return f"{notice}: {_at(start, job.timezone)} at the earliest"


def _few_visits(job: Job, who: Iterable[str]) -> str:
    """On how few days somebody comes, and for how much work."""
    limited = (job.people[name] for name in who)
    return listed(
        f"{person.id} comes {limits.in_words(person)}"
        for person in limited
        if person.at_most is not None or person.visits_of
    )


def _elsewhere(step: Step, start: int, delay: int, released: str, zone: str) -> Reason:
    """Other jobs had its people: the last of those holds that ended before the start."""
    hold = max((h for h in step.elsewhere if h.end <= start), key=lambda h: h.end)
    busy = f"{hold.who} is busy with '{hold.name}' of {hold.job} until {_at(hold.end, zone)}"
    text = f"{released}; {busy}" if released else busy
    return Reason("elsewhere", text, hold.task, job=hold.job, delay=delay)


def _released(network: Network, starts: Starts, binding: Binding) -> str:
    """What let a task start, and when; nothing where only its hours or the air did."""
    arc, zone = _holding(binding), network.job.timezone
    if arc is None:
        if binding.released > network.job.now:
            return f"not before {_at(binding.released, zone)}"
        begins = "the job starts" if network.job.past is None else "nothing holds it any more"
        return begins if binding.kind == "start" else ""
    at = _at(release(network, arc, starts), zone)
    before, after = network.steps[arc.before].task.name, network.steps[arc.after].task.name
    if arc.backward:
        return _held_back(network.job, arc, before)
    if arc.kind == "people":
        return f"{arc.who} is busy with {before!r} until {at}"
    if arc.kind in {"room", "dust"}:
        return _let_in(arc, before, at)
    linked = f"{_linked(arc, before)}, {at}"
    return linked if arc.to == "start" else f"{after!r} can't be done before {linked}"


def _held_back(job: Job, arc: Arc, later: str) -> str:
    """What comes after it and holds it, in the end."""
    if arc.kind == "visits" and arc.who is not None:
        return f"not before the day of {later!r}, as {_few_visits(job, [arc.who])}"
    return f"not earlier, so that {later!r} comes within {show_duration(-arc.lag.after(0))} of it"


def _let_in(arc: Arc, before: str, at: str) -> str:
    if arc.stage is None:
        return f"{before!r} must be out of the room first, {at}"
    what = "closed" if arc.kind == "room" else "kept free of dust"
    return f"the room is {what} until {before!r} is {READY[arc.stage]}, {at}"


def _linked(arc: Arc, before: str) -> str:
    if arc.stage is not None:
        return f"{before!r} is {READY[arc.stage]}"
    wait = 0 if arc.link is None else arc.link.wait
    of = "is done" if arc.of == "finish" else "starts"
    if wait == 0:
        return f"{before!r} {of}"
    return f"{show_duration(abs(wait))} {'after' if wait > 0 else 'before'} {before!r} {of}"


def _at(minute: int, zone: str) -> str:
    return f"{day(day_of(minute, zone))} {clock(minute, zone)}".replace(GLUE, " ")
