"""How sure a finish is, as plain text."""

from collections.abc import Iterator

from scheduler.layout import Entry, Section, laid_out
from scheduler.model import Job
from scheduler.odds.luck import failures_of
from scheduler.odds.outlook import Missed, Outlook, Spread, points_of
from scheduler.oddsfile import odds
from scheduler.wording import counted, duration, glued, in_quotes, moment, tidy, title

_LEAST_WIDTH = 20  # columns
_MOST_TASKS, _MOST_SOURCES = 12, 8
_OFTEN = 0.05  # runs in which a task was critical, to be told


def outlook_text(job: Job, found: Outlook, width: int) -> str:
    """The answer as text of at most ``width`` columns, times in the job's zone."""
    show = _Show(job, found)
    sections = (
        Section(f"{tidy(job.name)}: how sure is the finish", (*show.finish(),)),
        Section("WHAT THE FINISH HANGS ON", (*show.spread(),)),
        Section("MOST OFTEN CRITICAL", (*show.critical(),)),
        Section("WINDOWS THAT MAY BE MISSED", (*show.missed(),)),
        Section("DATES THAT MAY BE MISSED", (*show.late(),)),
        Section("HOW FAR TO TRUST THIS", (*show.caution(),)),
    )
    return laid_out((s for s in sections if s.entries), max(width, _LEAST_WIDTH))


def percent(share: float) -> str:
    """A share in per cent, glued; never 0 or 100 where it is not quite that."""
    if 0 < share < 0.01:
        return glued("under 1 %")
    if 0.99 < share < 1:
        return glued("over 99 %")
    return glued(f"{round(share * 100)} %")


class _Show:
    """Words for the parts of the answer."""

    def __init__(self, job: Job, found: Outlook) -> None:
        self.job, self.found = job, found

    def finish(self) -> Iterator[Entry]:
        """By when it is done, how surely."""
        for chance, minute in self.found.finish.items():
            when = "no date: too many runs never end" if minute is None else self._when(minute)
            yield Entry(glued(f"{chance} %"), f"done by {when}")
        in_plan = percent(self.found.in_plan)
        yield Entry("the plan", f"{self._when(self.found.planned)}: {in_plan} are done by then")
        if self.found.finish_by is not None and self.found.in_time is not None:
            words = f"{self._when(self.found.finish_by)}: {percent(self.found.in_time)} are in time"
            yield Entry("finish_by", words)
        if self.found.never:
            never = percent(self.found.never)
            yield Entry("!", f"{never} never end: no hours are left, or something never gets ready")

    def spread(self) -> Iterator[Entry]:
        """What makes the finish early or late."""
        for each in self.found.spread[:_MOST_SOURCES]:
            yield Entry(percent(each.share), self._source(each))
        if self.found.spread:
            yield Entry("", "How much of the spread of the finish goes with each.")

    def _source(self, each: Spread) -> str:
        source = each.source
        if source.kind == "work":
            low, mode, high = map(duration, points_of(self.job, source.of, odds()))
            return f"how long {self._name(source.of)} takes: {low} to {high}, usually {mode}"
        if source.kind == "hold":
            fails, redo = failures_of(self.job, self.job.task[source.of], odds())
            return (
                f"whether {self._name(source.of)} is passed: {percent(fails)} fail and cost"
                f" {duration(redo)} at least"
            )
        if source.kind == "air":
            return f"the air of {source.of or 'the job'}: it strays from what the file says"
        return f"how fast {source.of} really is, beside its label"

    def critical(self) -> Iterator[Entry]:
        """Tasks whose delay was the job's, in so many runs."""
        told = [c for c in self.found.critical if c.share >= _OFTEN]
        for each in told[:_MOST_TASKS]:
            yield Entry(percent(each.share), title(self.job.task[each.task]))
        if len(told) > _MOST_TASKS:
            more = counted(len(told) - _MOST_TASKS, "more task")
            least = percent(told[-1].share)
            yield Entry("", f"and {more} down to {least}; all of them are in the JSON.")

    def missed(self) -> Iterator[Entry]:
        """Windows that close in some of the runs."""
        for each in self.found.missed:
            yield Entry(percent(each.share), self._missed(each))
        if self.found.missed:
            yield Entry(
                "",
                "That is if nobody plans anew: before the earlier task, look whether the later one"
                " can follow in time, and else put it off.",
            )

    def _missed(self, each: Missed) -> str:
        product = self.job.product_of(self.job.task[each.after])
        what = f"{self._name(each.task)} within {duration(each.within)} of"
        says = product.on_missed_window if product else ""
        first = tidy(says).split(". ", 1)[0].rstrip(".")
        return f"{what} {self._name(each.after)}" + (f". If missed: {first}" if first else "")

    def late(self) -> Iterator[Entry]:
        """Dates by which a task must be finished, and in some of the runs is not."""
        for each in self.found.late:
            yield Entry(
                percent(each.share), f"{self._name(each.task)} finished by {self._when(each.by)}"
            )

    def caution(self) -> Iterator[Entry]:
        """What stands behind the figures."""
        runs = f"{self.found.runs:,}".replace(",", glued(" "))
        yield Entry(
            "",
            f"{runs} runs of the plan, each with other luck (seed {self.found.seed}), crews in the"
            " order of the plan. How far work, air, products and tests stray is assumed where the"
            " file doesn't say: nobody publishes it. Take the figures as an order of magnitude.",
        )
        yield Entry(
            "",
            "Not in it: illness, a trade that doesn't come, wrong deliveries, what is found behind"
            " the wall. Better figures of your own: work: 3 h..4 h..7 h, and fails: 5 % and"
            " redo: 2 d of a hold point.",
        )

    def _when(self, minute: int) -> str:
        return moment(minute, self.job.timezone, ends=True)

    def _name(self, task: str) -> str:
        return in_quotes(self.job.task[task])
