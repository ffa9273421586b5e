"""The best plan of a tiny job by looking at every one there is, an hour at a time.

Nothing here is shared with the planner. It holds for jobs whose every figure is whole hours, with
fixed waits, a single zone without clock changes, and people alike in none: then some best plan
lies on whole hours.
"""

from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta

from scheduler.model import Job, Link, Prefer, Task, Weekly

HOUR, DAY = 60, 24
FIRST = date(2027, 1, 4)  # the Monday on which every job of these begins
Placed = dict[str, tuple[int, int]]  # by task: the hours of its start and its finish
Score = tuple[int, ...]  # finish [h], visits and days without as preferred; sum of starts [h]

ORDERS: dict[Prefer, tuple[int, int, int]] = {
    "finish": (0, 1, 2),
    "fewest-days-without": (2, 0, 1),
    "fewest-visits": (1, 0, 2),
}
"""Which of finish, visits and days without comes first, and next, and last."""


class BruteForce:
    """Every plan of a job that is done within so many days."""

    def __init__(self, job: Job, days: int) -> None:
        self.job = job
        self.end = days * DAY
        self.present = {who: self._hours(who) for who in job.people}
        self.spans = {task.id: list(self._spans(task)) for task in job.tasks}
        self.order = self._order()
        self.sure = {
            (who, h // DAY) for who in job.people for h in range(self.end) if self._booked(who, h)
        }

    def best(self) -> Score | None:
        """The best score of any plan; None if there is none."""
        self.found: Score | None = None
        self._place(0, {})
        return self.found

    def _hours(self, who: str) -> list[bool]:
        """For each hour from the job's start (a Monday, 0:00), whether the person is there."""
        lines = [line for line in self.job.people[who].hours if isinstance(line, Weekly)]
        return [
            any(hour // DAY % 7 in x.days and x.start <= hour % DAY * HOUR < x.end for x in lines)
            or self._booked(who, hour)
            for hour in range(self.end)
        ]

    def _booked(self, who: str, hour: int) -> bool:
        """Whether somebody is booked then."""
        on, minute = FIRST + timedelta(days=hour // DAY), hour % DAY * HOUR
        return any(x.day == on and x.start <= minute < x.end for x in self.job.people[who].booked)

    def _can_come(self, who: str, hour: int) -> bool:
        """Whether somebody is there who is asked with the notice that they want."""
        notice, asked = self.job.people[who].notice, self.job.asked
        in_time = asked is None or not notice or self.job.start + HOUR * hour >= asked + notice
        return self.present[who][hour] and (in_time or self._booked(who, hour))

    def _spans(self, task: Task) -> Iterator[tuple[int, int]]:
        """Every start of a task with its finish."""
        free = [h for h in range(self.end) if all(self._can_come(who, h) for who in task.who)]
        work = task.work // HOUR
        for i, start in enumerate(free):
            if work == 0:
                yield start, start
            elif i + work <= len(free):
                finish = free[i + work - 1] + 1
                if task.split or finish - start == work:
                    yield start, finish

    def _order(self) -> list[Task]:
        order: list[Task] = []
        while len(order) < len(self.job.tasks):
            placed = {task.id for task in order}
            order.append(
                next(
                    task
                    for task in self.job.tasks
                    if task.id not in placed and all(link.task in placed for link in task.after)
                )
            )
        return order

    def _place(self, n: int, placed: Placed) -> None:
        score = self._score(placed)
        if self.found is not None and score >= self.found:
            return  # more tasks make no score better
        if n == len(self.order):
            if all(self._comes_as_wanted(who, placed) for who in self.job.people):
                self.found = score
            return
        task = self.order[n]
        for span in self.spans[task.id]:
            if self._allowed(task, span, placed):
                self._place(n + 1, {**placed, task.id: span})

    def _allowed(self, task: Task, span: tuple[int, int], placed: Placed) -> bool:
        return (
            all(self._linked(link, span, placed) for link in task.after)
            and not any(
                self._meet(task, span, self.job.task[other], placed[other]) for other in placed
            )
            and all(self._enough(who, task, span, placed) for who in task.who)
        )

    def _enough(self, who: str, task: Task, span: tuple[int, int], placed: Placed) -> bool:
        """Whether there are so many of a person in every hour of a task."""
        return all(
            self.job.people[who].count
            >= task.hands[who]
            + sum(
                self.job.task[other].hands.get(who, 0)
                for other, (start, finish) in placed.items()
                if start <= hour < finish
            )
            for hour in range(*span)
        )

    def _linked(self, link: Link, span: tuple[int, int], placed: Placed) -> bool:
        since = placed[link.task][link.of == "finish"]
        gap = HOUR * (span[link.to == "finish"] - since)
        wait = link.wait if link.stage is None else self._minutes(link.task, link.stage)
        return wait <= gap and (link.within is None or gap <= link.within)

    def _minutes(self, task: str, stage: str) -> int:
        product = self.job.product_of(self.job.task[task])
        assert product is not None
        assert product.stage(stage).law == "fixed"
        return product.stage(stage).minutes

    def _meet(self, a: Task, at_a: tuple[int, int], b: Task, at_b: tuple[int, int]) -> bool:
        """Whether one of two tasks comes into the other's room while that is closed."""
        if a.room is None or a.room != b.room:
            return False
        return any(
            _overlap((mine[0], self._opens(task, mine[1])), others)
            for task, mine, others in ((a, at_a, at_b), (b, at_b, at_a))
        )

    def _opens(self, task: Task, finish: int) -> int:
        product = self.job.product_of(task)
        if product is None or product.closes is None:
            return -1  # it closes nothing
        return finish + self._minutes(task.id, product.closes) // HOUR

    def _comes_as_wanted(self, who: str, placed: Placed) -> bool:
        """Whether somebody comes on no more days than they may, and for no less work."""
        person, work = self.job.people[who], Counter[int]()
        for key, (start, finish) in placed.items():
            task = self.job.task[key]
            if who in task.who:
                work[start // DAY] += 0
                for hour in range(start, finish):
                    if all(self._can_come(w, hour) for w in task.who):
                        work[hour // DAY] += HOUR * task.hands[who]
        booked = {day for w, day in self.sure if w == who}
        free = work.keys() - booked
        if person.at_most is not None and len(free) > max(person.at_most - len(booked), 0):
            return False
        last = max((day for day, minutes in work.items() if minutes), default=-1)
        return all(day >= last or work[day] >= person.visits_of for day in free)

    def _score(self, placed: Placed) -> Score:
        days = {
            (who, hour // DAY)
            for task in map(self.job.task.__getitem__, placed)
            for who in task.who
            for hour in range(placed[task.id][0], max(placed[task.id][1], placed[task.id][0] + 1))
            if all(self._can_come(w, hour) for w in task.who)
        } | self.sure
        starts = [start for start, _ in placed.values()]
        finish = max((finish for _, finish in placed.values()), default=0)
        goals = finish, len(days), sum(self._days_without(placed))
        return *(goals[n] for n in ORDERS[self.job.prefer]), sum(starts)

    def _days_without(self, placed: Placed) -> Iterator[int]:
        """The days that each thing is closed on, as far as that is known of what is placed."""
        for name in {name for task in self.job.tasks for name in task.closes}:
            closers = {task.id for task in self.job.tasks if name in task.closes}
            openers = {task.id for task in self.job.tasks if name in task.reopens}
            closed = [placed[key][0] for key in placed if key in closers]
            opened = [placed[key][1] for key in placed if key in openers or not openers]
            if closed and opened:
                first, last = min(closed), max(max(opened) - 1, min(closed))  # a minute at least
                yield last // DAY - first // DAY + 1


def _overlap(a: tuple[int, int], b: tuple[int, int]) -> bool:
    return a[0] < b[1] and b[0] < a[1]
