"""``thenwait odds``: how sure the finish is."""

from typing import Annotated

import typer

from scheduler.amongjobs import planned_among
from scheduler.console import counting, put, tell, text_width
from scheduler.errands import ForecastFile, in_json
from scheduler.options import AsJson, DayFirst, ForecastPath, JobFile, Now, Others, Outdoor, Width
from scheduler.stopped import no_plan_in_json

MOST = 100_000
"""Runs: more say nothing that these don't, and fill the memory."""


@no_plan_in_json
def odds(
    job: JobFile,
    samples: Annotated[
        int, typer.Option(metavar="N", min=100, max=MOST, help="How many runs to make.")
    ] = 10_000,
    seed: Annotated[
        int, typer.Option(metavar="N", min=0, help="Another number is other luck.")
    ] = 1,
    others: Others = None,
    as_json: AsJson = False,
    forecast: ForecastPath = None,
    outdoor: Outdoor = False,
    day_first: DayFirst = None,
    now: Now = None,
    width: Width = None,
) -> None:
    """How sure the finish is: when the job is done in 10, 50, 80 and 95 of 100 runs, and why.

    The plan is run thousands of times. Each time the work takes its own time, the air strays, the
    products dry as they do and tests fail now and then.
    """
    from scheduler.odds import outlook, outlook_json, outlook_text
    from scheduler.ways import as_planned

    among = planned_among(job, others, now, ForecastFile(forecast, outdoor, day_first))
    made = among.plan
    read = as_planned(among.job, made)
    if others:
        tell("the other jobs are taken to go as planned")
    found = outlook(among.network, made, samples, seed, progressed=counting("runs"))
    put(in_json(outlook_json(read, found)) if as_json
        else outlook_text(read, found, text_width(width)))  # fmt: skip
