"""Several jobs as one network: their tasks side by side, held together by the people they share."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from scheduler.model import Job, Link, Person, Prefer, Room, Task
from scheduler.network import REACHES, Network, compile_job, horizon, with_hands
from scheduler.passes import Starts
from scheduler.steps import Arc, Begun, Closure, Limit, Step, choice
from scheduler.windows import Window, lifted


@dataclass(frozen=True)
class Member:
    """A job among others.

    What it prefers to the finish is no matter of its network: only where it has its place among
    the others is it asked for (``preferring``).

    Args:
        job: as it stands.
        missed: its windows that what happened has left no way to keep.
        network: the job compiled by itself, those windows lifted.
    """

    job: Job
    missed: frozenset[Window]
    network: Network

    def shared(self, person: str) -> str:
        """By which id one of its people goes among all jobs.

        A person of a crew file is the same for all jobs that name the file. Ids of a job file have
        no spaces, names of jobs and files end before one, so that no two can be mistaken.
        """
        crew = self.job.people[person].crew
        return f"{crew or self.job.name} {person}"


@dataclass(frozen=True)
class Portfolio:
    """Several jobs, and the network of them all: the steps of each job in a row, in their order.

    ``open`` is that network with no choice made of who does what: what holds of it holds whichever
    way is taken.
    """

    members: tuple[Member, ...]
    network: Network
    open: Network

    @cached_property
    def parts(self) -> tuple[range, ...]:
        """The steps of each job."""
        parts, first = [], 0
        for member in self.members:
            parts.append(range(first, first + len(member.network.steps)))
            first = parts[-1].stop
        return tuple(parts)

    def made(self, ways: Sequence[int]) -> "Portfolio":
        """The same jobs with every choice made: of each in ``open``, the number of its way."""
        if not self.open.choices:
            return self
        taken = {j: way for members, way in zip(self.open.choices, ways, strict=True)
                 for j in members}  # fmt: skip
        members = [
            replace(
                m,
                network=m.network.made([taken[part.start + j] for j, *_ in m.network.choices]),
            )
            for m, part in zip(self.members, self.parts, strict=True)
        ]
        return replace(portfolio(members), open=self.open)

    def of_job(self, k: int, starts: Starts) -> list[int]:
        """The starts of one job."""
        return [starts[j] for j in self.parts[k]]

    def moved(self, starts: Starts, k: int, own: Starts) -> list[int]:
        """Starts of all with those of one job replaced."""
        part = self.parts[k]
        return [*starts[: part.start], *own, *starts[part.stop :]]

    def finishes(self, starts: Starts) -> tuple[int, ...]:
        """When each job is done, if the starts obey all that waits."""
        steps = self.network.steps
        return tuple(
            max((steps[j].finish(starts[j]) for j in lasts), default=member.job.start)
            for lasts, member in zip(self._lasts, self.members, strict=True)
        )

    @cached_property
    def _lasts(self) -> Sequence[Sequence[int]]:
        """The steps with which each job is done."""
        return [
            [part.start + j for j in m.network.lasts]
            for m, part in zip(self.members, self.parts, strict=True)
        ]


def member(job: Job, missed: frozenset[Window], end: int) -> Member:
    """A job compiled by itself up to ``end``, with the windows ``missed`` lifted."""
    network = compile_job(replace(lifted(job, missed), prefer="finish"), end)
    return Member(job, missed, network)


def preferring(network: Network, prefer: Prefer) -> Network:
    """The network of a job whose plan is to be best at that."""
    return replace(network, job=replace(network.job, prefer=prefer))


def far_enough(jobs: Iterable[Job]) -> Iterator[int]:
    """Ends of the time looked at for several jobs [UTC min], one after the other.

    The last leaves room for all of them in a row.
    """
    jobs = tuple(jobs)
    in_a_row = REACHES[0] * len(jobs)
    for days in sorted({REACHES[0], *(d for d in (in_a_row, REACHES[1]) if d > REACHES[0])}):
        yield max(horizon(job, days) for job in jobs)


def portfolio(members: Sequence[Member]) -> Portfolio:
    """Jobs side by side as one network."""
    members = tuple(members)
    ends = max(m.network.end for m in members)
    people = {m.shared(who): p for m in members for who, p in m.network.job.people.items()}
    # Of a person's hours as jobs know them those from the earliest start on are all of them.
    by_start = sorted(members, key=lambda m: -m.job.start)
    hours = {m.shared(who): h for m in by_start for who, h in m.network.hours.items()}
    steps: list[Step] = []
    arcs: list[Arc] = []
    gone: list[Arc] = []
    closures: list[Closure] = []
    limits: list[Limit] = []
    for m in members:
        n = len(steps)
        steps += _steps(m, n)
        for made, own in ((arcs, m.network.arcs), (gone, m.network.gone)):
            made += [replace(arc, before=arc.before + n, after=arc.after + n) for arc in own]
        closures += [
            replace(c, by=c.by + n, others=tuple(j + n for j in c.others))
            for c in m.network.closures
        ]
        limits += [
            replace(limit, who=m.shared(limit.who), steps=tuple(j + n for j in limit.steps))
            for limit in m.network.limits
        ]
    job = _job(members, people, [step.task for step in steps])
    held = with_hands(steps, job)
    network = Network(
        job, ends, hours, held, tuple(arcs), tuple(closures), tuple(gone), tuple(limits)
    )
    return Portfolio(members, network, network)


def jobs_with(jobs: Portfolio, person: str) -> list[int]:
    """The jobs in which a person has something to do."""
    needing = set(jobs.open.crews[person])
    return [k for k, part in enumerate(jobs.parts) if not needing.isdisjoint(part)]


def name_among(job: Job, own: str) -> str:
    """By which name a task or a room of a job goes among all jobs."""
    return f"{job.name} {own}"


def _job(members: Sequence[Member], people: Mapping[str, Person], tasks: Collection[Task]) -> Job:
    """All tasks in one job, with the air of their rooms; what products do is compiled already."""
    first = members[0].job
    rooms = [
        Room(name_among(m.job, key), m.job.air_of(key or None))
        for m in members
        for key in ("", *m.job.rooms)
    ]
    return Job(
        name="; ".join(m.job.name for m in members),
        timezone=first.timezone,
        start=min(m.job.start for m in members),
        air=first.air,
        people=people,
        rooms={room.id: room for room in rooms},
        products={},
        tasks=tuple(tasks),
        asked=first.asked,
    )


def _steps(m: Member, first: int) -> Iterator[Step]:
    for step in m.network.steps:
        ways = [_step(way, m, first) for way in step.ways]
        yield choice(ways) if len(ways) > 1 else ways[0]


def _step(step: Step, m: Member, first: int) -> Step:
    task = _renamed(step.task, m)
    elsewhere = tuple(replace(hold, who=m.shared(hold.who)) for hold in step.elsewhere)
    moved = replace(step, index=step.index + first, task=task, elsewhere=elsewhere)
    if isinstance(moved, Begun):
        moved = replace(moved, hands={m.shared(who): n for who, n in moved.hands.items()})
    return moved


def _renamed(task: Task, m: Member) -> Task:
    """A task by names that no task, person or room of another job has, from its job's start on."""

    def called(link: Link) -> Link:
        return replace(link, task=name_among(m.job, link.task))

    return replace(
        task,
        id=name_among(m.job, task.id),
        room=name_among(m.job, task.room or ""),
        not_before=max(m.job.now, task.not_before or m.job.now),
        who=tuple(map(m.shared, task.who)),
        several=tuple((m.shared(who), n) for who, n in task.several),
        same_as=None if task.same_as is None else name_among(m.job, task.same_as),
        after=tuple(map(called, task.after)),
        closes=tuple(f"{m.job.name} {of}" for of in task.closes),
        reopens=tuple(f"{m.job.name} {of}" for of in task.reopens),
    )
