"""Networks of the handbooks: dates and floats of every activity, exactly, from job files.

Tasks need nobody and run round the clock; a unit of the example is an hour or a day of 24 h.
The figures are in ``data/cpm.csv``; where they are from:

1    B. W. Taylor, Introduction to Management Science, ch. 8, problem solutions: dates and slack
     read; free float computed.
3    Lecture slides on operations management: durations and dates read; the arrows inferred from
     them; floats computed.
4    The same slides: printed paths and dates read; arrows inferred from them; floats computed.
7    Hillier and Lieberman, Introduction to Operations Research, project management: durations
     read, predecessors from memory; dates computed, as far as recalled those of the book.
8    Anderson, Sweeney and Williams, Introduction to Management Science, PERT/CPM chapter: from
     memory, with its answers (26 weeks, A-E-F-G-I, slacks B 6, C 3, D 2, H 3).
10   Render, Stair and Hanna, Quantitative Analysis for Management: from memory.
16   A posted solution: sums of paths, 27 weeks and D at 5 to 12 read; the rest computed.
19b  Made up, with lags of three kinds; computed by hand.
"""

import csv
from pathlib import Path

import pytest

from scheduler.clock import HOUR
from scheduler.model import Plan, TimeSplit
from tests.support.planned import finishes, planned, starts

FILE = Path(__file__).parent / "data" / "cpm.csv"
Row = dict[str, str]
ROWS: dict[str, list[Row]] = {}
for row in csv.DictReader(FILE.read_text(encoding="utf-8").splitlines()):
    ROWS.setdefault(row["example"], []).append(row)
UNITS = {"h": HOUR, "d": 24 * HOUR}
HEAD = "job: Example\ntimezone: {zone}\nstart: {start}\n"

# Duration and critical path as printed or remembered; see above.
CRITICAL = {
    "1": (20, "1-3 3-4 4-5 5-6"),
    "3": (41, "A B D E G I J K"),
    "4": (22, "A C F G H"),
    "7": (44, "A B C E F J L N"),
    "8": (26, "A E F G I"),
    "10": (15, "A C E G H"),
    "16": (27, "A C E F G"),
    "19b": (17, "A B D E"),
}


def job_file(rows: list[Row], unit: str) -> str:
    tasks = "".join(
        f"  t{row['activity']}:\n    work: {row['duration']} {unit}\n"
        f"    after: [{', '.join(link(word, unit) for word in row['after'].split('; ') if word)}]\n"
        for row in rows
    )
    return f"{HEAD.format(zone='Etc/UTC', start='2025-03-03')}tasks:\n{tasks}"


def link(word: str, unit: str) -> str:
    """``B FF+1`` as a link of the job file."""
    activity, _, kind = word.partition(" ")
    if not kind:
        return f"t{activity}"
    ends = {"S": "start", "F": "finish"}
    of, to, lag = ends[kind[0]], ends[kind[1]], kind[2:].lstrip("+")
    return f"{{task: t{activity}, wait: {lag} {unit}, from: {of}, to: {to}}}"


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("example", ROWS)
def test_every_date_and_float_of_a_handbook_network_is_met(example: str, unit: str) -> None:
    _, plan = planned(job_file(ROWS[example], unit))
    for row in ROWS[example]:
        task, minutes = plan.task[f"t{row['activity']}"], UNITS[unit]
        dates = [task.start, task.finish, task.latest_start, task.latest_finish]
        floats = [task.float_minutes, task.free_float_minutes]
        found = [date - plan.start for date in dates] + floats
        given = [int(row[key]) * minutes for key in ("es", "ef", "ls", "lf", "float", "free")]
        assert found == given, row["activity"]
        assert task.logic_float_minutes == task.float_minutes  # there is no crew to count


@pytest.mark.parametrize("example", ROWS)
def test_the_driving_chain_is_the_critical_path(example: str) -> None:
    _, plan = planned(job_file(ROWS[example], "h"))
    duration, path = CRITICAL[example]
    assert plan.finish - plan.start == duration * HOUR
    assert plan.proven_earliest
    assert [task.removeprefix("t") for task in plan.chain] == path.split()
    assert [t.id.removeprefix("t") for t in plan.tasks if t.critical] == path.split()
    lags = 4 if example == "19b" else 0  # A to B 3, D to E 1
    split = TimeSplit(work=(duration - lags) * HOUR, waiting=lags * HOUR)
    assert plan.where_time_goes == split


# (o, m, p), te = (o + 4 m + p) / 6: Malcolm and others, Operations Research 7 (1959), from memory.
THREE_POINTS = {
    # From memory; A to N of example 7.
    "7": "1 2 3, 2 3.5 8, 6 9 18, 4 5.5 10, 1 4.5 5, 4 4 10, 5 6.5 11, 5 8 17, 3 7.5 9, 3 9 9, "
    "4 4 4, 1 5.5 7, 1 2 3, 5 5.5 9",
    # From memory; A to H of example 10.
    "10": "1 2 3, 2 3 4, 1 2 3, 2 4 6, 1 4 7, 1 2 9, 3 4 11, 1 2 3",
}


@pytest.mark.parametrize("example", THREE_POINTS)
def test_expected_times_of_three_points_are_the_durations(example: str) -> None:
    assert [expected(points) for points in THREE_POINTS[example].split(",")] == [
        float(row["duration"]) for row in ROWS[example]
    ]


def expected(points: str) -> float:
    o, m, p = map(float, points.split())
    return (o + 4 * m + p) / 6


