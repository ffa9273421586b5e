"""What a calendar says: work, waits, windows and what depends on what.

Sections are of RFC 5545 unless another is named.
"""

from dataclasses import replace
from datetime import datetime, timedelta

import icalendar
import ics
import pytest
import vobject

from scheduler.clock import DAY, HOUR
from scheduler.ics import calendar
from scheduler.model import Actual, Link, Past, Reason, Task, Wait
from tests.planfactory import at, job_of, placed, plan_of, product, shower
from tests.readback import NOW, events, in_utc, lines, said, simple, titled, titled_exactly

# ---------------------------------------------------------------------- work


def test_work_is_one_busy_confirmed_event_for_each_session() -> None:
    # 3.8.1.11 STATUS, 3.8.2.7 TRANSP
    evenings = [(at(f"2027-01-{day} 18:00"), at(f"2027-01-{day} 21:30")) for day in (12, 13, 14)]
    found = events(calendar(*simple(*evenings), NOW))
    assert [str(event["SUMMARY"]) for event in found] == [
        f"Hang backer board (part {part} of 3)" for part in (1, 2, 3)
    ]
    assert {str(event["STATUS"]) for event in found} == {"CONFIRMED"}
    assert {str(event["TRANSP"]) for event in found} == {"OPAQUE"}
    assert {event.categories[0] for event in found} == {"Work"}
    assert len({str(event["UID"]) for event in found}) == 3
    assert "Goes on Wed 13 Jan 2027 18:00." in said(found[0])
    assert "Goes on from Tue 12 Jan 2027 21:30." in said(found[1])


def test_work_says_with_whom_where_why_until_when_and_what_it_waits_for() -> None:
    job, plan = shower()
    text = str(said(titled_exactly(calendar(job, plan, NOW), "First membrane coat")))
    assert text.split("\n") == [
        "Job: Larch Row shower",
        "With: me",
        "Room: shower",
        "Applies: membrane (liquid-applied membrane, ANSI A118.10)",
        "Why now: joint-cement set at 15:02",
        "Not before Sat 9 Jan 2027 15:02: Tape and fill the joints is set then.",
        "Then wait: dry to the touch not before Sat 9 Jan 2027 17:26.",
        "Then wait: ready to recoat not before Sat 9 Jan 2027 18:50.",
        "Next: Second membrane coat, planned for Sun 10 Jan 2027 09:00.",
        "No dusty work in the room until it is dry to the touch.",
        "The product's label beats this calendar.",
        "Local codes and licensed trades come first.",
    ]


def test_work_says_by_when_it_must_start_and_be_finished() -> None:
    job, plan = shower()
    second = said(titled_exactly(calendar(job, plan, NOW), "Second membrane coat"))
    assert (
        "Start by Sun 10 Jan 2027 16:02: the window after First membrane coat closes then."
        in second
    )
    task = Task(
        "board", "Hang board", 60, ("me",),
        not_before=NOW, must_finish_by=NOW + DAY,
    )  # fmt: skip
    (event,) = events(calendar(*simple((NOW, NOW + 60), task=task), NOW))
    assert "Not before Tue 5 Jan 2027 10:00.\n" in said(event)
    assert "Must be finished by Wed 6 Jan 2027 10:00.\n" in said(event)


def test_what_is_done_is_told_as_that_and_asks_for_nothing_more() -> None:
    job, plan = shower()
    logged = Reason("log", "done Sat 9 Jan 13:00, as logged")
    tasks = (
        replace(task, state="done", because=logged) if task.id in {"board", "joints"} else task
        for task in plan.tasks
    )
    content = calendar(job, replace(plan, tasks=tuple(tasks)), NOW)
    board = said(titled(content, "Hang backer board"))
    assert "Done Sat 9 Jan 13:00, as logged." in board
    assert "Why now" not in board
    assert "Next: Tape and fill" not in board
    assert "Next: Tape and fill" in said(titled(calendar(job, plan, NOW), "Hang backer board"))


