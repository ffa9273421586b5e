"""A verdict as plain text: the answer first, then what speaks against it, then the rest."""

from collections.abc import Iterator

from scheduler.clock import day_of
from scheduler.layout import Entry, Section, laid_out
from scheduler.model import Job
from scheduler.odds.text import percent
from scheduler.ready.verdict import Finding, Verdict
from scheduler.wording import GLUE, glued, moment, title

_OF_THEIR_OWN = {"hold": "until passed", "log": "already", "skipped": "until logged"}
_LEAST_WIDTH = 20  # columns; narrower than the longest date no text can be


def verdict_text(job: Job, verdict: Verdict, width: int) -> str:
    """The verdict for a person on site, who may read no further than the first word.

    Args:
        job: the job.
        verdict: on one of its tasks.
        width: columns; as ``text.plan_text``.

    Returns:
        ``YES``, or ``NOT YET`` where a later start can do, or ``NO`` where none can; then each
        rule, those that forbid it first; the earliest start; what to check on site.
    """
    sections = (
        Section(f"{_word(verdict)}: {title(job.task[verdict.task])}", (*_top(verdict),)),
        Section("WHY NOT", tuple(_against(verdict))),
        Section("WHAT HOLDS", tuple(Entry("ok", f.text) for f in verdict.findings if f.ok)),
        Section("CHECK ON SITE", tuple(Entry("", text) for text in verdict.check_on_site)),
    )
    return laid_out((s for s in sections if s.entries), max(width, _LEAST_WIDTH))


def _word(verdict: Verdict) -> str:
    if verdict.yes:
        return "YES"
    return "NO" if verdict.earliest is None else "NOT YET"


def _top(verdict: Verdict) -> Iterator[Entry]:
    yield Entry("asked for", _date(verdict, verdict.at))
    kinds = {finding.kind for finding in verdict.findings if not finding.ok}
    if "log" in kinds:
        return
    if verdict.earliest is not None and "hold" in kinds:
        yield Entry("earliest", f"{_date(verdict, verdict.earliest)}, if passed by then")
    elif verdict.earliest is not None and "skipped" in kinds:
        yield Entry("earliest", f"{_date(verdict, verdict.earliest)}, if logged by then")
    elif verdict.earliest is None:
        yield Entry("earliest", "never, as the plan stands")
    elif not verdict.yes:
        yield Entry("earliest", _date(verdict, verdict.earliest))
    if verdict.chance is not None:
        sure = [f"{chance}{GLUE}%: {_start(verdict, minute)}"
                for chance, minute in verdict.chance.earliest.items()]  # fmt: skip
        yield Entry(
            "how sure", f"{percent(verdict.chance.at_that_time)} ready at that time", tuple(sure)
        )


def _start(verdict: Verdict, minute: int | None) -> str:
    return "never, as the plan stands" if minute is None else f"from {_date(verdict, minute)}"


def _date(verdict: Verdict, minute: int) -> str:
    return moment(minute, verdict.timezone)


def _against(verdict: Verdict) -> Iterator[Entry]:
    for finding in verdict.findings:
        if not finding.ok:
            yield Entry(_until(verdict, finding), finding.text)


def _until(verdict: Verdict, finding: Finding) -> str:
    """Until when a rule forbids the start, where the others would let it pass."""
    if finding.kind in _OF_THEIR_OWN:
        return _OF_THEIR_OWN[finding.kind]
    if finding.until is None:
        return "for good"
    zone = verdict.timezone
    return glued(f"until {moment(finding.until, zone, day_of(verdict.at, zone))}")
