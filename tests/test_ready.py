"""Whether a task can start at a time: the rules one by one, in words.

In the small jobs the air is the label's own (23 °C, 50 %), so that a wait is what its label says
and can be read off.
"""

import json
from dataclasses import replace
from functools import cache
from textwrap import dedent

import pytest

from scheduler.asjson import ready_json
from scheduler.model import Air, Job, Plan
from scheduler.network import Network
from scheduler.ready import Verdict, network_of, ready, verdict_text
from scheduler.wording import tidy
from tests.support.planned import at, planned, wall

ZONE = "America/Toronto"
HEAD = """\
job: Small shower
timezone: America/Toronto
start: 2027-01-08 17:00
air: {temperature: 23 C, humidity: 50 %}
rooms: {shower: {}, floor: {}}
people:
  me: {hours: [sat-sun 09:00-17:00]}
  helper: {hours: [sat 09:00-12:00]}
products:
  membrane: {class: liquid-membrane, label: {touch: 1 h, recoat: 2 h..24 h, tile: 12 h}}
  underlay: {class: self-leveler, label: {walk: 4 h, tile: 16 h}}
  bed: {class: thinset}
tasks:
"""
COATS = (
    HEAD
    + """\
  inspect: {name: Rough-in inspection, work: 0 min, hold: yes}
  board: {name: Hang board, who: me, room: shower, work: 2 h, after: [inspect]}
  coat-1: {name: First coat, who: me, room: shower, work: 1 h, applies: membrane, after: [board]}
  coat-2:
    {name: Second coat, who: me, room: shower, work: 45 min, applies: membrane,
     after: {coat-1: recoat}}
  tile: {name: Wall tile, who: me, room: shower, work: 3 h, applies: bed, after: {coat-2: tile}}
"""
)


@cache
def case(text: str) -> tuple[Job, Network, Plan]:
    job, plan = planned(text)
    return job, network_of(job, plan), plan


def asked(text: str, task: str, when: str) -> Verdict:
    return ready(*case(text), task, at(when, ZONE))


def said(verdict: Verdict, kind: str, *, ok: bool = False) -> str:
    """What the findings of a kind say that let the task start, or don't."""
    return "; ".join(tidy(f.text) for f in verdict.findings if (f.kind, f.ok) == (kind, ok))


def against(verdict: Verdict) -> dict[str, str | None]:
    """What forbids the start, and until when."""
    return {
        f.kind: None if f.until is None else wall(f.until, ZONE)
        for f in verdict.findings
        if not f.ok
    }


def earliest(verdict: Verdict) -> str | None:
    return None if verdict.earliest is None else wall(verdict.earliest, ZONE)


# A stage ----------------------------------------------------------------------------------------


def test_the_small_shower_is_planned_as_its_labels_read() -> None:
    _, _, plan = case(COATS)
    assert {t.id: wall(t.start, ZONE) for t in plan.tasks} == {
        "inspect": "Fri 2027-01-08 17:00",
        "board": "Sat 2027-01-09 09:00",
        "coat-1": "Sat 2027-01-09 11:00",
        "coat-2": "Sat 2027-01-09 14:00",  # 2 h after 12:00
        "tile": "Sun 2027-01-10 09:00",  # 12 h after 14:45 is 02:45
    }


def test_a_stage_is_waited_for_to_the_minute() -> None:
    before = asked(COATS, "coat-2", "2027-01-09 13:59")
    assert not before.yes
    assert against(before) == {"stage": "Sat 2027-01-09 14:00"}
    assert earliest(before) == "Sat 2027-01-09 14:00"
    assert asked(COATS, "coat-2", "2027-01-09 14:00").yes


def test_a_stage_names_product_task_stage_air_and_margin() -> None:
    assert said(asked(COATS, "coat-2", "2027-01-09 13:30"), "stage") == (
        "membrane of 'First coat' is ready to recoat only 14:00, still 30 min to go "
        "(2 h at 23 C and 50 %; label 2 h)"
    )
    assert said(asked(COATS, "tile", "2027-01-10 09:00"), "stage", ok=True) == (
        "membrane of 'Second coat' is ready to tile since 02:45, 6 h 15 min before "
        "(12 h at 23 C and 50 %; label 12 h)"
    )
    assert "is ready to recoat since 14:00, at this very minute (" in said(
        asked(COATS, "coat-2", "2027-01-09 14:00"), "stage", ok=True
    )


