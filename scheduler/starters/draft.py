"""From answers to the tasks of a job: the parts that apply, the links between what is left.

A draft is what the writer writes: still with the words and sizes of ``data/starters``.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby

from scheduler.starters.answers import Answers
from scheduler.starters.facts import Facts
from scheduler.starters.files import (
    LinkPart,
    ProductPart,
    Starter,
    TaskPart,
    parts,
    shared,
    starters,
)

PEOPLE = ("me", "plumber", "electrician", "inspector")


@dataclass(frozen=True)
class DraftTask:
    """A task that is taken, with the links that are left."""

    id: str
    part: TaskPart
    after: tuple[LinkPart, ...]


@dataclass(frozen=True)
class Section:
    """The tasks under one heading."""

    heading: str
    tasks: tuple[DraftTask, ...]


@dataclass(frozen=True)
class Draft:
    """A job before it is written."""

    answers: Answers
    starter: Starter
    sections: tuple[Section, ...]

    @property
    def tasks(self) -> tuple[DraftTask, ...]:
        """All tasks, in order."""
        return tuple(task for section in self.sections for task in section.tasks)

    @property
    def people(self) -> tuple[str, ...]:
        """Who is needed."""
        needed = {task.part.who for task in self.tasks}
        return tuple(person for person in PEOPLE if person in needed)

    @property
    def rooms(self) -> tuple[str, ...]:
        """The rooms that work is in."""
        needed = {task.part.room for task in self.tasks}
        return tuple(id_ for kind, id_ in self.starter.rooms.items() if kind in needed)

    @cached_property
    def products(self) -> Mapping[str, ProductPart]:
        """What is applied or used, in the order of the shared file."""
        facts = Facts(self.answers)
        used = {task.part.applies for task in self.tasks}
        used |= {name for task in self.tasks for name in task.part.uses}
        found = {id_: facts.first(shared().products[id_]) for id_ in shared().products}
        return {id_: part for id_, part in found.items() if part and id_ in used}


def draft(answers: Answers) -> Draft:
    """The job that the answers ask for."""
    facts, starter = Facts(answers), starters()[answers.what]
    taken = [parts()[name] for name in starter.parts if facts.hold(parts()[name].when)]
    chosen = {
        id_: (part.heading, task)
        for part in taken
        for id_, task in part.tasks.items()
        if facts.hold(task.when)
    }
    links = _links({id_: task for id_, (_, task) in chosen.items()}, facts)
    made = (
        (chosen[id_][0], DraftTask(id_, chosen[id_][1], links[id_])) for id_ in _in_order(links)
    )
    sections = (
        Section(heading, tuple(task for _, task in group))
        for heading, group in groupby(made, key=lambda each: each[0])
    )
    return Draft(answers, starter, tuple(sections))


def _in_order(links: Mapping[str, Iterable[LinkPart]]) -> Iterator[str]:
    """The tasks as the parts have them, but none before what it waits for.

    A liner is tested before boards hide it, the membrane of a pan after them.
    """
    left = list(links)
    while left:
        ready = next(id_ for id_ in left if not any(link.task in left for link in links[id_]))
        left.remove(ready)
        yield ready


def _links(taken: Mapping[str, TaskPart], facts: Facts) -> Mapping[str, tuple[LinkPart, ...]]:
    """What each task waits for among the tasks that are taken, without what goes without saying."""
    kept = {
        id_: tuple(link for link in task.after if link.task in taken and facts.hold(link.when))
        for id_, task in taken.items()
    }
    return {id_: tuple(_needed(links, kept, taken)) for id_, links in kept.items()}


def _needed(
    links: Iterable[LinkPart],
    kept: Mapping[str, tuple[LinkPart, ...]],
    taken: Mapping[str, TaskPart],
) -> Iterator[LinkPart]:
    """The links without plain ones that another one implies.

    An inspection implies nothing: the owner may delete it.
    """
    links = tuple(links)
    firm = [link.task for link in links if not taken[link.task].hold]
    implied = {task for first in firm for task in _before(first, kept)}
    for link in links:
        if link.stage or link.wait or link.within or link.task not in implied:
            yield link


def _before(task: str, kept: Mapping[str, tuple[LinkPart, ...]]) -> set[str]:
    """All that comes before a task."""
    seen: set[str] = set()
    ahead = [task]
    while ahead:
        new = {link.task for link in kept[ahead.pop()]} - seen
        seen |= new
        ahead += new
    return seen
