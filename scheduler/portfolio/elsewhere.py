"""Where other jobs have people: the holds of the tasks of all jobs but one, laid over that one."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace
from typing import NamedTuple

from scheduler.network import Network
from scheduler.passes import Starts
from scheduler.portfolio.join import Portfolio
from scheduler.steps import Begun, Hold, Step


def held_elsewhere(
    jobs: Portfolio, starts: Starts, k: int, moving: Collection[int] = ()
) -> Network:
    """The network of one job alone, its people held by the other jobs as these are placed.

    Those that are ``moving`` hold nobody.
    """
    member = jobs.members[k]
    taken: dict[str, list[_Taken]] = {}
    for each in _taken(jobs, starts, {k, *moving}):
        taken.setdefault(each.hold.who, []).append(each)

    def with_holds(step: Step) -> Step:
        """What has begun is a fact; the rest can't start while others have its people."""
        if isinstance(step, Begun):
            return step
        holds = tuple(
            replace(hold, who=who)
            for who, several in step.hands.items()
            for hold in _short(
                taken.get(member.shared(who), ()), member.job.people[who].count - several
            )
        )
        return replace(step, elsewhere=holds) if holds else step

    return replace(member.network, steps=tuple(map(with_holds, member.network.steps)))


class _Taken(NamedTuple):
    """A hold, and how many it takes of those who are alike."""

    hold: Hold
    several: int


def _taken(jobs: Portfolio, starts: Starts, out: Collection[int]) -> Iterator[_Taken]:
    """What all jobs but some hold, by the ids that people have among all jobs, by start."""
    found = []
    for n, (other, part) in enumerate(zip(jobs.members, jobs.parts, strict=True)):
        if n in out:
            continue
        for j, own in zip(part, other.network.steps, strict=True):
            step, task, name = jobs.network.steps[j], own.task, other.job.name
            for who, several in step.hands.items():
                end = step.finish(starts[j])
                found.append(_Taken(Hold(who, name, task.id, task.name, starts[j], end), several))
    return iter(sorted(found, key=lambda taken: (taken.hold.start, taken.hold.end)))


def _short(taken: Iterable[_Taken], left: int) -> Iterator[Hold]:
    """The spans in which others have more than ``left`` of a person, by the hold that ends each.

    Of several alike it does not say when too few are left for what the job itself does at a time:
    schedules are checked for that as a whole.
    """
    going: list[_Taken] = []
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