def test_a_stage_of_a_task_that_is_not_done_says_so_first() -> None:
    assert said(asked(COATS, "coat-2", "2027-01-09 09:30"), "stage").startswith(
        "'First coat' is planned to be done 12:00; membrane of 'First coat' is ready to recoat only"
    )


def test_a_cold_room_shows_in_the_wait_that_is_told() -> None:
    cold = COATS.replace(
        "{temperature: 23 C, humidity: 50 %}", "{temperature: 59 F, humidity: 60 %}"
    )
    cold = cold.replace("job: Small", "units: imperial\njob: Small")
    told = said(asked(cold, "tile", "2027-01-09 16:00"), "stage")
    assert "at 59 F and 60 %; label 12 h" in told


def test_air_that_nobody_gave_is_said_to_be_assumed() -> None:
    told = asked(COATS.replace("air: {temperature: 23 C, humidity: 50 %}\n", ""), "tile",
                 "2027-01-17 09:00")  # fmt: skip
    assert "at 18 C and 60 %, assumed; label 12 h" in said(told, "stage", ok=True)
    assert any("worked out for 18 C and 60 %, assumed" in tidy(c) for c in told.check_on_site)


def test_a_stage_that_this_air_never_brings_is_a_no_for_good() -> None:
    # Water-based coats do not dry above 98 % relative humidity (drying law of the project).
    job, _, plan = case(COATS)
    wet = replace(job.rooms["shower"], air=Air(23.0, 0.99))
    job = replace(job, rooms={**job.rooms, "shower": wet})
    verdict = ready(job, network_of(job, plan), plan, "tile", at("2027-01-10 09:00", ZONE))
    assert against(verdict) == {"stage": None}
    assert said(verdict, "stage") == (
        "membrane of 'Second coat' never gets ready to tile in this air (23 C and 99 %)"
    )
    assert earliest(verdict) is None


def test_a_stage_may_be_asked_for_the_end_of_a_task() -> None:
    text = COATS.replace(
        "after: {coat-2: tile}", "after: [{task: coat-2, stage: tile, to: finish}]"
    )
    # It may be done from Sunday 02:45 on: the last minute of its 3 h must be left for Sunday.
    verdict = asked(text, "tile", "2027-01-09 14:00")
    assert "is ready to tile only Sun 10 Jan 02:45 to the end of this task" in said(
        verdict, "stage"
    )
    assert against(verdict)["stage"] == "Sat 2027-01-09 14:01"
    assert earliest(verdict) == "Sat 2027-01-09 14:45"  # when the coat is on


# Links ------------------------------------------------------------------------------------------

LINKS = (
    HEAD
    + """\
  first: {name: Set posts, who: me, work: 1 h}
  day-later: {name: Load them, work: 1 h, after: [{task: first, wait: 24 h}]}
  with-it: {name: Watch, work: 2 h, after: [{task: first, from: start, to: start, wait: 10 min}]}
  end-with: {name: Hold, work: 2 h, after: [{task: first, to: finish, wait: 30 min}]}
"""
)


@pytest.mark.parametrize(
    ("task", "when", "ok", "text"),
    [
        ("day-later", "2027-01-10 09:59", False,
         "24 h after 'Set posts' is done: 10:00, still 1 min to go"),
        ("day-later", "2027-01-10 10:00", True,
         "24 h after 'Set posts' is done: 10:00, at this very minute"),
        ("with-it", "2027-01-09 09:09", False,
         "10 min after 'Set posts' starts: 09:10, still 1 min to go"),
        ("with-it", "2027-01-09 09:15", True,
         "10 min after 'Set posts' starts: 09:10, 5 min before"),
        # To the finish: 2 h of work may end at 10:30, half an hour after 10:00.
        ("end-with", "2027-01-09 08:29", False,
         "this may not be done before 30 min after 'Set posts' is done: 10:30, still 1 min to go; "
         "started then, it is done 10:29"),
        ("end-with", "2027-01-09 08:30", True,
         "this may not be done before 30 min after 'Set posts' is done: 10:30, at this very "
         "minute; started then, it is done 10:30"),
    ],
)  # fmt: skip
def test_a_link_of_every_kind_holds_to_the_minute(
    task: str, when: str, ok: bool, text: str
) -> None:
    verdict = asked(LINKS, task, when)
    assert verdict.yes == ok
    assert said(verdict, "link", ok=ok) == text


