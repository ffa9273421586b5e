"""Whether a change makes a plan possible: asked of the part in conflict first, then of the whole.

Each answer costs about as much as there are tasks to place, and in all no more is spent than a
person waits for.
"""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from scheduler.conflict import Answer, planned
from scheduler.hours import NEVER
from scheduler.passes import finish_of
from scheduler.site import Site
from scheduler.solve import NORMAL
from scheduler.wayout.change import Change, changed

_TRIES = 8
"""Orders tried for a plan; the plan that is made later tries more of them."""

_DEAR = 10
"""How much more a whole costs that has to be proven without a plan."""


class Spent(Exception):
    """No more is asked."""


@dataclass
class Purse:
    """What may still be spent, in tasks placed."""

    left: int

    def pay(self, tasks: int) -> None:
        """Spend some.

        Raises:
            Spent: there is nothing left.
        """
        if self.left <= 0:
            raise Spent
        self.left -= tasks


class Asker:
    """Whether a site has a plan with changes.

    Args:
        site: the site, which has none as it is.
        part: the tasks that have none even by themselves.
        purse: what may be spent on it.
    """

    def __init__(self, site: Site, part: Iterable[str], purse: Purse) -> None:
        self.site, self.part, self.purse = site, frozenset(part), purse
        self.size = len(site.tasks())

    @contextmanager
    def spending(self, share: float) -> Iterator[None]:
        """Spend a share of the purse at most."""
        whole, part = self.purse, Purse(round(self.purse.left * share))
        given, self.purse = part.left, part
        try:
            yield
        finally:
            whole.left -= given - part.left
            self.purse = whole

    def able(self, *changes: Change) -> bool:
        """Whether there is a plan of the whole."""
        site = changed(self.site, changes)
        return self._near(site) and self.plan(site).able is True

    def _near(self, site: Site) -> bool:
        self.purse.pay(len(self.part))
        return len(self.part) == self.size or _planned(site.part(self.part)).able is True

    def finish(self, change: Change) -> int:
        """The finish of some plan with a change; ``NEVER`` where there is none."""
        answer = self.plan(changed(self.site, [change]))
        return NEVER if answer.plan is None else finish_of(*answer.plan)

    def plan(self, site: Site) -> Answer:
        """A plan of an edited site, if there is one."""
        self.purse.pay(self.size)
        answer = _planned(site)
        if answer.able is not True:
            self.purse.left -= (_DEAR - 1) * self.size
        return answer


def _planned(site: Site) -> Answer:
    return planned(site, _TRIES, NORMAL.finish)


def spans_of(answer: Answer) -> dict[str, tuple[int, int]]:
    """The start and the finish of each task in an answer, by its id in the network."""
    assert answer.plan is not None  # the caller looked
    return {
        step.task.id: (start, step.finish(start))
        for step, start in zip(answer.plan.network.steps, answer.plan.starts, strict=True)
    }
