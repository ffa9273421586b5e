"""What other tasks ask of a start: links, stages, windows of this task and of those that follow."""

from collections.abc import Iterator

from scheduler.hours import NEVER
from scheduler.model import Product
from scheduler.passes import earliest_start, point
from scheduler.ready.case import Case, First, Rule
from scheduler.ready.words import air_words
from scheduler.steps import Arc
from scheduler.windows import anew
from scheduler.wording import READY, duration

_PATIENCE = 10_000  # starts tried for one that a follower can keep up with
_DO = {"start": "start", "finish": "be done"}
_ENDED = {"start": "starts", "finish": "is done"}


def links(case: Case) -> Iterator[Rule]:
    """Every link of the task, and every window that a follower must keep."""
    for arc in case.network.arcs:
        if arc.kind == "window" and arc.before == case.me:
            yield _window(case, arc)
        elif arc.kind == "window" and arc.after == case.me:
            yield _follower(case, arc)
        elif arc.kind in {"room", "dust"}:
            continue  # a closed room speaks for itself
        elif arc.after == case.me and arc.stage is not None:
            yield _stage(case, arc, arc.stage)
        elif arc.after == case.me:
            yield _link(case, arc)


def _opens(case: Case, arc: Arc) -> tuple[int, int]:
    """When a link lets its end of the task happen, and when it so lets the task start."""
    bound = arc.lag.after(case.end(arc.before, arc.of))
    if bound >= NEVER or arc.to == "start":
        return bound, bound
    return bound, case.step.first_start(bound)


def _from(opens: int) -> First:
    return lambda minute: max(minute, opens)


def _margin(case: Case, opens: int) -> str:
    """How long ago, or how far off."""
    if opens == case.at:
        return "at this very minute"
    ago, ahead = duration(case.at - opens), duration(opens - case.at)
    return f"{ago} before" if opens < case.at else f"still {ahead} to go"


def _link(case: Case, arc: Arc) -> Rule:
    bound, opens = _opens(case, arc)
    done = f"{_by_plan(case, arc)}{case.name(arc.before)} {_ENDED[arc.of]}"
    if wait := 0 if arc.link is None else arc.link.wait:
        done = f"{duration(abs(wait))} {'after' if wait > 0 else 'before'} {done}"
    text = f"{done}: {case.when(bound)}, {_margin(case, opens)}"
    if arc.to == "finish":
        text = f"this may not be done before {text}; started then, it is done {_done(case)}"
    return case.rule("link", _from(opens), good=text, bad=text)


def _by_plan(case: Case, arc: Arc) -> str:
    """What has not happened is said to come by the plan, where anything is logged."""
    return "" if case.happened(arc.before, arc.of) else "by the plan, "


def _done(case: Case) -> str:
    return case.when(case.finish, ends=True)


def _stage(case: Case, arc: Arc, stage: str) -> Rule:
    bound, opens = _opens(case, arc)
    product = _applied(case, arc)
    what = f"{_by_plan(case, arc)}{product.id} of {case.name(arc.before)}"
    took = _took(case, arc, product, stage, bound)
    end = " to the end of this task" if arc.to == "finish" else ""
    good = f"{what} is {READY[stage]} since {case.when(bound)}{end}, {_margin(case, opens)}{took}"
    bad = f"{what} is {READY[stage]} only {case.when(bound)}{end}, {_margin(case, opens)}{took}"
    done = case.end(arc.before, "finish")
    if bound >= NEVER:
        air = _air(case, arc, case.network.end)
        bad = f"{what} never gets {READY[stage]} in this air ({air})"
    elif done > case.at:
        bad = f"{case.name(arc.before)} is planned to be done {case.when(done, ends=True)}; {bad}"
    return case.rule("stage", _from(opens), good=good, bad=bad)


def _applied(case: Case, arc: Arc) -> Product:
    product = case.job.product_of(case.network.steps[arc.before].task)
    assert product is not None  # a stage is always that of a product
    return product


