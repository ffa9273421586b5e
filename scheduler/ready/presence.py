"""Whether anybody is there and the air is right, for long enough; dates; people busy elsewhere."""

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date
from functools import partial
from itertools import pairwise

from scheduler import air as moist_air
from scheduler.clock import day_end, day_start
from scheduler.hours import NEVER, Spans, intersect, spans, union
from scheduler.limits import members
from scheduler.model import Limits
from scheduler.network import days_of, presence
from scheduler.progress import workable_air
from scheduler.ready.case import Block, Case, Rule, ahead, end_of, out_of
from scheduler.ready.verdict import Finding, FindingKind
from scheduler.ready.words import breaches, conditions_words, limits_words
from scheduler.steps import Limit, Step
from scheduler.wording import counted, duration, listed
from scheduler.wording import day as day_words


def dates(case: Case) -> Iterator[Rule]:
    """The job's start or the present, and the dates that the task itself keeps."""
    begins, task = case.job.now, case.task
    is_past = f"it is {case.when(begins)}, and this is past"
    text = is_past if case.job.past else f"the job starts {case.when(begins)}"
    late = Finding("start", False, text, begins)
    yield Rule(lambda s: max(s, begins), late if case.at < begins else None)
    if (opens := task.not_before) is not None:
        text = f"not before {case.when(opens)}"
        yield case.rule("date", lambda s: max(s, opens), good=text, bad=text)
    if (by := task.must_finish_by) is not None:
        last = case.last_start("finish", by)
        text = f"must be done by {case.when(by, ends=True)}, and would be {_done(case)}"
        yield case.rule(
            "date", lambda s: s if s <= last else NEVER, good=text, bad=text, until=last
        )


def _done(case: Case) -> str:
    return case.when(case.finish, ends=True)


def hours(case: Case) -> Iterator[Rule]:
    """The hours of all who must be there."""
    present = union(case.step.present, case.step.short)
    first = present.next
    if case.at >= case.network.end:
        beyond = f"no plan is looked at beyond {case.when(case.network.end)}"
        yield Rule(first, Finding("hours", False, beyond))
    elif case.at < case.job.start or not case.task.who:
        yield Rule(first)
    else:
        ends = end_of(present, case.at)
        last = "" if ends >= case.network.end else f" until {case.when(ends, ends=True)}"
        have = "has" if len(case.task.who) == 1 else "have"
        yield case.rule(
            "hours",
            first,
            good=f"{listed(case.task.who)} {have} hours{last or ' round the clock'}",
            bad=_absent(case, present),
            until=ends if last else None,
        )


def notice(case: Case) -> Iterator[Rule]:
    """Those who want to be booked that long ahead of now, and are not booked for then."""
    step, people = case.step, case.job.people
    if not step.short.total:
        return
    wanted = [who for who in case.task.who if people[who].notice]
    text = listed(f"{who} wants {duration(people[who].notice)} of notice" for who in wanted)
    due = f"{text}, by what is booked {case.when(step.present.next(case.at))} at the earliest"
    asked = f"what is agreed with {listed(wanted)} belongs under 'booked'"

    def first(minute: int) -> int:
        return step.present.next(minute) if minute in step.short else minute

    yield case.rule("notice", first, good=f"{text}, and that is kept", bad=f"{due}; {asked}")


def visits(case: Case) -> Iterator[Rule]:
    """Those who come on so many days at most, where all other tasks as planned take them up."""
    for limit in case.network.limits:
        if limit.at_most is not None and limit.who in case.task.who:
            days = _other_days(case, limit)
            if len(days) >= limit.at_most:
                yield _no_more_days(case, limit, days)


def worthwhile(case: Case) -> Iterator[Rule]:
    """Those who come for so much work at least, but for their last day, all else as planned."""
    for limit in case.network.limits:
        if limit.least and limit.who in case.task.who:
            yield _enough_to_do(case, limit)


def _enough_to_do(case: Case, limit: Limit) -> Rule:
    zone, others = case.job.timezone, Counter[date]()
    for j in members(case.network, limit):
        if j != case.me:
            others += _work_by_day(case.network.steps[j], case.span(j)[0], limit.who, zone)

    def too_little(start: int) -> list[date]:
        own = _work_by_day(case.step, start, limit.who, zone)
        last = max([*others, *own], default=None)
        free = (day for day in own if day != last and day not in limit.sure)
        return [day for day in free if own[day] + others[day] < limit.least]

    def first(minute: int) -> int:
        start = minute
        while start in case.step.starts and (days := too_little(start)):
            start = case.step.starts.next(day_end(days[0], zone))
        return start

    text = f"{limit.who} comes for {duration(limit.least)} of work at least"
    bad = f"{text}, and would not have so much to do that day"
    return case.rule("visits", first, good=text, bad=bad)


def _work_by_day(step: Step, start: int, who: str, zone: str) -> Counter[date]:
    """The minutes of work of all hands of a person, by local day."""
    found: Counter[date] = Counter()
    sessions = spans(step.sessions(start))
    for day, (since, until) in days_of(sessions, zone).items():
        found[day] = step.hands.get(who, 0) * intersect(sessions, spans([(since, until)])).total
    return +found


