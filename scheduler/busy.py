"""Who is busy when, in a schedule under way: all the minutes of a task looked at in one go.

Somebody of whom there is one is a row of bytes, one for each minute. Those of whom there are
several lie side by side in one long number, minute after minute: a field for each of them counts
hands and has a bit to spare. Adding as many as would be too many sets that bit, for all of them
and all the minutes of a task at once.
"""

from collections.abc import Mapping, Sequence

from scheduler.model import Person
from scheduler.steps import Step


class Roster:
    """What each step takes of the people, in the form in which ``Busy`` counts it.

    ``single`` are those it takes of whom there is one. Of the others ``added`` is what it adds to a
    minute, ``tight`` what fills a field of that minute to the spare bit where too few are left.
    A ``steady`` one takes as long whenever it starts.
    """

    def __init__(self, steps: Sequence[Step], people: Mapping[str, Person]) -> None:
        several = {who: person.count for who, person in people.items() if person.count > 1}
        field = max(several.values(), default=0).bit_length() + 1
        place = {who: field * n for n, who in enumerate(several)}
        spare = 1 << (field - 1)
        self.minute = field * len(several)
        self._spares = sum(spare << at for at in place.values())
        self._repeated: dict[int, int] = {}
        self._spans: list[dict[int, tuple[int, int, int, int]]] = [{} for _ in steps]
        self.steady = [step.unbroken for step in steps]
        self.single, self.added, self._tight = [], [], []
        for step in steps:
            hands = {who: n for who, n in step.hands.items() if who in several}
            self.single.append(tuple(who for who in step.hands if who not in several))
            self.added.append(sum(n << place[who] for who, n in hands.items()))
            left = {who: several[who] - n for who, n in hands.items()}
            self._tight.append(sum(spare - 1 - n << place[who] for who, n in left.items()))
        held = (step.starts.starts[0] for step in steps if step.hands and step.starts.starts)
        self.origin = min(held, default=0)

    def span(self, j: int, minutes: int) -> tuple[int, int, int, int]:
        """For so many minutes of a step: all bits, what fills the fields, spare bits, what it adds.

        The last but one are those of everybody; fields that nothing is added to have room.
        """
        known = self._spans[j].get(minutes)
        if known is None:
            each = self._repeat(minutes)
            mask = (1 << self.minute * minutes) - 1
            known = mask, self._tight[j] * each, self._spares * each, self.added[j] * each
            self._spans[j][minutes] = known
        return known

    def _repeat(self, minutes: int) -> int:
        """The number that, times the bits of one minute, has them in so many minutes."""
        if minutes not in self._repeated:
            every = (1 << self.minute * minutes) - 1
            self._repeated[minutes] = every // ((1 << self.minute) - 1)
        return self._repeated[minutes]


class Busy:
    """Who is busy when, of the steps that hold people so far."""

    def __init__(self, roster: Roster) -> None:
        self._roster, self._several = roster, 0
        self._rows = {who: bytearray() for single in roster.single for who in single}

    def hold(self, j: int, start: int, finish: int) -> None:
        """A step has its people from start to finish."""
        roster = self._roster
        since, until = start - roster.origin, finish - roster.origin
        for who in roster.single[j]:
            row = self._rows[who]
            if len(row) < until:
                row.extend(bytes(until - len(row)))
            row[since:until] = b"\1" * (until - since)
        if roster.added[j]:
            self._several += roster.span(j, until - since)[3] << roster.minute * since

    def let_go(self, j: int, start: int, finish: int) -> None:
        """A step that held its people from start to finish does so no more."""
        roster = self._roster
        since, until = start - roster.origin, finish - roster.origin
        for who in roster.single[j]:
            self._rows[who][since:until] = bytes(until - since)
        if roster.added[j]:
            self._several -= roster.span(j, until - since)[3] << roster.minute * since

    def free_from(self, j: int, start: int, finish: int) -> int:
        """``start`` if the people of a step are free until ``finish``; else a later minute.

        What starts before that meets somebody who is busy.
        """
        roster, free = self._roster, start
        if roster.single[j]:
            since, until = start - roster.origin, finish - roster.origin
            for who in roster.single[j]:
                row = self._rows[who]
                last = row.rfind(1, since, until)
                if last >= 0:
                    gone = row.find(0, last)
                    free = max(free, roster.origin + (gone if gone >= 0 else len(row)))
        if roster.added[j]:
            free = max(free, self._enough_from(j, start, finish - start))
        return free

    def _enough_from(self, j: int, start: int, length: int) -> int:
        """The same of those of whom there are several.

        A step that takes as long whenever it starts is moved on until there are enough.
        """
        roster = self._roster
        mask, tight, spares, _ = roster.span(j, length)
        rest = self._several >> roster.minute * (start - roster.origin)
        while over := (rest & mask) + tight & spares:
            later = (over.bit_length() - 1) // roster.minute + 1
            start += later
            if not roster.steady[j]:
                break
            rest >>= roster.minute * later
        return start

    def free_until(self, j: int, start: int, finish: int) -> int:
        """``finish`` if the people of a step are free from ``start`` on; else an earlier minute.

        What finishes after that meets somebody who is busy.
        """
        roster, free = self._roster, finish
        if roster.single[j]:
            since, until = start - roster.origin, finish - roster.origin
            for who in roster.single[j]:
                row = self._rows[who]
                first = row.find(1, since, until)
                if first >= 0:
                    free = min(free, roster.origin + row.rfind(0, 0, first) + 1)
        if roster.added[j]:
            free = min(free, self._enough_until(j, start, finish - start))
        return free

    def _enough_until(self, j: int, start: int, length: int) -> int:
        """The same of those of whom there are several, moved back until there are enough."""
        roster = self._roster
        mask, tight, spares, _ = roster.span(j, length)
        since, finish = start - roster.origin, start + length
        while over := (self._several >> roster.minute * since & mask) + tight & spares:
            sooner = length - ((over & -over).bit_length() - 1) // roster.minute
            finish -= sooner
            since -= sooner
            if not roster.steady[j] or since < 0:
                break
        return finish
