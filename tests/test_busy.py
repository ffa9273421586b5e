"""Who is busy when, counted minute by minute beside it."""

from collections.abc import Sequence
from dataclasses import dataclass

from hypothesis import given
from hypothesis import strategies as st

from scheduler.busy import Busy, Roster
from scheduler.hours import spans
from scheduler.model import ALWAYS, Person, Task
from scheduler.steps import Step
from tests.support.examples import examples

END = 60
COUNTS = {"me": 1, "helper": 3, "plumber": 1, "mate": 2}


@dataclass(frozen=True)
class Held:
    """A step with what it takes, for so many minutes from a start."""

    hands: dict[str, int]
    start: int
    length: int

    @property
    def minutes(self) -> range:
        """The minutes in which it has its people."""
        return range(self.start, self.start + self.length)


HELD = st.builds(
    Held,
    st.fixed_dictionaries({}, optional={who: st.integers(1, n) for who, n in COUNTS.items()}),
    st.integers(0, END - 20),
    st.integers(1, 20),
)


def step_of(index: int, held: Held) -> Step:
    several = tuple((who, n) for who, n in held.hands.items() if n > 1)
    task = Task(f"t{index}", f"t{index}", held.length, tuple(held.hands), several=several)
    return Step(index, task, spans([(0, END)]), spans([(0, END)]))


def fits(held: Held, others: Sequence[Held]) -> bool:
    """Whether there are enough people in every minute."""
    return all(
        n + sum(other.hands.get(who, 0) for other in others if minute in other.minutes)
        <= COUNTS[who]
        for who, n in held.hands.items()
        for minute in held.minutes
    )


def at(held: Held, start: int) -> Held:
    return Held(held.hands, start, held.length)


@given(st.lists(HELD, min_size=1, max_size=8), st.data())
@examples(300)
def test_the_next_minutes_to_try_pass_over_nothing_that_fits(
    wanted: list[Held], data: st.DataObject
) -> None:
    people = {who: Person(who, ALWAYS, count=n) for who, n in COUNTS.items()}
    roster = Roster([step_of(j, held) for j, held in enumerate(wanted)], people)
    busy, held = Busy(roster), dict[int, Held]()
    for j, one in enumerate(wanted[:-1]):
        if fits(one, [*held.values()]):
            busy.hold(j, one.start, one.start + one.length)
            held[j] = one
    for j in data.draw(st.sets(st.sampled_from(sorted(held)))) if held else ():
        busy.let_go(j, held[j].start, held[j].start + held[j].length)
        del held[j]
    j, one, others = len(wanted) - 1, wanted[-1], [*held.values()]
    start, finish = one.start, one.start + one.length
    later, sooner = busy.free_from(j, start, finish), busy.free_until(j, start, finish)
    assert (later == start) == (sooner == finish) == fits(one, others)
    assert not any(fits(at(one, s), others) for s in range(start, later))
    assert not any(fits(at(one, f - one.length), others) for f in range(sooner + 1, finish + 1))
