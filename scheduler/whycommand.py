"""``thenwait why``: what holds a task where it is, step by step back."""

from typing import Annotated

import typer

from scheduler.amongjobs import planned_among
from scheduler.console import put, text_width
from scheduler.errands import ForecastFile, in_json
from scheduler.options import AsJson, DayFirst, ForecastPath, JobFile, Now, Others, Outdoor, Width
from scheduler.stopped import no_plan_in_json


@no_plan_in_json
def why(
    job: JobFile,
    task: Annotated[str, typer.Argument(metavar="TASK", help="The task's id in the job file.")],
    others: Others = None,
    as_json: AsJson = False,
    forecast: ForecastPath = None,
    outdoor: Outdoor = False,
    day_first: DayFirst = None,
    now: Now = None,
    width: Width = None,
) -> None:
    """Say why a task starts when the plan has it, and not earlier.

    What held it, what held that, and so on back to the start of the job, or to what is logged; then
    where the time went, and what would move the task first.
    """
    from scheduler.why import account, why_json, why_text

    among = planned_among(job, others, now, ForecastFile(forecast, outdoor, day_first), task)
    found = account(among.job, among.plan, task, among.network)
    put(in_json(why_json(found)) if as_json else why_text(found, text_width(width)))
