"""How much to mix at a time, and how often."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.batches import Batches, batches, in_words
from scheduler.catalogue import product
from scheduler.ics import calendar
from scheduler.model import Air, Job, Measure, Plan, Task
from scheduler.text import plan_text
from tests.planfactory import HOUR, at, job_of, placed, plan_of

START = at("2027-01-09 09:00")
LABEL_AIR = Air((70 - 32) / 1.8, 0.5)  # what the cement classes state their pot life for


def case(
    name: str, minutes: tuple[int, ...] = (2 * HOUR,), air: Air = LABEL_AIR, metres: float = 10.0,
) -> tuple[Job, Plan]:  # fmt: skip
    """A task of so many sessions, one a day, that applies a class to so many m or m2."""
    applied = product(name, name)
    assert applied.amount is not None
    task = Task("t", "Work", sum(minutes), ("me",), "shower", name,
                quantity=Measure(metres, applied.amount.per))  # fmt: skip
    job = job_of([task], start=START, air=air, products=[applied])
    sessions = [(START + n * 1440, START + n * 1440 + each) for n, each in enumerate(minutes)]
    return job, plan_of(job, [placed(task, *sessions)])


def mixes(job: Job, plan: Plan) -> list[Batches]:
    found = [batches(job, plan.tasks[0], session) for session in plan.tasks[0].sessions]
    return [each for each in found if each is not None]


def test_a_rapid_cement_is_mixed_for_half_the_time_in_which_it_goes_hard() -> None:
    # Hard in 15 to 20 min, usable for half of that: common practice, no published source.
    (mix,) = mixes(*case("rapid-joint-cement"))
    assert mix.working is not None
    assert 7 <= mix.working <= 10
    assert mix.number == -(-120 // mix.working)


def test_the_batches_together_are_what_the_task_takes_with_waste() -> None:
    job, plan = case("rapid-joint-cement", (60, 90))
    amount = job.products["rapid-joint-cement"].amount
    assert amount is not None
    mixed = sum(mix.number * (mix.size or 0.0) for mix in mixes(job, plan))
    assert mixed == pytest.approx(amount.use * 10 * (1 + amount.waste))


def test_a_warm_room_shortens_the_working_time_and_asks_for_more_and_smaller_batches() -> None:
    # ASTM C1074, Q = 5000 K: 30 C works 1.755 times as fast as 20 C.
    (cool,), (warm,) = (mixes(*case("thinset", (8 * HOUR,), Air(c, 0.5))) for c in (20.0, 30.0))
    assert cool.working is not None
    assert warm.working is not None
    assert cool.working / warm.working == pytest.approx(1.755, abs=0.02)
    assert warm.number > cool.number
    assert (warm.size or 0) < (cool.size or 0)


def test_the_warmest_minute_of_the_session_counts() -> None:
    # From 9:00 to 15:00 the room warms from its mean to mean and swing: DEVELOPERS.md, decision 3.
    (mix,) = mixes(*case("thinset", (6 * HOUR,), Air(20.0, 0.5, swing=4.0)))
    assert mix.temperature == pytest.approx(24.0, abs=0.01)


def test_what_comes_ready_to_use_has_an_amount_but_no_batches() -> None:
    job, plan = case("liquid-membrane")
    (mix,) = mixes(job, plan)
    assert (mix.working, mix.number) == (None, 1)
    # 10 m2 at a wet film of 0.6 mm are 6 L, and 10 % waste.
    assert in_words(job, mix).replace("\N{NO-BREAK SPACE}", " ") == "Takes about 6.6 L."


def test_without_a_quantity_the_working_time_is_told_alone() -> None:
    job, plan = case("rapid-joint-cement")
    job = replace(job, tasks=(replace(job.tasks[0], quantity=None),))
    (mix,) = mixes(job, plan)
    assert mix.size is None
    said = in_words(job, mix).replace("\N{NO-BREAK SPACE}", " ")
    assert said.startswith(f"Mix {mix.number} batches, one after the other: each is usable for ")


def test_a_task_that_applies_nothing_is_not_mixed_for() -> None:
    task = Task("t", "Frame", 60, ("me",))
    job = job_of([task], start=START)
    assert batches(job, placed(task, (START, START + 60)), (START, START + 60)) is None


@given(st.integers(5, 600), st.floats(8, 35), st.floats(0, 5))
def test_no_batch_outlasts_its_working_time(minutes: int, mean: float, swing: float) -> None:
    for name in ("rapid-joint-cement", "thinset", "self-leveler"):
        (mix,) = mixes(*case(name, (minutes,), Air(mean, 0.5, swing)))
        assert mix.working is not None
        assert minutes / mix.number <= mix.working
        assert mix.number == 1 or minutes / (mix.number - 1) > mix.working


def test_the_day_plan_and_the_calendar_tell_how_to_mix() -> None:
    job, plan = case("rapid-joint-cement")
    (mix,) = mixes(job, plan)
    said = f"Mix {mix.number} batches of "
    assert said in plan_text(job, plan, 80)
    assert said in calendar(job, plan, plan.start).decode().replace("\r\n ", "")
    assert "at 70 F" in " ".join(plan_text(replace(job, units="imperial"), plan, 80).split())