def _took(case: Case, arc: Arc, product: Product, stage: str, bound: int) -> str:
    """How long the wait is, in what air, and what it is at the label's own conditions."""
    if bound >= NEVER:
        return ""
    took, stated = bound - case.end(arc.before, "finish"), product.stage(stage)
    said = "label" if stated.basis == "owner's label" else "catalogue"
    air = _air(case, arc, bound)
    return f" ({duration(took)} at {air}; {said} {duration(stated.minutes)})"


def _air(case: Case, arc: Arc, until: int) -> str:
    """The air in which something waits."""
    air = case.job.air_of(case.network.steps[arc.before].task.room)
    return air_words(case.job, air, case.end(arc.before, "finish"), until)


def _window(case: Case, arc: Arc) -> Rule:
    """The window behind another task, in which this one must start."""
    closes = arc.lag.before(case.end(arc.after, arc.to))
    last = case.last_start(arc.of, closes)
    since = f"{_within(arc)} after {case.name(arc.after)} {_ENDED[arc.to]}"
    good = f"must {_DO[arc.of]} by {case.when(closes)}, {since}: {duration(last - case.at)} to go"
    bad = f"too late: the window closed {case.when(closes)}, {since}"
    if arc.of == "finish":
        bad = f"too late: must be done by {case.when(closes)}, {since}, and would be {_done(case)}"
    bad += _missed(case, arc)
    return case.rule("window", lambda s: s if s <= last else NEVER, good=good, bad=bad, until=last)


def _within(arc: Arc) -> str:
    return duration(-arc.lag.after(0))


def _missed(case: Case, arc: Arc) -> str:
    """What the product's class says to do when its window was missed, and how that is told."""
    task = case.network.steps[arc.after].task
    product = case.job.product_of(task)
    says = product.on_missed_window if product and arc.stage else ""
    if not says:
        return ""
    logged = case.job.past is not None and case.happened(arc.after, arc.to)
    return f". {says} {anew(task.id)}" if logged else f". {says}"


def _follower(case: Case, arc: Arc) -> Rule:
    """The window behind this task, in which another must be able to start.

    Certain is only what that task's own hours and air say; where the plan has it is a caution.
    """
    forth = _forth(case, arc)
    follows, closes = _keeps_up(case, arc, forth, case.at)
    by = f"{case.name(arc.before)} must {_DO[arc.of]} by {case.when(closes)}"
    by += f", within {_within(arc)} of this"
    planned = case.end(arc.before, arc.of)
    move = (
        "" if follows <= planned <= closes else f"; the plan has it {case.when(planned)}: move it"
    )
    return case.rule(
        "window",
        lambda s: _first_kept_up(case, arc, forth, s),
        good=f"then {by}{move}",
        bad=f"{by}, but cannot before {case.when(follows)}",
        until=closes,
    )


def _forth(case: Case, back: Arc) -> Arc:
    """The link of which an arc is the window."""
    return next(
        arc
        for arc in case.network.arcs
        if arc.link is back.link and (arc.before, arc.after) == (back.after, back.before)
    )


def _keeps_up(case: Case, back: Arc, forth: Arc, start: int) -> tuple[int, int]:
    """When a follower's end comes at the earliest by its own hours, and when it must."""
    step = case.network.steps[back.before]
    since = point(case.step, back.to, start)
    first = max(
        earliest_start(step, forth.to, forth.lag.after(since)),
        step.first(step.task.not_before or case.job.start),
    )
    return (point(step, forth.to, first) if first < NEVER else NEVER), back.lag.before(since)


def _first_kept_up(case: Case, back: Arc, forth: Arc, start: int) -> int:
    """The first start with which the follower can keep its window."""
    for _ in range(_PATIENCE):
        if start >= NEVER:
            break
        follows, closes = _keeps_up(case, back, forth, start)
        if follows <= closes:
            return start
        start = earliest_start(case.step, back.to, back.lag.after(follows))
    return NEVER