def test_the_expected_times_along_a_published_path_give_its_length() -> None:
    # Example 11, Taylor, Introduction to Management Science, example problem solution: the three
    # points, the path 1-3-5-7 and its 24 read; the expected times computed.
    points = ["5 8 17", "3 5 7", "4 6 8", "3 4 5"]
    rows = [
        {"activity": str(n), "duration": f"{expected(p):g}", "after": str(n - 1) if n else ""}
        for n, p in enumerate(points)
    ]
    _, plan = planned(job_file(rows, "d"))
    assert plan.finish - plan.start == 24 * UNITS["d"]


@pytest.mark.parametrize(
    ("kind", "lag", "dates"),
    [
        ("FS", 3, [(0, 4), (7, 12)]),
        ("FS", -1, [(0, 4), (3, 8)]),  # a lead
        ("SS", 2, [(0, 4), (2, 7)]),
        ("SS", -2, [(0, 4), (0, 5)]),  # it can't start before the job
        ("FF", 2, [(0, 4), (1, 6)]),
        ("FF", 0, [(0, 4), (0, 5)]),
        ("SF", 9, [(0, 4), (4, 9)]),
        ("SF", 2, [(0, 4), (0, 5)]),
    ],
)
def test_the_four_kinds_of_links(kind: str, lag: int, dates: list[tuple[int, int]]) -> None:
    # Definitions of the precedence diagram method (from memory); dates computed by hand.
    rows = [
        {"activity": "A", "duration": "4", "after": ""},
        {"activity": "B", "duration": "5", "after": f"A {kind}{lag:+}"},
    ]
    _, plan = planned(job_file(rows, "h"))
    found = [((t.start - plan.start) // HOUR, (t.finish - plan.start) // HOUR) for t in plan.tasks]
    assert found == dates


def test_where_two_activities_precede_the_larger_early_finish_counts_and_the_lag_after_it() -> None:
    # US Navy training manual NAVEDTRA 14233 (read): early finish plus lag is the next early start;
    # the larger early finish, 11 and not 10, counts; lags are such as concrete cure times.
    rows = [
        {"activity": "A", "duration": "10", "after": ""},
        {"activity": "B", "duration": "11", "after": ""},
        {"activity": "C", "duration": "2", "after": "A; B"},
        {"activity": "D", "duration": "1", "after": "C FS+3"},
    ]
    _, plan = planned(job_file(rows, "d"))
    assert [(t.start - plan.start) // UNITS["d"] for t in plan.tasks] == [0, 0, 11, 16]


def test_a_window_holds_the_first_coat_between_two_hours() -> None:
    # Constructed (19c): 1 h of coat, 4 to 24 h later the next, which can't start before hour 40.
    _, plan = planned(
        HEAD.format(zone="Etc/UTC", start="2025-03-03") + "tasks:\n"
        "  coat-1: {work: 1 h}\n"
        "  coat-2: {work: 1 h, not_before: 2025-03-04 16:00,"
        " after: {task: coat-1, wait: 4 h, within: 24 h}}\n"
    )
    coat = plan.task["coat-1"]
    hours = [(minute - plan.start) // HOUR for minute in (coat.start, coat.latest_start)]
    assert hours == [15, 35]


# Calendars: computed from the calendar of ISO 8601 ----------------------------------------------


def working_week(task: str, zone: str, start: str) -> Plan:
    head = HEAD.format(zone=zone, start=start)
    people = "people: {crew: {hours: mon-fri 8:00-17:00}}\n"
    return planned(f"{head}{people}tasks:\n{task}")[1]


@pytest.mark.parametrize("zone", ["Etc/UTC", "America/Toronto", "Asia/Kolkata"])
@pytest.mark.parametrize(
    ("start", "last"), [("2025-03-03", "Fri 2025-03-14"), ("2025-03-06", "Wed 2025-03-19")]
)
def test_ten_working_days_leave_weekends_out(zone: str, start: str, last: str) -> None:
    # Ten days of 9 h. In Toronto the clocks go on by an hour on Sunday 9 March in between.
    plan = working_week("  long: {who: crew, work: 90 h}\n", zone, start)
    assert finishes(plan) == {"long": f"{last} 17:00"}
    assert len(plan.tasks[0].sessions) == 10
    assert plan.visits == 10


CURE = """
  pour: {{work: 1 h, not_before: {poured}}}
  next: {{who: crew, work: 2 h, split: {split}, after: {{task: pour, wait: 72 h}}}}
"""


@pytest.mark.parametrize(
    ("poured", "split", "sessions"),
    [
        # Over Saturday 8 March, 15:00: the wait runs through the weekend, work does not.
        ("2025-03-05 14:00", "no", ["Mon 2025-03-10 08:00"]),
        # Over Monday 16:00: an hour is left of the day.
        ("2025-03-07 15:00", "no", ["Tue 2025-03-11 08:00"]),
        ("2025-03-07 15:00", "yes", ["Mon 2025-03-10 16:00", "Tue 2025-03-11 08:00"]),
    ],
)
def test_a_cure_of_72_hours_runs_through_the_weekend_and_work_does_not(
    poured: str, split: str, sessions: list[str]
) -> None:
    plan = working_week(CURE.format(poured=poured, split=split), "Etc/UTC", "2025-03-03")
    (wait,) = plan.waits
    assert wait.minutes == 72 * HOUR
    following = plan.task["next"]
    assert starts(plan)["next"] == sessions[0]
    assert len(following.sessions) == len(sessions)
    assert [b - a for a, b in following.sessions] == [2 * HOUR // len(sessions)] * len(sessions)