@pytest.mark.parametrize(("passed", "said_so"), [(None, True), (NOW, False)])
def test_a_hold_point_asks_to_be_passed_until_it_is_logged_as_passed(
    passed: int | None, said_so: bool
) -> None:
    job, plan = shower()
    flood = plan.task["flood"]
    known = Actual(started=flood.start, finished=flood.finish, passed=passed)
    content = calendar(replace(job, past=Past(NOW, {"flood": known})), plan, NOW)
    assert ("only when this has passed" in said(titled(content, "Flood test (by"))) is said_so


def test_dusty_work_hold_points_and_fresh_floors_carry_their_cautions() -> None:
    content = calendar(*shower(), NOW)
    assert "Dust can harm the lungs" in said(titled(content, "Hang backer board"))
    assert "only when this has passed" in said(titled(content, "Flood test (by"))
    tile = said(titled(content, "Set wall and floor tile (part 2"))
    assert "Keep everybody out of the room until it is ready to walk on." in tile


def test_a_test_that_needs_nobody_takes_no_time_of_anybody() -> None:
    event = titled(calendar(*shower(), NOW), "Flood test (by itself, until Tue 15:20)")
    assert (event["TRANSP"], event["X-MICROSOFT-CDO-BUSYSTATUS"]) == ("TRANSPARENT", "FREE")
    assert "Nobody has to be there." in said(event)


def test_a_milestone_is_a_quarter_of_an_hour_that_takes_no_time() -> None:
    event = titled(calendar(*shower(), NOW), "Valve delivered")
    start = in_utc(at("2027-01-14 08:00"))
    assert (event.start, event.end) == (start, start + timedelta(minutes=15))
    assert event["TRANSP"] == "TRANSPARENT"


def test_every_category_is_one_word() -> None:
    # Some readers split "a\, b" in CATEGORIES, so there is never a comma.
    content = lines(calendar(*shower(), NOW))
    found = {line for line in content if line.startswith("CATEGORIES")}
    words = ("Work", "Unattended", "Milestone", "Wait", "Window")
    assert found == {f"CATEGORIES:{word}" for word in words}


# ---------------------------------------------------------------------- waits


def test_a_wait_under_a_day_is_a_free_span_with_its_end_in_the_title() -> None:
    # 3.8.2.7: TRANSPARENT does not show as busy.
    event = titled(calendar(*shower(), NOW), "Second membrane coat not before 18:50")
    assert event["SUMMARY"] == "Second membrane coat not before 18:50 (First membrane coat: drying)"
    assert event.start == in_utc(at("2027-01-09 16:02"))
    assert event.end == in_utc(at("2027-01-09 18:50"))
    assert (event["TRANSP"], event["X-MICROSOFT-CDO-BUSYSTATUS"]) == ("TRANSPARENT", "FREE")


def test_a_wait_says_what_dries_until_when_what_to_leave_alone_and_by_when_to_go_on() -> None:
    event = titled(calendar(*shower(), NOW), "Second membrane coat not before 18:50")
    assert said(event).split("\n") == [
        "Job: Larch Row shower",
        "First membrane coat: drying since Sat 9 Jan 2027 16:02.",
        "Product: membrane (liquid-applied membrane, ANSI A118.10)",
        "Room: shower",
        "Ready to recoat not before Sat 9 Jan 2027 18:50 (2 h 48 min; its label asks for 2 h).",
        "Next: Second membrane coat, planned for Sun 10 Jan 2027 09:00.",
        "Start Second membrane coat by Sun 10 Jan 2027 16:02: its window closes then.",
        "Until then do not cover it, load it or wet it.",
        "No dusty work in the room until it is dry to the touch, Sat 9 Jan 2027 17:26.",
        "Reckoned for air of 62.6 F, 55 % (as the job file says). Other air makes another wait:"
        " check the surface before you go on.",
        "The product's label beats this calendar.",
    ]


