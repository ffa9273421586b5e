"""Jobs in which it is open who does what, and all the jobs that they may become."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import product

from hypothesis import strategies as st

from scheduler.clock import HOUR
from scheduler.model import Job, Person, Task, Way


def as_fixed(job: Job) -> Iterator[Job]:
    """Every job without a choice that a job may become: one for each way to decide it all.

    Nothing here is shared with the planner.
    """
    hands = {task.same_as or task.id: len(task.ways) for task in job.tasks if task.ways}
    for numbers in product(*map(range, hands.values())):
        taken = dict(zip(hands, numbers, strict=True))
        yield replace(job, tasks=tuple(_fixed(task, taken) for task in job.tasks))


def _fixed(task: Task, taken: dict[str, int]) -> Task:
    if not task.ways:
        return task
    way = task.ways[taken[task.same_as or task.id]]
    return replace(task, work=way.work, who=way.who, several=way.several, ways=())


@st.composite
def with_choices(
    draw: st.DrawFn, jobs: st.SearchStrategy[Job], most: int = 3, unit: int = HOUR
) -> Job:
    """A job with a choice of who does it in up to so many of its tasks, some of them of one hand.

    ``unit`` is what the work is a multiple of [min].
    """
    job = draw(jobs)
    hands = _hands(job.people)
    if len(hands) < 2:
        return job
    chosen = draw(st.lists(st.sampled_from([*job.task]), min_size=1, max_size=most, unique=True))
    alike = draw(st.booleans()) and len(chosen) > 1
    ways = st.lists(st.sampled_from(hands), min_size=2, max_size=3, unique=True)
    one_hand, tasks = draw(ways), []
    for task in job.tasks:
        if task.id not in chosen:
            tasks.append(task)
            continue
        mine = one_hand if alike else draw(ways)
        longest = 6 * HOUR // unit
        made = tuple(
            Way(unit * draw(st.integers(0 if task.work == 0 else 1, longest)), who, several)
            if task.work else Way(0, who, several)
            for who, several in mine
        )  # fmt: skip
        same_as = next(t.id for t in job.tasks if t.id in chosen) if alike else None
        first = made[0]
        tasks.append(
            replace(
                task, ways=made, work=first.work, who=first.who, several=first.several,
                same_as=None if same_as == task.id else same_as,
            )
        )  # fmt: skip
    return replace(job, tasks=tuple(tasks))


def _hands(
    people: "dict[str, Person] | object",
) -> list[tuple[tuple[str, ...], tuple[tuple[str, int], ...]]]:
    """One alone, two of one, two together."""
    assert isinstance(people, dict)
    found: list[tuple[tuple[str, ...], tuple[tuple[str, int], ...]]] = [((p,), ()) for p in people]
    found += [((p,), ((p, 2),)) for p, person in people.items() if person.count > 1]
    names = list(people)
    found += [((a, b), ()) for n, a in enumerate(names) for b in names[n + 1 :]]
    return found