# Windows ----------------------------------------------------------------------------------------


def test_a_window_about_to_close_is_a_yes_with_its_last_minute() -> None:
    # The label: the next coat within 24 h of 12:00.
    verdict = asked(COATS, "coat-2", "2027-01-10 11:30")
    assert verdict.yes
    assert said(verdict, "window", ok=True).startswith(
        "must start by 12:00, 24 h after 'First coat' is done: 30 min to go"
    )
    assert asked(COATS, "coat-2", "2027-01-10 12:00").yes


def test_a_missed_window_is_a_no_for_good_and_says_what_the_class_advises() -> None:
    verdict = asked(COATS, "coat-2", "2027-01-10 12:01")
    assert against(verdict) == {"window": None}
    assert earliest(verdict) is None
    told = said(verdict, "window")
    assert told.startswith("too late: the window closed 12:00, 24 h after 'First coat' is done. ")
    assert "dull it with an abrasive pad" in told  # what the class file says


def test_what_follows_and_cannot_keep_its_window_by_its_own_hours_is_a_no() -> None:
    # Done on Sunday at 17:00; the next coat is due by Monday 17:00, and nobody has hours then.
    verdict = asked(COATS, "coat-1", "2027-01-10 16:00")
    assert against(verdict) == {"window": "Sat 2027-01-16 09:00"}
    assert said(verdict, "window") == (
        "'Second coat' must start by Mon 11 Jan 17:00, within 24 h of this, "
        "but cannot before Sat 16 Jan 09:00"
    )
    assert earliest(verdict) == "Sat 2027-01-16 09:00"


def test_what_follows_and_must_be_moved_to_keep_its_window_is_a_caution() -> None:
    verdict = asked(COATS, "coat-1", "2027-01-10 09:00")
    assert verdict.yes
    assert said(verdict, "window", ok=True) == (
        "then 'Second coat' must start by Mon 11 Jan 10:00, within 24 h of this; "
        "the plan has it Sat 9 Jan 14:00: move it"
    )
    as_planned = asked(COATS, "coat-1", "2027-01-09 11:00")
    assert said(as_planned, "window", ok=True) == (
        "then 'Second coat' must start by Sun 10 Jan 12:00, within 24 h of this"
    )


def test_a_window_to_the_end_of_a_task_counts_its_work() -> None:
    text = (
        HEAD
        + """\
  fill: {name: Fill, work: 30 min}
  read: {name: Read, work: 3 h, after: [{task: fill, to: finish, within: 5 h}]}
"""
    )
    # Filled at 17:30, so read by 22:30, so begun by 19:30.
    assert asked(text, "read", "2027-01-08 19:30").yes
    late = asked(text, "read", "2027-01-08 19:31")
    assert against(late) == {"window": None}
    assert said(late, "window") == (
        "too late: must be done by 22:30, 5 h after 'Fill' is done, and would be 22:31"
    )


# Hours, and whether the work fits ---------------------------------------------------------------

PAIR = (
    HEAD
    + """\
  lift: {name: Lift the tub, who: [me, helper], work: 1 h}
  pour: {name: Pour, who: me, room: floor, work: 3 h, applies: underlay, after: [lift]}
  cut: {name: Cut, who: helper, work: 5 h}
"""
)


def test_nobody_in_hours_is_named_with_the_next_hours() -> None:
    verdict = asked(COATS, "tile", "2027-01-11 10:00")
    assert against(verdict) == {"hours": "Sat 2027-01-16 09:00"}
    assert said(verdict, "hours") == "me has no hours then, next Sat 16 Jan 09:00"


def test_all_who_are_needed_must_be_there() -> None:
    verdict = asked(PAIR, "lift", "2027-01-09 13:00")
    assert said(verdict, "hours") == (
        "helper has no hours then, next Sat 16 Jan 09:00; all together Sat 16 Jan 09:00"
    )
    assert said(asked(PAIR, "lift", "2027-01-09 09:00"), "hours", ok=True) == (
        "me and helper have hours until 12:00; 1 h of work, done 10:00"
    )