def test_a_wait_of_a_day_or_more_is_only_its_end_and_claims_no_go_ahead() -> None:
    # A month view would lift the span into the all-day strip.
    event = titled(calendar(*shower(), NOW), "should be ready for the flood test")
    assert event["SUMMARY"] == (
        "Second membrane coat should be ready for the flood test; Flood test is planned for 15:20"
    )
    end = in_utc(at("2027-01-11 15:20"))
    assert (event.start, event.end) == (end, end + timedelta(minutes=15))


@pytest.mark.parametrize(("minutes", "is_span"), [(DAY - 1, True), (DAY, False)])
def test_a_day_of_waiting_is_where_the_span_becomes_its_end(minutes: int, is_span: bool) -> None:
    (entry,) = waiting(Wait("floor", "screed", "walk", None, NOW + 60, NOW + 60 + minutes, 720))
    assert (entry.start == in_utc(NOW + 60)) is is_span


def waiting(*waits: Wait) -> list[icalendar.Event]:
    """The events that are neither work nor milestones, of a floor that two tasks wait for."""
    floor = Task("floor", "Pour the floor", 60, ("me",), "bath", "screed")
    others = [Task(key, key.title(), 60, ("me",), "bath") for key in ("tile", "trim")]
    fresh = product("screed", {"walk": 720, "tile": 2 * DAY}, law="thick-drying", closes="walk")
    job = job_of([floor, *others], start=NOW, products=[fresh])
    tasks = [
        placed(floor, (NOW, NOW + 60)),
        *(placed(each, (NOW + 9 * DAY, NOW + 9 * DAY + 60)) for each in others),
    ]
    content = calendar(job, plan_of(job, tasks, waits=waits), NOW)
    return [event for event in events(content) if event.get("CATEGORIES").cats[0] != "Work"]


def test_a_closed_room_is_said_on_every_wait_for_the_floor_with_its_end() -> None:
    walk = Wait("floor", "screed", "walk", None, NOW + 60, NOW + 60 + 800, 720)
    tile = Wait("floor", "screed", "tile", "tile", NOW + 60, NOW + 60 + 3 * DAY, 2 * DAY)
    for event in waiting(walk, tile):
        assert (
            "Do not walk on it: the room is closed until it is ready to walk on,"
            " Wed 6 Jan 2027 00:20." in said(event)
        )


def test_two_tasks_that_wait_for_one_stage_share_its_event() -> None:
    (event,) = waiting(
        *(
            Wait("floor", "screed", "walk", each, NOW + 60, NOW + 60 + 800, 720)
            for each in ("tile", "trim")
        )
    )
    assert event["SUMMARY"] == "Tile, Trim not before Wed 00:20 (Pour the floor: drying)"


def test_two_fixed_waits_between_one_pair_are_one_event_until_the_later_end() -> None:
    (event,) = waiting(
        Wait("floor", None, None, "tile", NOW + 60, NOW + 120, 60),
        Wait("floor", None, None, "tile", NOW + 60, NOW + 180, 120),
    )
    assert event["SUMMARY"] == "Tile not before 13:00 (Pour the floor: waiting)"
    assert event.end == in_utc(NOW + 180)


def test_a_wait_that_holds_only_a_finish_says_nothing_against_a_start() -> None:
    stage = Wait("floor", "screed", "walk", "tile", NOW + 60, NOW + 860, 720, to="finish")
    (event,) = waiting(stage)
    assert event["SUMMARY"] == "Tile may not be done before Wed 00:20 (Pour the floor: drying)"
    done = "Tile may not be done before then; planned to be done Thu 14 Jan 2027 11:00."
    assert done in said(event)
    assert "Next: Tile" not in said(event)
    both = replace(stage, for_task="trim", to="start")
    (event,) = waiting(stage, both)
    assert event["SUMMARY"] == (
        "Trim not before Wed 00:20; Tile may not be done before Wed 00:20 (Pour the floor: drying)"
    )
    (event,) = waiting(replace(stage, end=NOW + 60 + 3 * DAY))
    assert event["SUMMARY"] == (
        "Pour the floor should be ready to walk on; Tile is planned to be done Thu 11:00"
    )


