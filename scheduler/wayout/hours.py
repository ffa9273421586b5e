"""The least hours that somebody would have to add, by the pattern of those they have."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import partial

from scheduler.clock import DAY, HOUR, day_end, day_of, day_start, to_local, to_minute
from scheduler.faster.figures import figures
from scheduler.faster.hours import comes_by_day
from scheduler.faster.who import with_person
from scheduler.hours import Spans, hours_of, intersect, spans, subtract, wall_minute
from scheduler.model import Dated, Job, Person, Weekly
from scheduler.network import asked_at
from scheduler.rules import Rule
from scheduler.wayout.added import singles, thinned
from scheduler.wayout.change import Able, Asks, Change, Give
from scheduler.wayout.steps import QUARTER, least_step
from scheduler.wayout.who import Times, asked, of_week, on_weekday, run_of_days, usual_week
from scheduler.wording import WEEKDAYS, day, duration, glued, listed, time_of_day

_EVENING = Weekly(frozenset(range(5)), 18 * HOUR, 21 * HOUR)
"""What somebody who comes at weekends might add on weekdays: common practice, no source."""

_DAYTIME = Weekly(frozenset(range(7)), 7 * HOUR, 21 * HOUR)
"""When work can be heard by neighbours: common practice, no source."""

_SINGLES = 3  # hours that do by themselves, of which the shortest are told
_SEVERAL = 6  # times of somebody that are told, at most

Line = Dated | Weekly


@dataclass(frozen=True)
class _Hours:
    """What may be added to the hours of a person in a job, and how it is told.

    Hours that are not ``usual`` are off other work, where others may have to agree.
    """

    rule: Rule
    job: Job
    person: Person
    usual: bool = True

    def change(self, lines: Sequence[Line]) -> Change:
        """The job with more hours; those of every week count as four."""
        added = sum((line.end - line.start) * _times(line) for line in lines)
        asks = asked(self.person) if self.usual else Asks.OTHERS
        return Change(
            self.rule.kind, self.rule.of, f"add hours for {self.person.id} on {_told(lines)}",
            partial(_with_hours, who=self.person.id, added=tuple(lines)), self.rule.jobs,
            asks, added / max(usual_week(self.person), HOUR),
            "ask whether that can be had" if asks else "", self._data(lines),
            offered=len(lines) <= _SEVERAL,
        )  # fmt: skip

    def _data(self, lines: Sequence[Line]) -> dict[str, object]:
        once = [self.span(line) for line in lines if isinstance(line, Dated)]
        weekly = [_line(line) for line in lines if isinstance(line, Weekly)]
        return {"spans_at": once, "weekly": weekly}

    def span(self, line: Dated) -> tuple[int, int]:
        """The UTC minutes of hours."""
        zone = self.job.timezone
        return wall_minute(line.day, line.start, zone), wall_minute(line.day, line.end, zone)

    def dated(self, days: Sequence[date], usual: Sequence[Weekly]) -> list[Dated]:
        """The times of some days that are free to be added, by hours that would be usual."""
        return [line for on in days for line in self._free(on, usual)]

    def _free(self, on: date, usual: Sequence[Weekly]) -> Iterator[Dated]:
        zone, start = self.job.timezone, day_start(on, self.job.timezone)
        lines = (Dated(on, w.start, w.end) for w in usual if on.weekday() in w.days)
        wanted = spans(map(self.span, lines))
        away = ((to_minute(a.start, zone), to_minute(a.end, zone)) for a in self.person.away)
        taken = spans([*self._there(on), (start, self.job.now), *away])
        yield from self._lines(on, subtract(wanted, taken))

    def _lines(self, on: date, hours: Spans) -> Iterator[Dated]:
        """Spans of a day as people write them, no earlier than the next quarter of an hour."""
        zone, end = self.job.timezone, day_end(on, self.job.timezone)
        for a, b in hours:
            first = -(-_wall(a, zone) // QUARTER) * QUARTER if a == self.job.now else _wall(a, zone)
            last = DAY if b == end else _wall(b, zone)
            if last - first >= QUARTER:
                yield Dated(on, first, last)

    def _there(self, on: date) -> Spans:
        zone = self.job.timezone
        return hours_of(self.person, zone, day_start(on, zone), day_end(on, zone))

    def weekly(self, usual: Sequence[Weekly]) -> list[Weekly]:
        """The times of each weekday that are free to be added every week, usual days first."""
        there = {weekday: on_weekday(weekday, of_week(self.person)) for weekday in range(7)}
        return [
            Weekly(frozenset({weekday}), a, b)
            for weekday in sorted(there, key=lambda weekday: not there[weekday].total)
            for a, b in subtract(on_weekday(weekday, usual), there[weekday])
        ]

    def shortened(self, able: Able, lines: tuple[Line, ...]) -> tuple[Line, ...]:
        """The times as short as they may be, the last first; first where no other hours follow."""
        for n in reversed(range(len(lines))):
            ends = [_from_start, _from_end]
            for shorter in reversed(ends) if self._followed(lines[n]) else ends:
                lines = self._shorter(able, lines, n, shorter)
        return lines

    def _followed(self, line: Line) -> bool:
        """Whether other hours go on from times."""
        if isinstance(line, Weekly):
            return line.end in on_weekday(min(line.days), of_week(self.person))
        return self.span(line)[1] in self._there(line.day)

    def _shorter(
        self,
        able: Able,
        lines: tuple[Line, ...],
        n: int,
        shorter: Callable[[Line, int], Line],
    ) -> tuple[Line, ...]:
        def quarters(k: int) -> tuple[Line, ...]:
            return *lines[:n], shorter(lines[n], least + (k - 1) * QUARTER), *lines[n + 1 :]

        least = HOUR if isinstance(lines[n], Weekly) else QUARTER
        most = (lines[n].end - lines[n].start - least) // QUARTER
        if most < 1:
            return lines
        found = least_step(lambda k: able(self.change(quarters(k))), most)
        return lines if found is None else quarters(found)


def more_hours(rule: Rule, job: Job, around: Times) -> Give:
    """The least hours to add, by the pattern of those that somebody has."""
    own = _Hours(rule, job, job.people[rule.of[0]])
    hours = f"{time_of_day(_DAYTIME.start)} to {time_of_day(_DAYTIME.end)}"
    return Give(
        rule, lambda able: next(_hours(own, around, able), None),
        f"Not even hours of {own.person.id} from {hours} on every day would be enough.",
    )  # fmt: skip


@dataclass(frozen=True)
class _Visits(_Hours):
    """Times of somebody who wants notice, to be booked all the same."""

    def change(self, lines: Sequence[Line]) -> Change:
        """The job with visits booked; the sooner the first of them is, the more it asks."""
        dated = tuple(line for line in lines if isinstance(line, Dated))
        start = min(self.span(line)[0] for line in dated)
        sooner = self._told_at() + self.person.notice - start
        return Change(
            self.rule.kind, self.rule.of, f"book {self.person.id} for {_told(dated)} all the same",
            partial(_with_booked, who=self.person.id, added=dated), self.rule.jobs,
            Asks.OTHERS, sooner / self.person.notice, "ask whether that can be had",
            self._data(dated), offered=len(lines) <= _SEVERAL,
        )  # fmt: skip

    def too_soon(self) -> list[Dated]:
        """Their hours before their notice is over, the last first."""
        zone, now = self.job.timezone, self._told_at()
        until = now + self.person.notice
        days = run_of_days(day_of(now, zone), day_of(until, zone))
        there = ((on, intersect(self._there(on), spans([(now, until)]))) for on in days)
        lines = [line for on, hours in there for line in self._lines(on, hours)]
        return lines[::-1]

    def _told_at(self) -> int:
        return max(asked_at(self.job))


def sooner_visits(rule: Rule, job: Job) -> Give:
    """The fewest and shortest times to be booked in spite of somebody's notice."""
    own = _Visits(rule, job, job.people[rule.of[0]])

    def least(able: Able) -> Change | None:
        lines = own.too_soon()
        if not lines or not able(own.change(lines)):
            return None
        found = [*_once(own, able, lines), *_several(own, able, lines)]
        return found[0] if found else None

    who = own.person.id
    return Give(rule, least, f"Booking {who} sooner than {who} wants would not be enough.")


