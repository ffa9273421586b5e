"""From a job to its plan: compile, solve, tell; or say which rules can't all hold."""

from dataclasses import replace

from scheduler.anyplan import Unsolved
from scheduler.conflict import NoPlan, conflict
from scheduler.model import Job, Plan
from scheduler.network import networks
from scheduler.plan import make_plan
from scheduler.shopping.stock import stock_warnings
from scheduler.solve import NORMAL, Effort, solve


def plan_job(job: Job, effort: Effort = NORMAL) -> Plan:
    """The best plan of a job.

    Raises:
        NoPlan: no plan can exist, with the rules that can't all hold.
    """
    for network in networks(job):
        try:
            plan = make_plan(network, solve(network, effort))
        except Unsolved as unsolved:
            if unsolved.final:
                break
            continue
        return replace(plan, warnings=(*plan.warnings, *stock_warnings(job, plan)))
    raise NoPlan(conflict(job))