def test_waits_for_a_start_and_for_a_finish_of_one_pair_are_two_events() -> None:
    start = Wait("floor", None, None, "tile", NOW + 60, NOW + 120, 60)
    finish = replace(start, end=NOW + 240, label_minutes=180, to="finish", close_by=NOW + 300)
    found = {str(event["SUMMARY"]): event for event in waiting(start, finish)}
    assert set(found) == {
        "Tile not before 12:00 (Pour the floor: waiting)",
        "Tile may not be done before 14:00 (Pour the floor: waiting)",
        "Last moment for Tile: start by 15:00",
    }
    assert len({event["UID"] for event in found.values()}) == 3
    last = said(found["Last moment for Tile: start by 15:00"])
    by = "Start Tile by Tue 5 Jan 2027 15:00"
    assert f"{by}, so that it is done before the window after Pour the floor closes." in last


def test_assumed_air_is_said() -> None:
    job, plan = shower()
    rooms = {key: replace(room, air=job.air) for key, room in job.rooms.items()}
    content = calendar(replace(job, rooms=rooms), plan, NOW)
    event = titled(content, "Second membrane coat not before 18:50")
    assert "air of 64.4 F, 60 % (assumed, nobody gave it)" in said(event)


def test_an_hour_that_comes_twice_is_named_in_the_text() -> None:
    first = at("2027-11-07 01:30")
    task = Task("board", "Hang board", 60, ("me",), not_before=first + 60)
    (event,) = events(calendar(*simple((first + 60, first + 120), task=task), NOW))
    assert "Not before Sun 7 Nov 2027 01:30 EST.\n" in said(event)


# ---------------------------------------------------------------------- windows


def window(opens: int, closes: int) -> icalendar.Event:
    (event,) = waiting(Wait("floor", "screed", None, "tile", opens, opens, 0, close_by=closes))
    return event


def alarm_moments(event: icalendar.Event) -> list[datetime]:
    return [event.start + alarm.decoded("TRIGGER") for alarm in event.walk("VALARM")]


def test_the_last_moment_is_a_free_event_that_ends_when_the_window_closes() -> None:
    event = titled(calendar(*shower(), NOW), "Last moment")
    assert event["SUMMARY"] == "Last moment for Second membrane coat: start by 16:02"
    assert event.end == in_utc(at("2027-01-10 16:02"))
    assert event["TRANSP"] == "TRANSPARENT"
    assert "abrade, clean and start again with a first coat." in said(event)


def test_alarms_ring_three_hours_and_the_evening_before_with_text_and_relative_trigger() -> None:
    # 3.6.6: a DISPLAY alarm must have DESCRIPTION and TRIGGER; 3.8.6.3: a duration needs no VALUE.
    event = titled(calendar(*shower(), NOW), "Last moment")
    assert alarm_moments(event) == [
        in_utc(at("2027-01-09 19:00")),
        in_utc(at("2027-01-10 13:02")),
    ]
    for alarm in event.walk("VALARM"):
        assert alarm["ACTION"] == "DISPLAY"
        assert alarm["DESCRIPTION"] == "Start Second membrane coat by Sun 10 Jan 2027 16:02."
        assert not alarm["TRIGGER"].params


def test_other_readers_find_the_alarms() -> None:
    content = calendar(*shower(), NOW).decode()
    with_alarms = [event for event in ics.Calendar(content).events if event.alarms]
    assert [sorted(alarm.trigger for alarm in event.alarms) for event in with_alarms] == [
        [-timedelta(hours=20, minutes=47), -timedelta(hours=2, minutes=45)]
    ]
    found = [event for event in vobject.readOne(content).vevent_list if hasattr(event, "valarm")]
    assert [event.summary.value for event in found] == [
        "Last moment for Second membrane coat: start by 16:02"
    ]


def test_a_short_window_rings_half_way_through() -> None:
    event = window(NOW + 60, NOW + 60 + 4 * HOUR)
    assert alarm_moments(event) == [in_utc(NOW + 60 + 2 * HOUR)]


def test_an_evening_before_the_window_began_is_left_out() -> None:
    opens = at("2027-01-05 19:00")
    (near,) = alarm_moments(window(opens, at("2027-01-06 18:00")))
    assert near == in_utc(at("2027-01-06 15:00"))