def _with_booked(job: Job, who: str, added: tuple[Dated, ...]) -> Job:
    person = job.people[who]
    return with_person(job, replace(person, booked=(*person.booked, *added)))


def _hours(own: _Hours, around: Times, able: Able) -> Iterator[Change]:
    """More hours that do: once, every week, a few times; usual ones first, then any by day."""
    near, all_ = _days_around(own.job, around)
    for usual in (_usual(own.person), [_DAYTIME]):
        own = replace(own, usual=usual != [_DAYTIME])
        pools: tuple[Sequence[Line], ...] = (
            own.dated(near, usual), own.dated(all_, usual), own.weekly(usual)
        )  # fmt: skip
        able_together = [lines for lines in pools if lines and able(own.change(lines))]
        for lines in able_together:
            yield from _once(own, able, lines)
        for lines in able_together:
            yield from _several(own, able, lines)


def _once(own: _Hours, able: Able, lines: Sequence[Line]) -> Iterator[Change]:
    """The shortest of a few times that do by themselves."""
    alone = singles(lambda some: able(own.change(some)), lines, _SINGLES)
    short = (own.shortened(able, (line,)) for line in alone)
    yield from sorted(map(own.change, short), key=lambda each: each.share)[:1]


def _several(own: _Hours, able: Able, lines: Sequence[Line]) -> Iterator[Change]:
    """A few times that do together."""
    some = thinned(lambda some: able(own.change(some)), tuple(lines))
    if some is not None and len(some) <= _SEVERAL:
        yield own.change(own.shortened(able, some))


