"""Where other jobs have people: the holds of the tasks of all jobs but one, laid over that one."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import cache
from typing import NamedTuple

from scheduler.model import Job, Plan
from scheduler.network import Network
from scheduler.passes import Starts, order_arcs
from scheduler.portfolio.join import Portfolio, portfolio
from scheduler.steps import Begun, Hold, Step
from scheduler.ways import hands_of


def held_elsewhere(jobs: Portfolio, starts: Starts, k: int) -> Network:
    """The network of one job alone, its people held by the other jobs as these are placed."""
    member = jobs.members[k]
    own = {member.shared(who): who for who in member.job.people}
    taken = (
        each._replace(hold=replace(each.hold, who=own[each.hold.who]))
        for each in _taken(jobs, starts, [k])
        if each.hold.who in own
    )
    return with_holds(member.network, taken)


def between(jobs: Portfolio, starts: Starts, moving: Sequence[int]) -> Portfolio:
    """Some jobs by themselves, their people held by the others as these are placed."""
    some = portfolio([jobs.members[k] for k in moving])
    bare = [jobs.network.steps[j] for k in moving for j in jobs.parts[k]]
    network = with_holds(some.network, _taken(jobs, starts, moving), bare)
    return replace(some, network=network, open=network)


def placed(
    jobs: Portfolio, starts: list[int], some: Portfolio, moving: Sequence[int], found: Starts
) -> list[int]:
    """The plan with some jobs moved; as it was where too few of several alike are left."""
    moved = list(starts)
    for n, k in enumerate(moving):
        moved[jobs.parts[k].start : jobs.parts[k].stop] = some.of_job(n, found)
    return starts if order_arcs(jobs.network, moved) is None else moved


class Taken(NamedTuple):
    """A hold, and how many it takes of those who are alike."""

    hold: Hold
    several: int


def with_holds(
    network: Network, taken: Iterable[Taken], bare: Sequence[Step] | None = None
) -> Network:
    """A network whose people are held by others, by their ids in it, by start.

    What has begun is a fact; the rest can't start while others have its people. ``bare`` are its
    steps as somebody has them already, with what is known of them.
    """
    by_person: dict[str, list[Taken]] = {}
    for each in taken:
        by_person.setdefault(each.hold.who, []).append(each)

    @cache  # many tasks take as many of a person
    def short(who: str, several: int) -> tuple[Hold, ...]:
        return tuple(_short(by_person.get(who, ()), network.job.people[who].count - several))

    def held(step: Step, bare: Step) -> Step:
        if isinstance(step, Begun):
            return step
        holds = tuple(hold for hands in step.hands.items() for hold in short(*hands))
        return step.held_by(holds, bare) if holds else step

    return replace(network, steps=tuple(map(held, network.steps, bare or network.steps)))


def taken_by(job: Job, others: Iterable[tuple[Job, Plan]]) -> tuple[Taken, ...]:
    """What the tasks of other jobs that are not done hold of a job's people, as planned."""
    found = []
    for other, plan in others:
        for placed in plan.tasks:
            if placed.state == "done" or not placed.sessions:
                continue
            for who, several in hands_of([placed])[placed.id].items():
                same = other.people[who].crew and other.people[who] == job.people.get(who)
                if same:
                    span = placed.start, placed.finish
                    hold = Hold(who, other.name, placed.id, placed.name, *span)
                    found.append(Taken(hold, several))
    return tuple(sorted(found, key=lambda taken: (taken.hold.start, taken.hold.end)))


def _taken(jobs: Portfolio, starts: Starts, out: Collection[int]) -> Iterator[Taken]:
    """What all jobs but some hold, by the ids that people have among all jobs, by start."""
    found = []
    for n, (other, part) in enumerate(zip(jobs.members, jobs.parts, strict=True)):
        if n in out:
            continue
        for j, own in zip(part, other.network.steps, strict=True):
            step, task, name = jobs.network.steps[j], own.task, other.job.name
            for who, several in step.hands.items():
                end = step.finish(starts[j])
                found.append(Taken(Hold(who, name, task.id, task.name, starts[j], end), several))
    return iter(sorted(found, key=lambda taken: (taken.hold.start, taken.hold.end)))


def _short(taken: Iterable[Taken], left: int) -> Iterator[Hold]:
    """The spans in which others have more than ``left`` of a person, by the hold that ends each.

    Of several alike it does not say when too few are left for what the job itself does at a time:
    schedules are checked for that as a whole.
    """
    going: list[Taken] = []
    for each in taken:
        going = [other for other in going if other.hold.end > each.hold.start]
        going.append(each)
        over = sum(other.several for other in going) - left
        for other in sorted(going, key=lambda taken: taken.hold.end):
            if over <= 0:
                break
            over -= other.several
            if over <= 0:
                yield replace(other.hold, start=each.hold.start)
