"""The ways out of a conflict: each rule of it as far as it has to give, asked one by one."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from scheduler.clock import DAY
from scheduler.conflict import Answer, Conflict, conflict
from scheduler.model import Job
from scheduler.rules import Rule
from scheduler.site import Site
from scheduler.wayout.asking import Asker, Purse, Spent, spans_of
from scheduler.wayout.change import Asks, Change, Give, Way, changed
from scheduler.wayout.dates import in_parts, later_date, shorter_wait, sooner_date, wider_window
from scheduler.wayout.hours import more_hours, sooner_visits
from scheduler.wayout.people import (
    fewer_together,
    more_hands,
    more_visits,
    shorter_visits,
    there_after_all,
)
from scheduler.wayout.rooms import better_air, faster_stage, less_dust, open_sooner
from scheduler.wayout.who import Times

_MOST = 6_000
"""Tasks that may be placed in all, in plans that are asked for: some seconds."""

_WEEK = 7 * DAY

_DEEP = 3  # conflicts one after the other
_TRIED = 2  # changes that mend one conflict, with which the next one is looked at

_BY_RULE: Mapping[str, Callable[[Rule, Job], Give]] = {
    "must finish by": later_date,
    "not before": sooner_date,
    "within": wider_window,
    "wait": shorter_wait,
    "one go": in_parts,
    "visits of": shorter_visits,
    "notice": sooner_visits,
    "people": more_hands,
    "at most": more_visits,
    "together": fewer_together,
    "limits": better_air,
    "stage": faster_stage,
    "closed": open_sooner,
    "dust": less_dust,
}

_BY_PERSON: Mapping[str, Callable[[Rule, Job, Times], Give]] = {
    "hours": more_hours,
    "away": there_after_all,
}


@dataclass(frozen=True)
class Stuck:
    """A rule of which nothing comes, and why, in a sentence.

    ``why`` is empty where other rules cannot all be kept even without it.
    """

    rule: Rule
    why: str


@dataclass(frozen=True)
class WaysOut:
    """What would make a plan possible, the best first.

    ``stuck`` are the rules of the conflict of which nothing comes. ``all_tried`` is false where the
    search stopped before the end: there may be less that does, or more ways. ``then`` are the rules
    that cannot all be kept either, where one change is not enough.
    """

    ways: tuple[Way, ...] = ()
    stuck: tuple[Stuck, ...] = ()
    all_tried: bool = True
    then: tuple[Rule, ...] = ()


def ways_out(site: Site, found: Conflict, most: int = _MOST) -> WaysOut:
    """The ways out of a conflict, each asked: there is a plan with it.

    Args:
        site: what has no plan.
        found: rules of it that cannot all hold.
        most: what may be spent, in tasks placed in plans that are asked for.
    """
    return _ways_out(site, found, Purse(most), _DEEP)


def _ways_out(site: Site, found: Conflict, purse: Purse, deep: int) -> WaysOut:
    one = _Conflict(site, found, purse).ways()
    if one.ways or not found.rules or deep <= 1:
        return one
    if len(found.part) == len(site.tasks()):
        return one
    together = _one_by_one(site, found, purse, deep)
    return replace(together, all_tried=one.all_tried and together.all_tried)


def _one_by_one(site: Site, found: Conflict, purse: Purse, deep: int) -> WaysOut:
    """Where another conflict is left whatever gives of this one: changes for each of them.

    Where nothing comes of that, it is told of the first of them that stands in the way.
    """
    half = Purse(purse.left // 2)
    purse.left -= half.left
    first = _Conflict(site.part(found.part), found, half).ways()
    purse.left += half.left
    tried, none = first.all_tried, replace(first, ways=())
    for n, way in enumerate(first.ways[:_TRIED]):
        after = changed(site, way.changes)
        again = conflict(after)
        rest = _ways_out(after, again, purse, deep - 1)
        tried, then = tried and rest.all_tried, (*again.rules, *rest.then)
        if rest.ways:
            ways = [Way((*way.changes, *more.changes), way.least and more.least)
                    for more in rest.ways]  # fmt: skip
            return WaysOut(tuple(sorted(ways, key=lambda way: way.rank)), (), tried, then)
        if n == 0:
            none = replace(none, stuck=rest.stuck, then=then)
    return replace(none, all_tried=tried)


class _Conflict:
    """One conflict of a site, each rule of which may give."""

    def __init__(self, site: Site, found: Conflict, purse: Purse) -> None:
        self.site, self.found = site, found
        self.asker = Asker(site, found.part, purse)
        self.all_tried = True
        self.freed: Mapping[Rule, Times] = {}

    def ways(self) -> WaysOut:
        """The ways out, a rule each, and the rules of which nothing comes."""
        ways: list[Way] = []
        stuck: list[Stuck] = []
        self.freed = self._without_each()
        left = len(self.freed)
        for rule in self.found.rules:
            with self.asker.spending(1 / max(left, 1)):
                found = self._of(rule)
            left -= rule in self.freed
            if isinstance(found, Way):
                ways.append(found)
            else:
                stuck.append(found)
        ways.sort(key=lambda way: way.rank)
        return WaysOut(tuple(ways), tuple(stuck), self.all_tried)

    def _of(self, rule: Rule) -> Way | Stuck:
        """What a rule has to give, or why nothing comes of it."""
        asked = _Asked(self.asker)
        try:
            if rule not in self.freed:
                return Stuck(rule, "")
            give = self._give(rule)
            change = give.least(asked.able)
            if change is not None:
                change = self._worth(change)
        except Spent:
            self.all_tried = False
            if asked.last is None:
                return Stuck(rule, "")
            return Way((self._told(asked.last),), least=False)
        if change is None:
            return Stuck(rule, self.site.named(give.why_not, rule.jobs))
        return Way((self._told(change),))

    def _told(self, change: Change) -> Change:
        return replace(change, text=self.site.named(change.text, change.jobs))

    def _worth(self, change: Change) -> Change:
        """The change, or one step more where that alone makes it weeks sooner.

        So a window that is an hour shorter over the one week with a clock change is not told.
        """
        more = change.wider() if change.wider is not None else None
        if more is None:
            return change
        gain = self.asker.finish(change) - self.asker.finish(more)
        return more if gain > _WEEK else change

    def _give(self, rule: Rule) -> Give:
        job = self.site.jobs[rule.jobs[0]]
        if rule.kind in _BY_PERSON:
            return _BY_PERSON[rule.kind](rule, job, self._around(rule))
        return _BY_RULE.get(rule.kind, _lifted)(rule, job)

    def _without_each(self) -> Mapping[Rule, Times]:
        """The rules without which there is a plan, and the times of the tasks in one."""
        plans = ((rule, self._without(rule)) for rule in self.found.rules)
        return {rule: spans_of(answer) for rule, answer in plans if answer.able is True}

    def _without(self, rule: Rule) -> Answer:
        try:
            return self.asker.plan(self.site.without(rule))
        except Spent:
            self.all_tried = False
            return Answer(None)

    def _around(self, rule: Rule) -> Times:
        """When the tasks in conflict are, in a plan with their people's hours as they are."""
        others = (each for each in self.freed if each.kind not in _BY_PERSON)
        times = self.freed[next(others, rule)]
        return {task: times[task] for task in self.found.part}


class _Asked:
    """Remembers the last change with which there was a plan, of those that may be offered."""

    def __init__(self, asker: Asker) -> None:
        self.asker = asker
        self.last: Change | None = None

    def able(self, change: Change) -> bool:
        """Whether there is a plan with a change."""
        able = self.asker.able(change)
        if able and change.offered:
            self.last = change
        return able


def _lifted(rule: Rule, job: Job) -> Give:
    """A rule given up altogether."""
    text = f"{rule.way_out}, without this rule: {rule.text}"
    change = Change(rule.kind, rule.of, text, rule.lift, rule.jobs, Asks.OTHERS, 1.0)
    return Give(
        rule, lambda able: change if able(change) else None, f"Not enough: {rule.way_out}."
    )  # fmt: skip