def _days_around(job: Job, around: Times) -> tuple[list[date], list[date]]:
    """The days of the tasks in conflict, and all days from today to a week later."""
    zone, now = job.timezone, day_of(job.now, job.timezone)
    first = max(now, day_of(min(start for start, _ in around.values()), zone))
    last = day_of(max(finish for _, finish in around.values()), zone) + timedelta(days=1)
    return run_of_days(first, last), run_of_days(now, last + timedelta(days=7))


def _usual(person: Person) -> list[Weekly]:
    """Hours like those that somebody has: on other days of the kind, and somewhat longer."""
    figure = figures().hours
    weekly = [w for w in person.hours if isinstance(w, Weekly) and w.end > w.start]
    longer = [replace(w, end=max(w.end, min(w.end + figure.longer, figure.latest))) for w in weekly]
    work, rest = frozenset(range(5)), frozenset({5, 6})
    like = [replace(w, days=kind) for w in weekly for kind in (work, rest) if w.days & kind]
    if comes_by_day(person):
        return [*like, *longer, figure.trade_day, figure.trade_saturday]
    others = (_EVENING, work), (figure.weekend, rest)
    like += [replace(usual, days=kind) for usual, kind in others
             if not any(w.days & kind for w in weekly)]  # fmt: skip
    return [*like, *longer]


def _with_hours(job: Job, who: str, added: tuple[Line, ...]) -> Job:
    person = job.people[who]
    return with_person(job, replace(person, hours=(*person.hours, *added)))


def _from_start(line: Line, minutes: int) -> Line:
    return replace(line, end=line.start + minutes)


def _from_end(line: Line, minutes: int) -> Line:
    return replace(line, start=line.end - minutes)


def _times(line: Line) -> int:
    return 1 if isinstance(line, Dated) else 4


def _wall(minute: int, zone: str) -> int:
    local = to_local(minute, zone)
    return local.hour * HOUR + local.minute


def _line(line: Weekly) -> str:
    """Hours of every week as the job file has them."""
    return f"{WEEKDAYS[min(line.days)].lower()} {_clock(line)}"


def _clock(line: Line) -> str:
    return f"{time_of_day(line.start)}-{time_of_day(line.end)}"


def _told(lines: Sequence[Line]) -> str:
    """Times by their days, with their sum where there are several."""
    times = listed(glued(f"{_day(line)} {_clock(line)}") for line in lines)
    if all(isinstance(line, Weekly) for line in lines):
        return f"{times} every week"
    total = sum(line.end - line.start for line in lines)
    return times if len(lines) == 1 else f"{times} ({duration(total)} in all)"


def _day(line: Line) -> str:
    return day(line.day) if isinstance(line, Dated) else WEEKDAYS[min(line.days)]