def test_work_in_one_go_must_fit_into_what_is_left_of_the_day() -> None:
    assert asked(PAIR, "pour", "2027-01-09 14:00").yes
    verdict = asked(PAIR, "pour", "2027-01-09 14:01")
    assert against(verdict) == {"hours": "Sun 2027-01-10 09:00"}
    assert said(verdict, "hours") == ("takes 3 h in one go, with only 2 h 59 min left, until 17:00")


def test_work_that_may_be_split_says_when_it_is_done() -> None:
    # 3 h on Saturday, 2 h a week later.
    verdict = asked(PAIR, "cut", "2027-01-16 09:00")
    assert verdict.yes
    assert "5 h of work, done Sat 23 Jan 11:00" in said(verdict, "hours", ok=True)


def test_who_is_there_round_the_clock_needs_no_end_of_hours() -> None:
    always = COATS.replace("[sat-sun 09:00-17:00]", "[always]")
    assert "me has hours round the clock" in said(
        asked(always, "board", "2027-01-08 20:00"), "hours", ok=True
    )


def test_before_the_job_starts_and_past_what_is_looked_at_the_answer_is_no() -> None:
    early = asked(COATS, "inspect", "2027-01-08 16:59")
    assert against(early) == {"start": "Fri 2027-01-08 17:00"}
    assert said(early, "start") == "the job starts 17:00"
    far = asked(COATS, "inspect", "2030-01-01 09:00")
    assert against(far) == {"hours": None}
    assert earliest(far) is None


def test_work_that_no_hours_are_left_for_is_a_no_for_good() -> None:
    job, network, plan = case(PAIR)
    last_hours = network.hours["helper"].ends[-1]
    verdict = ready(job, network, plan, "cut", last_hours - 60)
    assert said(verdict, "hours").startswith("5 h of work, and not enough hours before ")
    assert earliest(verdict) is None


# Air --------------------------------------------------------------------------------------------


IN_THIS_AIR = HEAD.replace("sat-sun 09:00-17:00", "always") + (
    "  coat: {name: Coat, who: me, room: shower, work: 2 h, applies: membrane}\n"
)


@pytest.mark.parametrize(
    ("air", "when", "text"),
    [
        # The limits are the class's: 50 F (10 C) to 95 F (35 C), 85 %, 3 K (from memory). Warmest
        # at 15:00, coldest at 3:00; at 83 % the dew point is 2.84 K below 14 C (Magnus formula).
        ("8 C, humidity: 50 %, swing: 6 C", "03:00",
         "the air is 2 C and 50 %, colder than 10 C: not for membrane"),
        ("32 C, humidity: 50 %, swing: 6 C", "15:00",
         "the air is 38 C and 50 %, warmer than 35 C: not for membrane"),
        ("20 C, humidity: 83 %, swing: 6 C", "03:00",
         "the air is 14 C and 83 %, less than 3 C over the dew point: not for membrane"),
    ],
)  # fmt: skip
def test_air_out_of_the_products_limits_is_told_with_the_limit(
    air: str, when: str, text: str
) -> None:
    job = IN_THIS_AIR.replace("23 C, humidity: 50 %", air)
    verdict = asked(job, "coat", f"2027-01-12 {when}")
    assert list(against(verdict)) == ["air"]
    assert said(verdict, "air") == text
    assert verdict.earliest is not None
    assert not ready(*case(job), "coat", verdict.earliest - 1).yes
    good = ready(*case(job), "coat", verdict.earliest)
    assert "within the limits of membrane (10 C to 35 C, humidity 85 % at most, " in (
        said(good, "air", ok=True)
    )


def test_air_that_is_too_damp_at_every_hour_is_a_no_for_good() -> None:
    job, _, plan = case(IN_THIS_AIR)
    damp = replace(job.rooms["shower"], air=Air(23.0, 0.86))
    job = replace(job, rooms={**job.rooms, "shower": damp})
    verdict = ready(job, network_of(job, plan), plan, "coat", at("2027-01-12 09:00", ZONE))
    assert against(verdict) == {"air": None}
    assert said(verdict, "air") == (
        "the air is 23 C and 86 %, damper than 85 % and less than 3 C over the dew point: "
        "not for membrane"
    )