def test_of_two_windows_of_one_wait_the_first_to_close_counts() -> None:
    event, *others = waiting(
        *(
            Wait("floor", None, None, "tile", NOW + 60, NOW + 60, 0, close_by=NOW + closes)
            for closes in (900, 600)
        )
    )
    assert event.end == in_utc(NOW + 600)
    assert not others


def test_waits_without_a_window_have_no_alarm() -> None:
    content = calendar(*shower(), NOW)
    ringing = [event for event in events(content) if event.walk("VALARM")]
    assert [event.get("CATEGORIES").cats for event in ringing] == [["Window"]]


# ---------------------------------------------------------------------- relations


def related(link: Link, *waits: Wait) -> tuple[list[tuple[str, str | None]], dict[str, str]]:
    """What the later of two tasks of two sessions depends on (uid, gap); uids by title."""
    first = Task("first", "First", 120, ("me",), applies="mix")
    second = Task("second", "Second", 120, ("me",), after=(link,))
    job = job_of([first, second], start=NOW, products=[product("mix", {"set": 20})])
    sessions = [(NOW + n * DAY, NOW + n * DAY + 60) for n in range(4)]
    plan = plan_of(job, [placed(first, *sessions[:2]), placed(second, *sessions[2:])], waits=waits)
    content = calendar(job, plan, NOW)
    found = [event for event in events(content) if "RELATED-TO" in event]
    assert all(event["RELATED-TO"].params["RELTYPE"] == "DEPENDS-ON" for event in found)
    uids = {str(event["UID"]): str(event["SUMMARY"]) for event in events(content)}
    return [
        (
            f"{event['SUMMARY']} <- {uids[str(event['RELATED-TO'])]}",
            event["RELATED-TO"].params.get("GAP"),
        )
        for event in found
    ], uids


@pytest.mark.parametrize(
    ("link", "expected"),
    [
        (Link("first"), ("Second (part 1 of 2) <- First (part 2 of 2)", None)),
        (Link("first", wait=90), ("Second (part 1 of 2) <- First (part 2 of 2)", "PT1H30M")),
        (Link("first", wait=-90), ("Second (part 1 of 2) <- First (part 2 of 2)", "-PT1H30M")),
        (Link("first", wait=2 * DAY), ("Second (part 1 of 2) <- First (part 2 of 2)", "PT48H")),
        (Link("first", stage="set"), ("Second (part 1 of 2) <- First (part 2 of 2)", "PT37M")),
        (
            Link("first", wait=90, of="start"),
            ("Second (part 1 of 2) <- First (part 1 of 2)", None),
        ),
        (
            Link("first", wait=90, to="finish"),
            ("Second (part 2 of 2) <- First (part 2 of 2)", None),
        ),
    ],
)
def test_the_later_task_depends_on_the_earlier_with_the_wait_as_gap(
    link: Link, expected: tuple[str, str | None]
) -> None:
    # RFC 9253 (DEPENDS-ON; GAP: positive is a lag, negative a lead). A gap would be
    # read as one between a finish and a start, so other links have none. Hours, not days: a day
    # of RFC 5545, 3.3.6 is nominal.
    finish = NOW + DAY + 60
    found, _ = related(link, Wait("first", "mix", "set", "second", finish, finish + 37, 20))
    assert found == [expected]


def test_several_links_between_two_tasks_are_one_relation_with_the_longest_lag() -> None:
    first, second = Task("first", "First", 60, ("me",)), Task("second", "Second", 60, ("me",))
    second = replace(second, after=(Link("first", wait=-60), Link("first"), Link("first", wait=-5)))
    job = job_of([first, second], start=NOW)
    plan = plan_of(job, [placed(first, (NOW, NOW + 60)), placed(second, (NOW + 60, NOW + 120))])
    found = [line for line in lines(calendar(job, plan, NOW)) if line.startswith("RELATED-TO")]
    (relation,) = found
    assert "GAP" not in relation
