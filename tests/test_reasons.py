"""Why each task starts when it does, the chain of those reasons, and where the time goes."""

from dataclasses import astuple

import pytest

from scheduler.clock import DAY, HOUR
from scheduler.model import TimeSplit
from tests.support.planned import planned, starts

# At 70 F, 50 % a membrane recoats after 2 h x p_sat(23 C) / p_sat(21.1 C) = 2 h 15 min and is dry
# to the touch after 1 h 41 min (laws of drying, computed). 4 Jan 2027 is a Monday.
HEAD = """
job: Reasons
timezone: America/Toronto
start: 2027-01-04 12:00
air: {temperature: 70 F, humidity: 50 %}
people:
  me: {hours: [mon-fri 18:00-21:00, sat 9:00-17:00]}
  plumber: {hours: mon-fri 8:00-16:00}
rooms:
  bath: {}
  cold: {air: {temperature: 8 C, swing: 4 C}}   # 50 F or more from 11:00 to 19:00
products:
  membrane: {class: liquid-membrane}
tasks:
"""
EVENING = "next hours Mon 4 Jan 18:00"

# The tasks; the one asked about; when it starts; kind, task, stage and words of its reason.
REASONS = [
    ("a: {work: 1 h}", "a", "Mon 2027-01-04 12:00", ("start", None, None), "the job starts"),
    (
        "a: {who: me, work: 1 h}", "a", "Mon 2027-01-04 18:00",
        ("hours", None, None), f"me: {EVENING}",
    ),
    (
        "a: {work: 1 h, not_before: 2027-01-05 9:00}", "a", "Tue 2027-01-05 09:00",
        ("date", None, None), "not before Tue 5 Jan 09:00",
    ),
    (
        "a: {who: me, work: 1 h, not_before: 2027-01-04 13:00}", "a", "Mon 2027-01-04 18:00",
        ("hours", None, None), f"not before Mon 4 Jan 13:00; me: {EVENING}",
    ),
    (
        "a: {work: 1 h}\nb: {work: 1 h, after: a}", "b", "Mon 2027-01-04 13:00",
        ("link", "a", None), "'A' is done, Mon 4 Jan 13:00",
    ),
    (
        "a: {work: 1 h}\nb: {who: me, work: 1 h, after: a}", "b", "Mon 2027-01-04 18:00",
        ("hours", "a", None), f"'A' is done, Mon 4 Jan 13:00; me: {EVENING}",
    ),
    (
        "a: {work: 1 h}\nb: {work: 1 h, after: {task: a, wait: 3 h}}", "b", "Mon 2027-01-04 16:00",
        ("link", "a", None), "3 h after 'A' is done, Mon 4 Jan 16:00",
    ),
    (
        "a: {work: 4 h}\nb: {work: 5 h, after: {task: a, wait: -1 h}}", "b", "Mon 2027-01-04 15:00",
        ("link", "a", None), "1 h before 'A' is done, Mon 4 Jan 15:00",
    ),
    (
        "a: {work: 1 h}\nb: {work: 1 h, after: {task: a, wait: 2 h, from: start}}", "b",
        "Mon 2027-01-04 14:00", ("link", "a", None), "2 h after 'A' starts, Mon 4 Jan 14:00",
    ),
    (
        "a: {work: 2 h}\nb: {work: 1 h, after: {task: a, wait: 3 h, to: finish}}", "b",
        "Mon 2027-01-04 16:00", ("link", "a", None),
        "'B' can't be done before 3 h after 'A' is done, Mon 4 Jan 17:00",
    ),
    (
        "a: {work: 1 h, applies: membrane}\nb: {work: 1 h, after: {a: recoat}}", "b",
        "Mon 2027-01-04 15:15", ("stage", "a", "recoat"),
        "'A' is ready to recoat, Mon 4 Jan 15:15",
    ),
    (
        "a: {work: 1 h, applies: membrane}\n"
        "b: {work: 1 h, after: {task: a, stage: recoat, to: finish}}", "b",
        "Mon 2027-01-04 14:15", ("stage", "a", "recoat"),
        "'B' can't be done before 'A' is ready to recoat, Mon 4 Jan 15:15",
    ),
    (
        # It may be done at 14:00, but nobody is there to do it.
        "a: {work: 1 h}\nb: {who: me, work: 1 h, after: {task: a, wait: 1 h, to: finish}}", "b",
        "Mon 2027-01-04 18:00", ("hours", "a", None),
        f"'B' can't be done before 1 h after 'A' is done, Mon 4 Jan 14:00; me: {EVENING}",
    ),
    (
        "a: {who: plumber, work: 1 h, after: c}\nb: {who: plumber, work: 4 h}\nc: {work: 1 h}", "a",
        "Tue 2027-01-05 08:00", ("hours", "b", None),
        "plumber is busy with 'B' until Mon 4 Jan 16:00; plumber: next hours Tue 5 Jan 08:00",
    ),
    (
        "a: {who: me, work: 1 h, after: c}\nb: {who: me, work: 1 h}\nc: {work: 6 h 30 min}", "a",
        "Mon 2027-01-04 19:00", ("people", "b", None), "me is busy with 'B' until Mon 4 Jan 19:00",
    ),
    (
        "a: {work: 1 h, room: bath, applies: self-leveler}\nb: {work: 9 h, room: bath, after: a}",
        "b", "Mon 2027-01-04 17:00", ("room", "a", "walk"),
        "the room is closed until 'A' is ready to walk on, Mon 4 Jan 17:00",
    ),
    (
        "a: {work: 2 h, room: bath, applies: self-leveler}\nb: {work: 1 h, room: bath}", "a",
        "Mon 2027-01-04 13:00", ("room", "b", None),
        "'B' must be out of the room first, Mon 4 Jan 13:00",
    ),
    (
        "a: {work: 1 h, room: bath, applies: membrane}\n"
        "b: {work: 9 h, room: bath, dusty: yes, after: a}", "b", "Mon 2027-01-04 14:41",
        ("dust", "a", "touch"),
        "the room is kept free of dust until 'A' is dry to the touch, Mon 4 Jan 14:41",
    ),
    (
        "a: {work: 1 h, room: cold, applies: membrane, not_before: 2027-01-04 20:00}", "a",
        "Tue 2027-01-05 11:00", ("air", None, None),
        "not before Mon 4 Jan 20:00; the air is within the product's limits from Tue 5 Jan 11:00",
    ),
    (
        # Half an hour of good air is left, too little for a coat in one go.
        "a: {work: 1 h, room: cold, applies: membrane, not_before: 2027-01-04 18:30}", "a",
        "Tue 2027-01-05 11:00", ("air", None, None),
        "not before Mon 4 Jan 18:30; the air is within the product's limits from Tue 5 Jan 11:00",
    ),
    (
        "a: {work: 1 h}\n"
        "b: {work: 1 h, not_before: 2027-01-06 12:00, after: {task: a, within: 24 h}}", "a",
        "Tue 2027-01-05 11:00", ("window", "b", None),
        "not earlier, so that 'B' comes within 24 h of it",
    ),
    (
        # The window would hold it until 17:00 and so until the evening; but so do hours alone.
        "a: {who: me, work: 1 h}\n"
        "b: {who: me, work: 1 h, after: {task: a, wait: 12 h, within: 24 h}}", "a",
        "Mon 2027-01-04 18:00", ("hours", None, None), f"me: {EVENING}",
    ),
    (
        # The plumber comes on Tuesday in any case, and the paint takes until Friday.
        "a: {who: plumber, work: 1 h}\nb: {work: 20 h}\nc: {who: plumber, work: 1 h, after: b}\n"
        "d: {work: 90 h}", "a", "Tue 2027-01-05 08:00", ("trip", None, None),
        "plumber: an earlier day would be one more day to come",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("tasks", "asked", "start", "because", "text"), REASONS)
def test_a_start_has_its_binding_reason(
    tasks: str, asked: str, start: str, because: tuple[str, str | None, str | None], text: str
) -> None:
    _, plan = planned(job_file(tasks))
    reason = plan.task[asked].because
    assert starts(plan)[asked] == start
    assert (reason.kind, reason.task, reason.stage) == because
    assert reason.text == text


def job_file(tasks: str) -> str:
    return HEAD + "".join(f"  {line}\n" for line in tasks.splitlines())


# The tasks, the driving chain, and the minutes of its kinds, counted by hand.
SPLITS = [
    ("a: {work: 1 h}\nb: {work: 2 h, after: a}", "a b", TimeSplit(work=3 * HOUR)),
    (
        "a: {who: me, work: 1 h}\nb: {work: 1 h}", "a",
        TimeSplit(work=HOUR, outside_hours=6 * HOUR),
    ),
    (
        # Over two nights: 18 to 21, 18 to 21, 18 to 19.
        "a: {who: me, work: 7 h}\nb: {who: me, work: 1 h, after: a}", "a b",
        TimeSplit(work=8 * HOUR, outside_hours=2 * DAY),
    ),
    (
        "a: {work: 1 h}\nb: {work: 1 h, after: {task: a, wait: 3 h}}", "a b",
        TimeSplit(work=2 * HOUR, waiting=3 * HOUR),
    ),
    (
        # Ready to recoat at 15:15: too late for 2 h in one go before the plumber leaves.
        "a: {work: 1 h, applies: membrane}\n"
        "b: {who: plumber, work: 2 h, split: no, after: {a: recoat}}", "a b",
        TimeSplit(work=3 * HOUR, waiting=135, outside_hours=16 * HOUR + 45),
    ),
    (
        # b stands ready at 18:00 and waits for me: the hour of a before it is people busy.
        "a: {who: me, work: 1 h}\nb: {who: me, work: 2 h, after: c}\nc: {work: 1 h}", "a b",
        TimeSplit(work=2 * HOUR, people_busy=HOUR, outside_hours=6 * HOUR),
    ),
    (
        "a: {work: 1 h, room: bath, applies: self-leveler}\nb: {work: 9 h, room: bath, after: a}",
        "a b", TimeSplit(work=10 * HOUR, room_closed=4 * HOUR),
    ),
    (
        "a: {work: 1 h, room: cold, applies: membrane, not_before: 2027-01-04 20:00}", "a",
        TimeSplit(work=HOUR, dates=8 * HOUR, air=15 * HOUR),
    ),
    (
        "a: {work: 1 h, room: cold, applies: membrane, not_before: 2027-01-04 18:30}", "a",
        TimeSplit(work=HOUR, dates=6 * HOUR + 30, air=16 * HOUR + 30),
    ),
    (
        # b takes the last of the 2 h between their ends.
        "a: {work: 1 h}\nb: {work: 1 h, after: {task: a, wait: 2 h, to: finish}}", "a b",
        TimeSplit(work=2 * HOUR, waiting=HOUR),
    ),
    (
        # b might have been done at 14:00, had anybody been there from 13:00.
        "a: {work: 1 h}\nb: {who: me, work: 1 h, after: {task: a, wait: 1 h, to: finish}}", "a b",
        TimeSplit(work=2 * HOUR, outside_hours=5 * HOUR),
    ),
    (
        # All before a window that holds a back is a matter of the date that holds b.
        "a: {work: 1 h}\n"
        "b: {work: 1 h, not_before: 2027-01-06 12:00, after: {task: a, within: 24 h}}", "b",
        TimeSplit(work=HOUR, dates=2 * DAY),
    ),
]  # fmt: skip


@pytest.mark.parametrize(("tasks", "chain", "split"), SPLITS)
def test_the_time_of_the_job_is_split_over_its_driving_chain(
    tasks: str, chain: str, split: TimeSplit
) -> None:
    _, plan = planned(job_file(tasks))
    assert " ".join(plan.chain) == chain
    assert plan.where_time_goes == split
    assert sum(astuple(split)) == plan.finish - plan.start