def test_work_in_one_go_must_be_done_before_the_air_goes_bad() -> None:
    job = IN_THIS_AIR.replace("23 C, humidity: 50 %", "8 C, humidity: 50 %, swing: 6 C")
    # 8 + 6 cos(2 pi (h - 15) / 24) falls under 10 at 15 + 24 / (2 pi) acos(1/3) h = 19:42.1, so
    # that 19:42 is the last minute that begins warm enough.
    assert asked(job, "coat", "2027-01-09 17:43").yes
    verdict = asked(job, "coat", "2027-01-09 17:44")
    assert list(against(verdict)) == ["air"]
    assert said(verdict, "air") == "takes 2 h in one go, with only 1 h 59 min left, until 19:43"


# People -----------------------------------------------------------------------------------------

BUSY = (
    HEAD
    + """\
  strip: {name: Strip, who: me, work: 3 h}
  paint: {name: Paint, who: me, work: 2 h, not_before: 2027-01-09 14:00}
  sweep: {name: Sweep, who: me, work: 1 h, not_before: 2027-01-09 16:00}
  lunch: {name: Delivery, who: me, work: 0 min, not_before: 2027-01-09 10:00}
"""
)


def test_who_is_busy_with_another_task_by_the_plan_is_named() -> None:
    verdict = asked(BUSY, "sweep", "2027-01-10 09:00")
    assert verdict.yes
    assert said(verdict, "people", ok=True) == "me is free"
    busy = asked(BUSY.replace("not_before: 2027-01-09 16:00", ""), "paint", "2027-01-09 14:00")
    assert busy.yes


def test_a_start_in_the_middle_of_another_task_waits_for_its_end() -> None:
    verdict = asked(BUSY, "paint", "2027-01-09 16:30")
    assert said(verdict, "people") == "me is busy with 'Sweep' until 17:00"
    assert earliest(verdict) == "Sun 2027-01-10 09:00"


def test_work_that_would_not_be_done_before_the_next_planned_task_is_a_no() -> None:
    # Strip is planned 9:00-12:00; it could be moved to 11:00-14:00, not a minute later.
    assert asked(BUSY, "strip", "2027-01-09 11:00").yes
    verdict = asked(BUSY, "strip", "2027-01-09 11:01")
    assert said(verdict, "people") == (
        "me is due at 'Paint' 14:00, before this would be done (14:01)"
    )
    assert said(asked(BUSY, "strip", "2027-01-09 09:30"), "people", ok=True) == (
        "me is free, next is 'Paint' 14:00"
    )


def test_a_milestone_takes_nobodys_time() -> None:
    verdict = asked(BUSY, "lunch", "2027-01-09 10:30")
    assert verdict.yes
    assert not said(verdict, "people", ok=True)


def test_of_two_alike_one_may_be_busy() -> None:
    two = BUSY.replace("me: {hours", "me: {count: 2, hours")
    assert asked(two, "paint", "2027-01-09 16:30").yes
    three = two + "  haul: {name: Haul, who: me, work: 1 h, not_before: 2027-01-09 16:00}\n"
    verdict = asked(three, "paint", "2027-01-09 16:30")
    assert said(verdict, "people") == "me is busy with 'Sweep' and 'Haul' until 17:00"


def test_a_task_of_two_needs_both_of_them_free() -> None:
    two = BUSY.replace("me: {hours", "me: {count: 2, hours") + (
        "  lift: {name: Lift, who: {me: 2}, work: 1 h, not_before: 2027-01-09 18:00}\n"
    )
    verdict = asked(two, "lift", "2027-01-09 16:30")
    assert said(verdict, "people") == "me is busy with 'Sweep' until 17:00"


def test_what_waits_for_the_task_itself_is_not_in_its_way() -> None:
    # The plan has the tile on Sunday from 9:00; a coat put off until then puts off the tile, too.
    verdict = asked(COATS, "coat-2", "2027-01-10 09:00")
    assert verdict.yes
    assert said(verdict, "people", ok=True) == "me is free"


