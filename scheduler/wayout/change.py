"""A change that somebody could make so that a plan is possible: a pure edit, and what it asks."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from enum import IntEnum
from functools import reduce
from typing import TypeVar

from scheduler.rules import Rule
from scheduler.site import Edit, Site

S = TypeVar("S", bound=Site)
T = TypeVar("T")


class Asks(IntEnum):
    """Who has to agree to a change, the easiest first."""

    OWNER = 0
    OTHERS = 1
    LABEL = 2


@dataclass(frozen=True)
class Change:
    """A change to the jobs of a site.

    Args:
        kind: that of the rule that gives.
        of: what the rule is of: ids of tasks, of a person, a product.
        text: what would have to be done, in words.
        edit: a job with it.
        jobs: the places of the jobs it changes.
        asks: who has to agree.
        share: how large it is, as a share of what it changes.
        note: what it hangs on, in a clause; empty for nothing.
        data: the figures, for programs; times in UTC minutes.
        offered: whether it may be told; false for what is asked only as a first step to less.
        offered: bool = True
    wider: one step more of the same; None where there is none to speak of.
    """

    kind: str
    of: tuple[str, ...]
    text: str
    edit: Edit = field(compare=False)
    jobs: tuple[int, ...] = (0,)
    asks: Asks = Asks.OWNER
    share: float = 0.0
    note: str = ""
    data: Mapping[str, object] = field(default_factory=dict, compare=False)
    offered: bool = True
    wider: "Callable[[], Change] | None" = field(default=None, compare=False)


def changed(site: S, changes: Iterable[Change]) -> S:
    """The site with all changes."""
    return reduce(lambda edited, each: edited.edited(each.edit, each.jobs), changes, site)


@dataclass(frozen=True)
class Way:
    """Changes that together make a plan possible, which was asked.

    ``least`` says that each is the least of its kind that does.
    """

    changes: tuple[Change, ...]
    least: bool = True

    @property
    def rank(self) -> tuple[int, int, float]:
        """The fewest changes first, then those that are had most easily, then the smallest."""
        return (
            len(self.changes),
            max(each.asks for each in self.changes),
            sum(each.share for each in self.changes),
        )


Able = Callable[[Change], bool]
"""Whether there is a plan with a change."""


@dataclass(frozen=True)
class Give:
    """How far a rule could give.

    Args:
        rule: the rule.
        least: the least change that makes a plan possible; None where none does.
        why_not: what to say where none does, in a sentence.
    """

    rule: Rule
    least: Callable[[Able], Change | None] = field(compare=False)
    why_not: str = ""


def least_by(
    amount: Callable[[Callable[[T], bool]], T | None], change: Callable[[T], Change]
) -> Callable[[Able], Change | None]:
    """What finds the least change of one kind, by how much.

    Args:
        amount: finds the least that does; None where none does.
        change: that of an amount.
    """

    def least(able: Able) -> Change | None:
        found = amount(lambda each: able(change(each)))
        return None if found is None else change(found)

    return least
