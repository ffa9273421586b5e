"""``thenwait faster``: what would bring the finish forward."""

from scheduler.amongjobs import tell_unseen
from scheduler.console import counting, put, text_width
from scheduler.errands import in_json, job_now
from scheduler.options import AsJson, JobFile, Now, Width
from scheduler.stopped import no_plan_in_json


@no_plan_in_json
def faster(job: JobFile, as_json: AsJson = False, now: Now = None, width: Width = None) -> None:
    """Try what would bring the finish forward, alone and in pairs, ranked by the time it wins.

    Warmer or drier air, rapid products, more hours or hands, a day off, an absence given up, dates
    moved; with the cost where prices are known, and why some of it wins nothing.
    """
    from scheduler.faster import faster as tried
    from scheduler.faster import faster_json, faster_text

    read, _ = job_now(job, now)
    tell_unseen(read, "; plan them together to know")
    found = tried(read, counting("tried"))
    put(in_json(faster_json(read, found)) if as_json
        else faster_text(read, found, text_width(width)))  # fmt: skip