def test_what_waits_for_the_task_but_may_well_be_under_way_is_in_its_way() -> None:
    text = (
        HEAD
        + """\
  fit: {name: Fit, who: me, work: 1 h, not_before: 2027-01-09 12:00}
  tidy: {name: Tidy, who: me, work: 2 h, after: [{task: fit, from: start, to: start, wait: -3 h}]}
"""
    )
    # Tidying may begin 3 h before the fitting, so that a late fitting does not put it off.
    assert wall(case(text)[2].task["tidy"].start, ZONE) == "Sat 2027-01-09 09:00"
    text = text.replace("work: 2 h", "work: 2 h, not_before: 2027-01-09 13:00")
    verdict = asked(text, "fit", "2027-01-09 14:00")
    assert said(verdict, "people") == "me is busy with 'Tidy' until 15:00"
    # From 16:01 on it would: 3 h earlier is after its planned 13:00.
    assert asked(text, "fit", "2027-01-09 12:01").yes is False
    assert asked(text, "fit", "2027-01-09 15:00").yes


# Rooms and dust ---------------------------------------------------------------------------------

ROOM = (
    HEAD
    + """\
  pour: {name: Pour, who: me, room: floor, work: 1 h, applies: underlay}
  lay: {name: Dry-lay, who: me, room: floor, work: 1 h, not_before: 2027-01-09 15:00}
"""
)
DUST = (
    HEAD
    + """\
  coat: {name: Coat, who: me, room: shower, work: 1 h, applies: membrane}
  saw: {name: Saw, who: helper, room: shower, work: 1 h, dusty: yes, not_before: 2027-01-09 11:00}
"""
)


def test_a_closed_room_lets_nobody_in_until_it_can_be_walked_on() -> None:
    # Poured 9:00-10:00, walkable 4 h later.
    verdict = asked(ROOM, "lay", "2027-01-09 13:59")
    assert against(verdict) == {"date": "Sat 2027-01-09 15:00", "room": "Sat 2027-01-09 14:00"}
    assert said(verdict, "room") == "the floor is closed until 'Pour' is ready to walk on, 14:00"
    open_now = asked(ROOM, "lay", "2027-01-09 15:00")
    assert said(open_now, "room", ok=True) == "the floor is open"


def test_no_task_starts_in_a_room_that_closes_before_it_is_done() -> None:
    text = ROOM.replace("applies: underlay", "applies: underlay, not_before: 2027-01-09 11:00")
    text = text.replace("15:00", "09:30")
    assert asked(text, "lay", "2027-01-09 10:00").yes
    verdict = asked(text, "lay", "2027-01-09 10:01")
    assert said(verdict, "room") == (
        "'Pour' closes the floor from 11:00, before this is done (11:01)"
    )


def test_no_pour_closes_the_room_over_a_task_that_is_planned_in_it() -> None:
    # Dry-laying is planned 15:00-16:00, so a pour must be done by 11:00 or wait until 16:00.
    assert asked(ROOM, "pour", "2027-01-09 10:00").yes
    verdict = asked(ROOM, "pour", "2027-01-09 10:01")
    assert said(verdict, "room") == (
        "'Dry-lay' is planned 15:00, and the floor would be closed until this is ready to walk on, "
        "15:01"
    )
    assert earliest(verdict) == "Sat 2027-01-09 16:00"
    inside = asked(ROOM, "pour", "2027-01-09 15:30")
    assert said(inside, "room") == "'Dry-lay' is at work in the floor until 16:00"


def test_dust_keeps_clear_of_a_fresh_coat_and_a_coat_of_dust() -> None:
    # Coated 9:00-10:00, dry to the touch an hour later; sawing is planned 11:00-12:00.
    verdict = asked(DUST, "saw", "2027-01-09 10:30")
    assert against(verdict)["dust"] == "Sat 2027-01-09 11:00"
    assert said(verdict, "dust") == (
        "the shower must be free of dust until 'Coat' is dry to the touch, 11:00"
    )
    coat = asked(DUST, "coat", "2027-01-09 09:01")
    assert said(coat, "dust") == (
        "'Saw' makes dust 11:00, and the shower must have none until this is dry to the touch, "
        "11:01"
    )
    assert earliest(coat) == "Sat 2027-01-09 12:00"
    assert said(asked(DUST, "coat", "2027-01-09 11:30"), "dust") == (
        "'Saw' makes dust in the shower until 12:00"
    )
    assert said(asked(DUST, "saw", "2027-01-09 11:00"), "dust", ok=True) == (
        "no dust meets a fresh surface in the shower"
    )


