"""An independent check of a plan against the rules.

Every rule is one small function that looks at a plan laid beside its job and tells what breaks it.
This module and those beside it share no code with what makes plans: of the whole package they
import the nouns alone, and they work out local time, hours, air and waits in their own way. A rule
misunderstood in one place shows in the other.

Labels, standards, windows, hours, people and rooms are judged to the minute; only a wait that is
integrated over the air has a tolerance (``stages.TOLERANCE``).
"""

from collections.abc import Iterable

from scheduler.model import Job, Plan
from scheduler.verify import alone, begun, between, claims, trades, waits, windows, working
from scheduler.verify.case import Breach, Case
from scheduler.verify.choices import as_made, check_choices

PLACING = (
    *alone.RULES,
    *begun.RULES,
    *working.RULES,
    *trades.RULES,
    *between.RULES,
    *windows.RULES,
)
"""The rules about where tasks are placed."""

CLAIMS = (*waits.RULES, *claims.RULES)
"""The rules about what a plan says of itself."""


def check(job: Job, plan: Plan, beside: Iterable[tuple[Job, Plan]] = ()) -> tuple[Breach, ...]:
    """Everything in a plan that breaks a rule; empty for a plan that keeps them all.

    Args:
        job: a job that validates.
        plan: any plan, also one that makes no sense.
        beside: the jobs that were planned together with it, with their plans; itself may be there.

    Returns:
        The breaches, grouped by rule, tasks in the order of the file.
    """
    others = tuple(Case(as_made(other, made), made) for other, made in beside if made is not plan)
    case = Case(as_made(job, plan), plan, beside=others)
    found = (breach for rule in (*PLACING, *CLAIMS) for breach in rule(case))
    return (*check_choices(job, plan), *found)
