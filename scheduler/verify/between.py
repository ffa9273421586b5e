"""The verifier's rules about what tasks ask of each other: people, links, windows, rooms, dust."""

from collections.abc import Iterator

from scheduler.model import Link, Person, PlannedTask, Task
from scheduler.verify.case import Breach, Case, Rule, end_of, span_in_words
from scheduler.verify.stages import Reach


def _people(case: Case) -> Iterator[Breach]:
    """Nobody is on more tasks at a time than there are of them, nights in a task included."""
    for who, person in case.job.people.items():
        holding = [
            p for t, p in case.pairs if who in t.who and t.work > 0 and case.state(t.id) != "done"
        ]
        for placed in (p for p in holding if case.is_open(p.id)):
            # The number on the go can only rise at a start, so starts are where to count.
            others = [
                p for p in holding if p.start <= placed.start < p.finish and p.id != placed.id
            ]
            if sum(_taken(case.job.task[p.id], who) for p in (placed, *others)) > person.count:
                yield _too_many(case, person, placed, others)


def _taken(task: Task, who: str) -> int:
    """How many of a person a task takes."""
    return next((several for name, several in task.several if name == who), 1)


def _too_many(case: Case, person: Person, placed: PlannedTask, on: list[PlannedTask]) -> Breach:
    text = f"{placed.id} starts {case.when(placed.start)} while {person.id} is still on"
    many = f" (there are {person.count})" if person.count > 1 else ""
    return Breach("people", placed.id, f"{text} {', '.join(p.id for p in on)}{many}")


# What tasks ask of each other -------------------------------------------------------------------


def _links(case: Case) -> Iterator[Breach]:
    """A task comes its wait after the other one, or when what that one applied is ready."""
    for link, before, after in case.binding:
        moment = end_of(after, link.to)
        if link.stage is not None:
            yield from _stage(case, link, after, case.reach(before.id, link.stage))
        elif moment < end_of(before, link.of) + link.wait:
            due = case.when(end_of(before, link.of) + link.wait)
            text = f"{after.id}: {link.to} {case.when(moment)}, but {span_in_words(link.wait)}"
            yield Breach("link", after.id, f"{text} after the {link.of} of {before.id} is {due}")


def _stage(case: Case, link: Link, after: PlannedTask, due: Reach) -> Iterator[Breach]:
    """Names what holds longest: the air, the label's minimum, or the standard's."""
    moment = end_of(after, link.to)
    if moment >= due.earliest:
        return
    rule = "stage"
    if due.earliest == due.standard:
        rule = "standard"
    elif due.earliest == due.label:
        rule = "label"
    text = f"{after.id}: {link.to} {case.when(moment)}, but '{link.stage}' of {link.task} comes"
    yield Breach(rule, after.id, f"{text} {case.when(due.earliest)}")


def _rooms(case: Case) -> Iterator[Breach]:
    """Nobody works in a closed room."""
    for task, placed in case.pairs:
        product = case.job.product_of(task)
        if task.room is not None and product is not None and product.closes is not None:
            opens = case.reach(task.id, product.closes).earliest
            for other in _meeting(case, task, placed.start, opens):
                text = f"{other.id} is in {task.room}, which {task.id} closes until"
                yield Breach("room", other.id, f"{text} {case.when(opens)}")


def _dust(case: Case) -> Iterator[Breach]:
    """No dust on a fresh surface."""
    for task, placed in case.pairs:
        product = case.job.product_of(task)
        if task.room is not None and product is not None and product.dust_shy is not None:
            until = case.reach(task.id, product.dust_shy).earliest
            for other in _meeting(case, task, placed.start, until):
                if other.dusty:
                    text = f"{other.id} raises dust in {task.room} while {task.id} is fresh, until"
                    yield Breach("dust", other.id, f"{text} {case.when(until)}")


def _meeting(case: Case, task: Task, start: int, end: float) -> Iterator[Task]:
    """The other tasks in the same room that overlap ``[start, end)``; milestones inside it.

    What is done stays out of it, and of two that have begun neither can give way.
    """
    for other, placed in case.pairs:
        apart = placed.start >= end or placed.finish <= start
        undecided = case.is_open(other.id) or case.is_open(task.id)
        here = other.room == task.room and other.id != task.id
        if here and undecided and not apart and case.state(other.id) != "done":
            yield other


RULES: tuple[Rule, ...] = (_people, _links, _rooms, _dust)
