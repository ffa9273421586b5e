"""Closed rooms, and dusty work that keeps clear of fresh surfaces."""

from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.ready.case import Block, Case, Rule, ahead, out_of
from scheduler.ready.verdict import FindingKind
from scheduler.steps import Closure
from scheduler.wording import READY


@dataclass(frozen=True)
class _Meeting:
    """When another task keeps this one out of a room, and what to say of it."""

    block: Block
    text: str


def rooms(case: Case) -> Iterator[Rule]:
    """Whether the room lets this task in, and whether others let it close the room."""
    room = case.task.room
    good: dict[FindingKind, str] = {
        "room": f"the {room} is open",
        "dust": f"no dust meets a fresh surface in the {room}",
    }
    for kind, text in good.items():
        closures = (closure for closure in case.network.closures if closure.kind == kind)
        meetings = [m for closure in closures for m in _meetings(case, closure)]
        if meetings:
            yield _rule(case, kind, meetings, text)


def _rule(case: Case, kind: FindingKind, meetings: list[_Meeting], good: str) -> Rule:
    blocks = [meeting.block for meeting in meetings]
    following = ahead(case, blocks)
    bad = "; ".join(meeting.text for meeting in meetings if meeting.block.holds(case.at))
    return case.rule(
        kind, out_of(blocks), good=good, bad=bad, until=following.after if following else None
    )


def _meetings(case: Case, closure: Closure) -> Iterator[_Meeting]:
    if closure.by == case.me:
        for other in closure.others:
            yield _mine(case, closure, other)
    elif case.me in closure.others:
        yield _theirs(case, closure)


def _theirs(case: Case, closure: Closure) -> _Meeting:
    """Another task's fresh surface."""
    room, what = case.task.room, case.name(closure.by)
    start, finish = case.span(closure.by)
    opens = closure.lag.after(finish)
    block = case.block(closure.by, start, opens, start)
    if start <= case.at:
        is_what = "is closed" if closure.kind == "room" else "must be free of dust"
        reached = f"{READY[closure.stage]}, {case.when(opens)}"
        return _Meeting(block, f"the {room} {is_what} until {what} is {reached}")
    does = f"closes the {room}" if closure.kind == "room" else f"must have no dust in the {room}"
    done = case.when(case.finish, ends=True)
    return _Meeting(block, f"{what} {does} from {case.when(start)}, before this is done ({done})")


def _mine(case: Case, closure: Closure, other: int) -> _Meeting:
    """This task's own fresh surface, and another task that may not meet it."""
    room, what = case.task.room, case.name(other)
    start, finish = case.span(other)
    block = case.block(other, closure.lag.before(start), finish, start)
    if start <= case.at:
        does = "is at work in" if closure.kind == "room" else "makes dust in"
        return _Meeting(block, f"{what} {does} the {room} until {case.when(finish, ends=True)}")
    opens = case.when(closure.lag.after(case.finish))
    until = f"until this is {READY[closure.stage]}, {opens}"
    if closure.kind == "room":
        text = f"{what} is planned {case.when(start)}, and the {room} would be closed {until}"
    else:
        text = f"{what} makes dust {case.when(start)}, and the {room} must have none {until}"
    return _Meeting(block, text)