def test_dusty_work_does_not_run_on_into_a_coat_that_is_planned() -> None:
    text = DUST.replace("applies: membrane", "applies: membrane, not_before: 2027-01-09 11:00")
    text = text.replace("yes, not_before: 2027-01-09 11:00", "yes")
    verdict = asked(text, "saw", "2027-01-09 10:30")
    assert said(verdict, "dust") == (
        "'Coat' must have no dust in the shower from 11:00, before this is done (11:30)"
    )


# Dates, hold points, the task's own place -------------------------------------------------------


def test_the_tasks_own_dates_hold_to_the_minute() -> None:
    text = (
        HEAD
        + """\
  tap: {name: Fit the tap, work: 2 h, not_before: 2027-01-09 08:00, must_finish_by: 2027-01-09}
"""
    )
    assert against(asked(text, "tap", "2027-01-09 07:59")) == {"date": "Sat 2027-01-09 08:00"}
    assert asked(text, "tap", "2027-01-09 08:00").yes
    assert asked(text, "tap", "2027-01-09 22:00").yes
    late = asked(text, "tap", "2027-01-09 22:01")
    assert against(late) == {"date": None}
    assert said(late, "date") == "must be done by 24:00, and would be Sun 10 Jan 00:01"
    assert earliest(late) is None


def test_hold_points_upstream_are_taken_as_passed_and_put_on_the_list_for_the_site() -> None:
    verdict = asked(COATS, "tile", "2027-01-10 09:00")
    assert said(verdict, "hold", ok=True) == "planned as passed: 'Rough-in inspection'"
    assert "Must have been passed: 'Rough-in inspection'. If not, do not start." in (
        verdict.check_on_site
    )
    assert not said(asked(BUSY, "paint", "2027-01-09 14:00"), "hold", ok=True)


def test_a_hold_point_ahead_is_on_the_list_for_the_earliest_start() -> None:
    text = COATS.replace("hold: yes", "hold: yes, not_before: 2027-01-09 08:00")
    verdict = asked(text, "board", "2027-01-08 18:00")
    assert not said(verdict, "hold", ok=True)
    assert any("'Rough-in inspection'" in check for check in verdict.check_on_site)


def test_the_tasks_own_place_in_the_plan_is_told_and_does_not_count() -> None:
    assert said(asked(COATS, "board", "2027-01-09 09:00"), "plan", ok=True) == (
        "the plan has it 09:00 to 11:00"
    )
    under_way = asked(COATS, "board", "2027-01-09 10:00")
    assert under_way.yes
    assert said(under_way, "plan", ok=True) == (
        "the plan has it 09:00 to 11:00; asked as if it were not begun"
    )


def test_a_start_that_puts_off_the_end_of_the_job_says_so() -> None:
    # The second coat must be on by Sunday 00:00 at the latest for tile at 12:00 ... it cannot be,
    # so its latest start is Saturday 16:15, the last that is done in hours.
    verdict = asked(COATS, "coat-2", "2027-01-10 09:00")
    latest = wall(case(COATS)[2].task["coat-2"].latest_start, ZONE)
    assert latest == "Sat 2027-01-09 16:15"
    assert said(verdict, "plan", ok=True).endswith(
        "After Sat 9 Jan 16:15 a start puts off the end of the job"
    )


# What to look at on site ------------------------------------------------------------------------


def test_each_stage_waited_for_comes_with_what_to_look_at() -> None:
    checks = asked(COATS, "coat-2", "2027-01-09 14:00").check_on_site
    assert checks[0].startswith("'First coat': One colour all over and dry to the touch")
    assert any(c.startswith("Measure the air in the shower: the wait") for c in map(tidy, checks))
    assert any(
        tidy(c).startswith("Air and surface fit to apply membrane: 10 C to 35 C") for c in checks
    )
    assert checks[-1].startswith("The label and the surface have the last word")


def test_a_stage_that_only_the_owners_label_knows_has_a_check_too() -> None:
    text = COATS.replace("tile: 12 h}", "tile: 12 h, paint: 20 h}").replace(
        "coat-2: tile", "coat-2: paint"
    )
    checks = asked(text, "tile", "2027-01-16 09:00").check_on_site
    assert checks[0] == "'Second coat': see that it is ready to paint all over."


# Text and JSON ----------------------------------------------------------------------------------


