"""How good a plan is by each of its goals, and how far that is proven."""

from collections.abc import Iterator

from scheduler.goals import LATER
from scheduler.layout import Entry
from scheduler.model import Plan, Prefer
from scheduler.wording import counted, dated, duration, moment

_PREFERRED: dict[Prefer, str] = {
    "fewest-days-without": "with so few days without",
    "fewest-visits": "with so few visits",
}


def finish_proof(plan: Plan) -> str:
    """Whether the finish is the earliest, and what it costs where something else is preferred."""
    like = f" {_PREFERRED[plan.prefer]}" if plan.prefer in _PREFERRED else ""
    if plan.proven_earliest:
        text = f"Proven: no plan{like} finishes earlier."
    else:
        bound, gap = moment(plan.finish_bound, plan.timezone), plan.finish - plan.finish_bound
        could = f"a better plan could gain {duration(gap)} at most ({bound})"
        text = f"Not proven the earliest{like}: {could}."
    if plan.soonest is None or plan.soonest >= plan.finish:
        return text
    soonest, gap = moment(plan.soonest, plan.timezone, ends=True), plan.finish - plan.soonest
    return f"{text} Made for an early finish, it would be done {soonest}, {duration(gap)} earlier."


def visits_proof(plan: Plan) -> str:
    """Whether the visits are the fewest."""
    among = "at this finish"
    if plan.prefer == "fewest-visits":
        among = _done_by(plan)
    elif plan.prefer == "fewest-days-without":
        among += f" {_PREFERRED[plan.prefer]}"
    return _fewest(plan.visits, plan.visits_bound, among)


def without(plan: Plan) -> Iterator[Entry]:
    """What the household does without, when, and whether the days of it are the fewest."""
    *most, last = days_without(plan) or [""]
    yield from (Entry("without", text) for text in most)
    if last:
        yield Entry("without", last, (_without_proof(plan),))


def days_without(plan: Plan) -> list[str]:
    """What the household does without, and when."""
    zone = plan.timezone
    return [
        f"{counted(each.days, 'day')} without the {each.of}: {dated(each.start, zone)} to"
        f" {dated(each.end, zone, ends=True)}"
        for each in plan.days_without
    ]


def _without_proof(plan: Plan) -> str:
    days = sum(each.days for each in plan.days_without)
    first = plan.prefer == "fewest-days-without"
    among = _done_by(plan) if first else "at this finish with so few visits"
    text = _fewest(days, plan.days_without_bound, among)
    return text if len(plan.days_without) == 1 else f"{counted(days, 'day')} together. {text}"


def _done_by(plan: Plan) -> str:
    assert plan.soonest is not None  # something comes before the finish
    return f"of all plans done by {moment(plan.soonest + LATER, plan.timezone, ends=True)}"


def _fewest(number: int, bound: int, among: str) -> str:
    if bound == number:
        return f"The fewest possible {among}."
    return f"{among[0].upper()}{among[1:]} {bound} at least."