def _other_days(case: Case, limit: Limit) -> list[date]:
    """The days on which somebody comes for other tasks, as planned, and those that are sure."""
    days = {*limit.sure}
    for j in members(case.network, limit):
        if j != case.me:
            there = presence(case.network.steps[j], case.span(j)[0])
            days |= days_of(there, case.job.timezone).keys()
    return sorted(days)


def _no_more_days(case: Case, limit: Limit, days: Sequence[date]) -> Rule:
    zone = case.job.timezone

    def first(minute: int) -> int:
        on = next((day for day in days if day_end(day, zone) > minute), None)
        return NEVER if on is None else max(minute, day_start(on, zone))

    comes = f"{limit.who} comes on at most {counted(limit.at_most or 0, 'day')}"
    taken = f"and for other tasks {listed(map(day_words, days))}"
    return case.rule("visits", first, good=f"{comes}, this is one of them", bad=f"{comes}, {taken}")


def _absent(case: Case, present: Spans) -> str:
    hours = case.network.hours
    away = [
        f"{who} has no hours then, next {case.when(hours[who].next(case.at))}"
        for who in case.task.who
        if case.at not in hours[who]
    ]
    together = case.when(present.next(case.at))
    return "; ".join(away) + (f"; all together {together}" if len(case.task.who) > 1 else "")


def fit(case: Case) -> Iterator[Rule]:
    """Whether the work fits into the time that hours and air leave, if nobody is elsewhere."""
    task, workable, first = case.task, case.step.workable, case.step.unheld.starts.next
    if task.work == 0 or case.at not in workable:
        yield Rule(first)
        return
    ends = end_of(workable, case.at)
    kind: FindingKind = "air" if ends in case.step.present else "hours"
    if task.split:
        good = f"{duration(task.work)} of work, done {_done(case)}"
        beyond = case.when(case.network.end)
        bad = f"{duration(task.work)} of work, and not enough hours before {beyond}"
    else:
        left = f"{duration(ends - case.at)} left, until {case.when(ends, ends=True)}"
        good = f"takes {duration(task.work)} in one go, with {left}"
        bad = f"takes {duration(task.work)} in one go, with only {left}"
    yield case.rule(kind, first, good=good, bad=bad)


def air(case: Case) -> Iterator[Rule]:
    """The product's limits against the air of the room."""
    job, product = case.job, case.job.product_of(case.task)
    if product is None or product.limits == Limits():
        return
    room = job.air_of(case.task.room)
    good = workable_air(product.limits, room, job.timezone, job.start, case.network.end)
    if not case.job.start <= case.at < case.network.end:
        yield Rule(good.next)
        return
    now = moist_air.mean(room, case.at, case.at + 1, job.timezone)
    is_now = f"the air is {conditions_words(now, job)}"
    ends = end_of(good, case.at)
    yield case.rule(
        "air",
        good.next,
        good=f"{is_now}, within the limits of {product.id} ({limits_words(product, job)})",
        bad=f"{is_now}, {listed(breaches(product.limits, now, job))}: not for {product.id}",
        until=ends if ends < case.network.end else None,
    )


def people(case: Case) -> Iterator[Rule]:
    """Everybody's other tasks; a milestone needs nobody's time."""
    for person in case.task.who if case.task.work else ():
        blocks = list(_busy(case, person))
        now = next((b for b in blocks if b.holds(case.at)), None)
        following = ahead(case, blocks)
        yield case.rule(
            "people",
            out_of(blocks),
            good=f"{person} is free" + (f", next is {_next(case, following)}" if following else ""),
            bad=_engaged(case, person, now) if now else "",
            until=following.after if following else None,
        )


def _next(case: Case, block: Block) -> str:
    return f"{listed(block.by)} {case.when(block.start)}"


def _engaged(case: Case, person: str, block: Block) -> str:
    what = listed(block.by)
    if block.start <= case.at:
        return f"{person} is busy with {what} until {case.when(block.before, ends=True)}"
    start = case.when(block.start)
    return f"{person} is due at {what} {start}, before this would be done ({_done(case)})"


def _busy(case: Case, person: str) -> Iterator[Block]:
    """The times at which so many of a person have other tasks that too few are left."""
    steps = case.network.steps
    here = [(*case.span(j), steps[j].hands[person], partial(_here, case, j))
            for j in case.network.crews[person] if j != case.me]  # fmt: skip
    there = [(hold.start, hold.end, several, partial(case.block_elsewhere, hold))
             for hold, several in case.elsewhere if hold.who == person]  # fmt: skip
    others = [*here, *there]
    moments = sorted({moment for start, finish, *_ in others for moment in (start, finish)})
    for since, until in pairwise(moments):
        by = [each for each in others if each[0] <= since < each[1]]
        hands = sum(several for _, _, several, _ in by)
        if hands + case.task.hands[person] > case.job.people[person].count:
            blocks = [block(since, until) for *_, block in by]
            names = tuple(name for block in blocks for name in block.by)
            yield Block(blocks[0].after, min(b.before for b in blocks), names, since)


def _here(case: Case, other: int, since: int, until: int) -> Block:
    return case.block(other, since, until, since)