def test_the_json_is_as_promised() -> None:
    verdict = asked(COATS, "coat-2", "2027-01-09 13:59")
    data = json.loads(json.dumps(ready_json(verdict)))
    assert list(data) == [
        "version", "task", "at", "verdict", "earliest", "reasons", "check_on_site"
    ]  # fmt: skip
    assert data["version"] == 1
    assert (data["task"], data["verdict"]) == ("coat-2", "no")
    assert data["at"] == "2027-01-09T13:59:00-05:00"
    assert data["earliest"] == "2027-01-09T14:00:00-05:00"
    assert data["reasons"][0] == {
        "kind": "stage",
        "ok": False,
        "text": "membrane of 'First coat' is ready to recoat only 14:00, still 1 min to go "
        "(2 h at 23 C and 50 %; label 2 h)",
        "until": "2027-01-09T14:00:00-05:00",
    }
    assert all(list(r) == ["kind", "ok", "text", "until"] for r in data["reasons"])
    assert "\N{NO-BREAK SPACE}" not in json.dumps(data, ensure_ascii=False)


def test_the_json_of_a_yes_and_of_a_never() -> None:
    data = ready_json(asked(COATS, "coat-2", "2027-01-09 14:00"))
    assert (data["verdict"], data["earliest"]) == ("yes", data["at"])
    never = ready_json(asked(COATS, "coat-2", "2027-01-11 14:00"))
    assert (never["verdict"], never["earliest"]) == ("no", None)


def test_a_yes_reads_as_one_on_a_telephone() -> None:
    text = verdict_text(case(COATS)[0], asked(COATS, "coat-2", "2027-01-09 14:00"), 45)
    assert text == dedent("""\
        YES: Second coat
          asked for Sat 9 Jan 2027 14:00

        WHAT HOLDS
          ok membrane of 'First coat' is ready to
            recoat since 14:00, at this very minute
            (2 h at 23 C and 50 %; label 2 h)
          ok must start by Sun 10 Jan 12:00, 24 h
            after 'First coat' is done: 22 h to go
          ok then 'Wall tile' must start by
            Mon 8 Feb 14:45, within 30 d of this
          ok me has hours until 17:00
          ok takes 45 min in one go, with 3 h left,
            until 17:00
          ok me is free, next is 'Wall tile'
            Sun 10 Jan 09:00
          ok the air is 23 C and 50 %, within the
            limits of membrane (10 C to 35 C,
            humidity 85 % at most, 3 C over the dew
            point at least)
          ok planned as passed: 'Rough-in inspection'
          ok the plan has it 14:00 to 14:45

        CHECK ON SITE
          'First coat': One colour all over and dry
            to the touch, also where it lies
            thickest: in the corners, at the drain.
            No milky or darker patch, nothing that
            moves under the finger.
          Must have been passed: 'Rough-in
            inspection'. If not, do not start.
          Measure the air in the shower: the wait is
            worked out for 23 C and 50 %. Colder or
            damper means later.
          Air and surface fit to apply membrane: 10 C
            to 35 C, humidity 85 % at most, 3 C over
            the dew point at least.
          The label and the surface have the last
            word: where in doubt, wait.
        """)


def test_a_no_says_first_what_forbids_it_and_when_it_can() -> None:
    text = verdict_text(case(COATS)[0], asked(COATS, "coat-2", "2027-01-09 13:30"), 80)
    assert text.startswith(
        dedent("""\
        NOT YET: Second coat
          asked for    Sat 9 Jan 2027 13:30
          earliest     Sat 9 Jan 2027 14:00

        WHY NOT
          until 14:00  membrane of 'First coat' is ready to recoat only 14:00, still
                       30 min to go (2 h at 23 C and 50 %; label 2 h)

        WHAT HOLDS
          ok           must start by Sun 10 Jan 12:00, 24 h after 'First coat' is done:
        """)
    )


def test_a_no_for_good_does_not_say_not_yet() -> None:
    text = verdict_text(case(COATS)[0], asked(COATS, "coat-2", "2027-01-11 13:30"), 80)
    assert text.startswith("NO: Second coat\n")
    assert "  earliest     never, as the plan stands\n" in text
    assert "\nWHY NOT\n  for good         too late: the window closed Sun 10 Jan 12:00" in text
    assert "\n  until Sat 09:00  me has no hours then" in text
