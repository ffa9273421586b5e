"""The plan as text: whole texts checked by eye, and what must hold for any plan."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.clock import DAY, to_local
from scheduler.model import Air, Job, Plan, Reason, Task, TimeSplit, Wait
from scheduler.text import plan_text
from scheduler.text.summary import shares
from scheduler.wording import columns, plain, tidy
from tests.planfactory import HOUR, ZONE, at, job_of, placed, plan_of, product, shower

WIDTHS = (30, 45, 60, 80, 120)

SHOWER_80 = """\
Larch Row shower
  starts       Fri 8 Jan 2027 17:00 (America/Toronto)
  FINISHES     Sun 17 Jan 2027 10:00, 8 d 17 h after the start
               Proven: no plan finishes earlier.
               In time, 14 h to spare: to be finished by Sun 17 Jan 2027 24:00.
  visits       5: me on 4 days and plumber on 1 day
               The fewest possible at this finish.

WHAT THE DATES REST ON
  The waits are worked out for this air, day and night:
  shower: 62.6 F (59 F at 03:00, 66.2 F at 15:00), humidity 55 %
  Colder or damper air makes waits longer, so measure it in the room. Times on a
    label are minimums, not promises.
  From the catalogue and not from your own label: joint-cement, membrane and
    thinset.

WHERE THE TIME GOES
  61 %         outside hours, 5 d 4 h 39 min
  27 %         setting and drying, 2 d 6 h 6 min
  12 %         work, 24 h 15 min

WARNINGS
  ! nobody gave the job's air: 18 C and 60 % are assumed

DAY BY DAY

Fri 8 Jan: nobody comes
  Nothing to do; nothing sets or dries.

Sat 9 Jan: me
  caution      Silica dust: Cutting, grinding and breaking tile, board, mortar
               and concrete makes dust that scars lungs. Cut wet or with a
               vacuum on the tool, outdoors if you can; wear a respirator that
               fits; sweep nothing dry. (29 CFR 1926.1153)
  caution      Heaters and carbon monoxide: Where you heat a cold room, use
               electric heat or a heater that vents outside. One that burns gas,
               kerosene or propane gives off carbon monoxide, which kills, and
               water vapour, which slows drying. Have a carbon monoxide alarm.
               (29 CFR 1926.154 and 1926.57)
  09:00–13:00  Hang backer board — me, in shower
               Why then: me not in hours before Sat 09:00
               Makes dust.
  13:00–14:30  Tape and fill the joints — me, in shower
               Applies joint-cement: rapid-setting joint cement.
               Note: Embed the tape; a dry joint cracks.
  15:02–16:02  First membrane coat — me, in shower
               Applies membrane: liquid-applied membrane, ANSI A118.10.
               Why then: joint-cement set at 15:02
  sets         until 15:02: joint-cement (Tape and fill the joints) set, for
               First membrane coat (32 min, catalogue 20 min)
  dries        until 18:50: membrane (First membrane coat) ready to recoat, for
               Second membrane coat (2 h 48 min, catalogue 2 h)
  no dust      until 17:26: shower, membrane (First membrane coat) dry to the
               touch
  must start   by Sun 16:02: Second membrane coat (planned Sun 09:00)

Sun 10 Jan: me
  09:00–09:45  Second membrane coat — me, in shower
               Applies membrane.
               Why then: me not in hours before Sun 09:00
  dries        until Mon 01:33: membrane (Second membrane coat) ready to tile,
               for Set wall and floor tile (15 h 48 min, catalogue 12 h)
  dries        until Mon 15:20: membrane (Second membrane coat) ready for the
               flood test, for Flood test (29 h 35 min, catalogue 24 h)
  no dust      until 11:09: shower, membrane (Second membrane coat) dry to the
               touch
  must start   by 16:02: Second membrane coat (planned 09:00)
               If missed: abrade, clean and start again with a first coat.

Mon 11 Jan: nobody comes
  caution      Permits and inspections: Codes differ by place and year. Ask your
               building office which inspections this job needs (framing,
               plumbing, wiring, pan) and when; cover nothing before it has
               passed. (the local building code)
  from 15:20   until Tue 15:20: Flood test — needs nobody, in shower
               HOLD POINT: go on only when it is passed.
               Why then: membrane ready for the flood test at 15:20
  dries        until 01:33: membrane (Second membrane coat) ready to tile, for
               Set wall and floor tile
  dries        until 15:20: membrane (Second membrane coat) ready for the flood
               test, for Flood test

Tue 12 – Wed 13 Jan: nobody comes
  goes on      until Tue 12 Jan 15:20: Flood test — needs nobody, in shower
               HOLD POINT: go on only when it is passed.

Thu 14 Jan: plumber
  08:00        Milestone: Valve delivered — plumber
               Why then: not before Thu 14 Jan

Fri 15 Jan: nobody comes
  Nothing to do; nothing sets or dries.

Sat 16 Jan: me
  caution      Wet cement: It burns skin and eyes, and one feels it too late.
               Waterproof gloves, glasses, long sleeves, knee pads; wash it off
               at once with much water, and see a doctor for the eyes. (ASTM
               C1074; the product's safety data sheet)
  09:00–17:00  Set wall and floor tile (part 1 of 2) — me, in shower
               Applies thinset.
               Why then: me not in hours before Sat 09:00
  closed       until Mon 16:10: shower, thinset (Set wall and floor tile) ready
               to walk on

Sun 17 Jan: me
  09:00–10:00  Set wall and floor tile (part 2 of 2) — me, in shower
  closed       until Mon 16:10: shower, thinset (Set wall and floor tile) ready
               to walk on

WHAT DRIVES THE FINISH
  Sat 9 Jan 09:00   Hang backer board — me not in hours before Sat 09:00
  Sat 9 Jan 13:00   Tape and fill the joints — follows Hang backer board
  Sat 9 Jan 15:02   First membrane coat — joint-cement set at 15:02
  Sun 10 Jan 09:00  Second membrane coat — me not in hours before Sun 09:00
  Sat 16 Jan 09:00  Set wall and floor tile — me not in hours before Sat 09:00
  Sun 17 Jan 10:00  Finished

TIME TO SPARE
  critical:       Hang backer board; Tape and fill the joints; First membrane
                  coat; Second membrane coat; Set wall and floor tile
  3 d 1 h 40 min  Flood test
  8 d             Valve delivered

HOLD POINTS
  Tue 12 Jan 15:20  Flood test

BEFORE YOU COVER ANYTHING
  The product's label and the local code win over this plan.
  The surface has the last word: where it is not hard and dry, wait longer.
  Wiring, gas, supply pipes and bearing walls are for licensed trades.
"""

SHOWER_45 = """\
Larch Row shower
  starts Fri 8 Jan 2027 17:00
    (America/Toronto)
  FINISHES Sun 17 Jan 2027 10:00, 8 d 17 h
    after the start
    Proven: no plan finishes earlier.
    In time, 14 h to spare: to be finished by
      Sun 17 Jan 2027 24:00.
  visits 5: me on 4 days and plumber on 1 day
    The fewest possible at this finish.

WHAT THE DATES REST ON
  The waits are worked out for this air, day
    and night:
  shower: 62.6 F (59 F at 03:00, 66.2 F at
    15:00), humidity 55 %
  Colder or damper air makes waits longer, so
    measure it in the room. Times on a label
    are minimums, not promises.
  From the catalogue and not from your own
    label: joint-cement, membrane and
    thinset.

WHERE THE TIME GOES
  61 % outside hours, 5 d 4 h 39 min
  27 % setting and drying, 2 d 6 h 6 min
  12 % work, 24 h 15 min

WARNINGS
  ! nobody gave the job's air: 18 C and 60 %
    are assumed

DAY BY DAY

Fri 8 Jan: nobody comes
  Nothing to do; nothing sets or dries.

Sat 9 Jan: me
  caution Silica dust: Cutting, grinding and
    breaking tile, board, mortar and concrete
    makes dust that scars lungs. Cut wet or
    with a vacuum on the tool, outdoors if
    you can; wear a respirator that fits;
    sweep nothing dry. (29 CFR 1926.1153)
  caution Heaters and carbon monoxide: Where
    you heat a cold room, use electric heat
    or a heater that vents outside. One that
    burns gas, kerosene or propane gives off
    carbon monoxide, which kills, and water
    vapour, which slows drying. Have a carbon
    monoxide alarm. (29 CFR 1926.154 and
    1926.57)
  09:00–13:00 Hang backer board — me, in
    shower
    Why then: me not in hours before Sat
      09:00
    Makes dust.
  13:00–14:30 Tape and fill the joints — me,
    in shower
    Applies joint-cement: rapid-setting joint
      cement.
    Note: Embed the tape; a dry joint cracks.
  15:02–16:02 First membrane coat — me, in
    shower
    Applies membrane: liquid-applied
      membrane, ANSI A118.10.
    Why then: joint-cement set at 15:02
  sets until 15:02: joint-cement (Tape and
    fill the joints) set, for First membrane
    coat (32 min, catalogue 20 min)
  dries until 18:50: membrane (First membrane
    coat) ready to recoat, for Second
    membrane coat (2 h 48 min, catalogue 2 h)
  no dust until 17:26: shower, membrane
    (First membrane coat) dry to the touch
  must start by Sun 16:02: Second membrane
    coat (planned Sun 09:00)

Sun 10 Jan: me
  09:00–09:45 Second membrane coat — me, in
    shower
    Applies membrane.
    Why then: me not in hours before Sun
      09:00
  dries until Mon 01:33: membrane (Second
    membrane coat) ready to tile, for Set
    wall and floor tile (15 h 48 min,
    catalogue 12 h)
  dries until Mon 15:20: membrane (Second
    membrane coat) ready for the flood test,
    for Flood test (29 h 35 min, catalogue
    24 h)
  no dust until 11:09: shower, membrane
    (Second membrane coat) dry to the touch
  must start by 16:02: Second membrane coat
    (planned 09:00)
    If missed: abrade, clean and start again
      with a first coat.

Mon 11 Jan: nobody comes
  caution Permits and inspections: Codes
    differ by place and year. Ask your
    building office which inspections this
    job needs (framing, plumbing, wiring,
    pan) and when; cover nothing before it
    has passed. (the local building code)
  from 15:20 until Tue 15:20: Flood test —
    needs nobody, in shower
    HOLD POINT: go on only when it is passed.
    Why then: membrane ready for the flood
      test at 15:20
  dries until 01:33: membrane (Second
    membrane coat) ready to tile, for Set
    wall and floor tile
  dries until 15:20: membrane (Second
    membrane coat) ready for the flood test,
    for Flood test

Tue 12 – Wed 13 Jan: nobody comes
  goes on until Tue 12 Jan 15:20: Flood
    test — needs nobody, in shower
    HOLD POINT: go on only when it is passed.

Thu 14 Jan: plumber
  08:00 Milestone: Valve delivered — plumber
    Why then: not before Thu 14 Jan

Fri 15 Jan: nobody comes
  Nothing to do; nothing sets or dries.

Sat 16 Jan: me
  caution Wet cement: It burns skin and eyes,
    and one feels it too late. Waterproof
    gloves, glasses, long sleeves, knee pads;
    wash it off at once with much water, and
    see a doctor for the eyes. (ASTM C1074;
    the product's safety data sheet)
  09:00–17:00 Set wall and floor tile
    (part 1 of 2) — me, in shower
    Applies thinset.
    Why then: me not in hours before Sat
      09:00
  closed until Mon 16:10: shower, thinset
    (Set wall and floor tile) ready to walk
    on

Sun 17 Jan: me
  09:00–10:00 Set wall and floor tile
    (part 2 of 2) — me, in shower
  closed until Mon 16:10: shower, thinset
    (Set wall and floor tile) ready to walk
    on

WHAT DRIVES THE FINISH
  Sat 9 Jan 09:00 Hang backer board — me not
    in hours before Sat 09:00
  Sat 9 Jan 13:00 Tape and fill the joints —
    follows Hang backer board
  Sat 9 Jan 15:02 First membrane coat —
    joint-cement set at 15:02
  Sun 10 Jan 09:00 Second membrane coat — me
    not in hours before Sun 09:00
  Sat 16 Jan 09:00 Set wall and floor tile —
    me not in hours before Sat 09:00
  Sun 17 Jan 10:00 Finished

TIME TO SPARE
  critical: Hang backer board; Tape and fill
    the joints; First membrane coat; Second
    membrane coat; Set wall and floor tile
  3 d 1 h 40 min Flood test
  8 d Valve delivered

HOLD POINTS
  Tue 12 Jan 15:20 Flood test

BEFORE YOU COVER ANYTHING
  The product's label and the local code win
    over this plan.
  The surface has the last word: where it is
    not hard and dry, wait longer.
  Wiring, gas, supply pipes and bearing walls
    are for licensed trades.
"""


def test_a_plan_reads_well_at_eighty_columns() -> None:
    assert plan_text(*shower(), 80) == SHOWER_80


def test_a_plan_reads_well_on_a_phone() -> None:
    assert plan_text(*shower(), 45) == SHOWER_45


def flat(text: str) -> str:
    """The text with its lines joined again."""
    return " ".join(text.split())


def day_text(text: str, heading: str) -> str:
    """What stands under the one heading that begins so."""
    (found,) = [block for block in text.split("\n\n") if block.startswith(heading)]
    return found


def one_task(task: Task, *sessions: tuple[int, int], start: int, zone: str = ZONE) -> str:
    job = job_of([task], start=start, zone=zone)
    return plan_text(job, plan_of(job, [placed(task, *sessions)], chain=(task.id,)), 80)


# The top


def test_a_plan_that_is_not_proven_says_what_could_be_gained() -> None:
    job, plan = shower()
    gap = replace(plan, proven_earliest=False, finish_bound=at("2027-01-16 17:00"))
    assert (
        "Not proven the earliest: a better plan could gain 17 h at most (Sat 16 Jan 2027 17:00)."
    ) in flat(plan_text(job, gap, 80))


def test_a_missed_date_says_by_how_much() -> None:
    job, plan = shower()
    text = plan_text(replace(job, finish_by=at("2027-01-15 00:00")), plan, 80)
    assert "TOO LATE by 2 d 10 h: to be finished by Thu 14 Jan 2027 24:00." in flat(text)


def test_a_date_met_to_the_minute_leaves_nothing_to_spare() -> None:
    job, plan = shower()
    text = plan_text(replace(job, finish_by=plan.finish), plan, 80)
    assert "In time, nothing to spare: to be finished by Sun 17 Jan 2027 10:00." in flat(text)


def test_visits_are_counted_by_person_and_say_whether_fewer_may_do() -> None:
    start = at("2027-01-08 17:00")
    frame = Task("frame", "Frame", 6 * HOUR, ("me", "plumber"))
    board = Task("board", "Board", 2 * HOUR, ("me",))
    job = job_of([frame, board], start=start)
    plan = plan_of(
        job,
        [
            placed(
                frame,
                (at("2027-01-08 18:00"), at("2027-01-08 20:00")),
                (at("2027-01-09 08:00"), at("2027-01-09 12:00")),
            ),
            placed(board, (at("2027-01-09 13:00"), at("2027-01-09 15:00"))),
        ],
        visits=4,
        fewest=2,
    )
    text = plan_text(job, plan, 80)
    assert "visits 4: me on 2 days and plumber on 2 days At this finish 2 at least." in flat(text)


def test_work_over_midnight_counts_both_days_of_a_visit() -> None:
    task = Task("pour", "Pour", 3 * HOUR, ("me",))
    job = job_of([task], start=at("2027-01-08 17:00"))
    night = (at("2027-01-08 22:00"), at("2027-01-09 01:00"))
    text = plan_text(job, plan_of(job, [placed(task, night)], visits=2), 80)
    assert "visits 2: me on 2 days" in flat(text)


def test_an_assumed_air_is_shouted() -> None:
    job, plan = shower()
    assumed = replace(
        job, rooms={"shower": replace(job.rooms["shower"], air=Air(18.0, 0.6, assumed=True))}
    )
    assert "shower: 64.4 F, humidity 60 % — ASSUMED, the job file does not say" in flat(
        plan_text(assumed, plan, 80)
    )


def test_rooms_with_the_same_air_share_a_line_and_metric_shows_celsius() -> None:
    coat = product("paint", {"recoat": HOUR})
    tasks = [
        Task(f"t{n}", f"Coat {n}", HOUR, (), room, "paint") for n, room in ((1, "a"), (2, "b"))
    ]
    start = at("2027-01-08 17:00")
    job = job_of(tasks, start=start, products=[coat], rooms={"b": Air(20.0, 0.5)})
    plan = plan_of(
        job,
        [placed(task, (start, start + HOUR)) for task in tasks],
        waits=[
            Wait(task.id, "paint", "recoat", None, start + HOUR, start + 2 * HOUR, HOUR)
            for task in tasks
        ],
    )
    assert "  a and b: 20 C, humidity 50 %\n" in plan_text(job, plan, 80)


def test_times_from_the_owners_label_are_not_called_the_catalogues() -> None:
    job, plan = shower()
    ours = job.products["membrane"]
    own = replace(ours, stages=tuple(replace(s, basis="owner's label") for s in ours.stages))
    text = flat(plan_text(replace(job, products={**job.products, "membrane": own}), plan, 80))
    assert "not from your own label: joint-cement and thinset." in text
    assert "(2 h 48 min, label 2 h)" in text
    assert "(32 min, catalogue 20 min)" in text


def test_without_products_nothing_rests_on_the_air() -> None:
    start = at("2027-01-08 17:00")
    task = Task("frame", "Frame", HOUR)
    assert "REST ON" not in one_task(task, (start, start + HOUR), start=start)


@given(st.dictionaries(st.text(max_size=3), st.integers(1, 10**6), min_size=1, max_size=8))
def test_shares_add_to_a_hundred_and_none_is_off_by_a_whole_percent(parts: dict[str, int]) -> None:
    found = shares(parts)
    assert sum(found.values()) == 100
    for key, share in found.items():
        assert abs(share - 100 * parts[key] / sum(parts.values())) < 1
    assert [parts[key] for key in found] == sorted(parts.values(), reverse=True)


def test_where_the_time_goes_leaves_out_what_took_none() -> None:
    job, plan = shower()
    split = TimeSplit(work=1, waiting=1, room_closed=1)
    lines = day_text(plan_text(job, replace(plan, where_time_goes=split), 80), "WHERE").split("\n")
    assert lines[1:] == [
        "  34 %         work, 1 min",
        "  33 %         setting and drying, 1 min",
        "  33 %         room closed, 1 min",
    ]


# The days


def test_what_lasts_over_days_on_which_somebody_comes_is_told_in_short() -> None:
    start = at("2027-01-08 17:00")
    seal = Task("seal", "Seal the corners", HOUR, ("me",), "bath", "silicone")
    paint = Task("paint", "Paint the door", HOUR, ("me",), "hall")
    job = job_of(
        [seal, paint],
        start=start,
        products=[product("silicone", {"water": 3 * DAY}, law="moisture-cure")],
    )
    done = at("2027-01-08 19:00")
    plan = plan_of(
        job,
        [
            placed(seal, (at("2027-01-08 18:00"), done)),
            placed(
                paint,
                (at("2027-01-10 09:00"), at("2027-01-10 10:00")),
                because=Reason("date", "not before Sun 10 Jan"),
            ),
        ],
        waits=[Wait("seal", "silicone", "water", None, done, done + 3 * DAY, 3 * DAY)],
    )
    text = plan_text(job, plan, 80)
    assert day_text(text, "Sat 9 Jan") == (
        "Sat 9 Jan: nobody comes\n"
        "  cures        until Mon 19:00: silicone (Seal the corners) ready for water"
    )
    assert day_text(text, "Sun 10 Jan") == (
        "Sun 10 Jan: me\n"
        "  09:00–10:00  Paint the door — me, in hall\n"
        "               Why then: not before Sun 10 Jan\n"
        "  still        until Mon 19:00: silicone (Seal the corners) ready for water"
    )


def test_days_on_which_nobody_comes_are_one_heading_with_full_dates() -> None:
    start = at("2027-01-29 08:00")
    pour = Task("pour", "Pour the screed", 2 * HOUR, ("me",), "hall", "screed")
    tile = Task("tile", "Tile", HOUR, ("me",), "hall")
    job = job_of(
        [pour, tile],
        start=start,
        products=[product("screed", {"walk": DAY, "tile": 30 * DAY}, law="thick-drying")],
    )
    dry = at("2027-02-28 14:20")
    plan = plan_of(
        job,
        [
            placed(pour, (start, start + 2 * HOUR)),
            placed(
                tile,
                (at("2027-03-01 18:00"), at("2027-03-01 19:00")),
                because=Reason("hours", "me: next hours Mon 1 Mar 18:00", "pour", "tile"),
            ),
        ],
        waits=[Wait("pour", "screed", "tile", "tile", start + 2 * HOUR, dry, 30 * DAY)],
    )
    assert day_text(plan_text(job, plan, 80), "Sat 30 Jan") == (
        "Sat 30 Jan – Sun 28 Feb: nobody comes\n"
        "  dries        until Sun 28 Feb 14:20: screed (Pour the screed) ready to tile,\n"
        "               for Tile"
    )


def test_a_fixed_wait_names_what_it_follows() -> None:
    start = at("2027-01-08 08:00")
    first, second = Task("a", "Soak", HOUR), Task("b", "Lay", HOUR)
    job = job_of([first, second], start=start)
    end = start + 4 * HOUR
    plan = plan_of(
        job,
        [placed(first, (start, start + HOUR)), placed(second, (end, end + HOUR))],
        waits=[Wait("a", None, None, "b", start + HOUR, end, 3 * HOUR)],
    )
    assert "  waits        until 12:00: after Soak, for Lay (3 h)" in plan_text(job, plan, 80)


def test_several_tasks_that_wait_for_one_stage_share_a_line() -> None:
    job, plan = shower()
    also = Wait(
        "coat-2", "membrane", "tile", "valve", at("2027-01-10 09:45"), at("2027-01-11 01:33"), 720
    )
    text = flat(plan_text(job, replace(plan, waits=(*plan.waits, also)), 80))
    assert (
        "dries until Mon 01:33: membrane (Second membrane coat) ready to tile, "
        "for Set wall and floor tile and Valve delivered (15 h 48 min, catalogue 12 h)"
    ) in text


def test_work_done_at_midnight_starts_its_wait_on_the_same_day() -> None:
    start = at("2027-01-08 18:00")
    task = Task("coat", "Coat", 6 * HOUR, ("me",), "bath", "paint")
    midnight = at("2027-01-09 00:00")
    job = job_of([task], start=start, products=[product("paint", {"touch": HOUR})])
    wait = Wait("coat", "paint", "touch", None, midnight, midnight + HOUR, HOUR)
    text = plan_text(job, plan_of(job, [placed(task, (start, midnight))], waits=[wait]), 80)
    assert day_text(text, "Fri 8 Jan") == (
        "Fri 8 Jan: me\n"
        "  18:00–24:00  Coat — me, in bath\n"
        "               Applies paint.\n"
        "  dries        until Sat 01:00: paint (Coat) dry to the touch (1 h)"
    )
    assert "Sat 9 Jan:" not in text


def test_a_window_is_told_on_the_day_it_opens_and_on_the_day_it_closes() -> None:
    text = plan_text(*shower(), 80)
    assert ("  must start   by Sun 16:02: Second membrane coat (planned Sun 09:00)") in day_text(
        text, "Sat 9 Jan"
    )
    assert (
        "  must start   by 16:02: Second membrane coat (planned 09:00)\n"
        "               If missed: abrade, clean and start again with a first coat."
    ) in day_text(text, "Sun 10 Jan")


def test_a_window_that_closes_after_its_task_is_planned_is_told_again_then() -> None:
    job, plan = shower()
    waits = tuple(
        replace(wait, close_by=at("2027-01-13 16:02")) if wait.close_by else wait
        for wait in plan.waits
    )
    text = plan_text(job, replace(plan, waits=waits), 80)
    told = "  must start   by Wed 13 Jan 16:02: Second membrane coat (planned Sun 10 Jan 09:00)"
    assert flat(told.replace("13 Jan ", "").replace("10 Jan ", "")) in flat(
        day_text(text, "Tue 12 – Wed 13 Jan")
    )


def test_a_window_that_a_days_delay_would_miss_is_told_on_the_planned_day_too() -> None:
    job, plan = shower()

    def told(closes: str) -> bool:
        waits = tuple(
            replace(wait, close_by=at(closes)) if wait.close_by else wait for wait in plan.waits
        )
        text = plan_text(job, replace(plan, waits=waits), 80)
        return "must start" in day_text(text, "Sun 10 Jan")

    assert told("2027-01-11 08:59")
    assert not told("2027-01-11 09:00")


def test_a_window_that_closes_at_midnight_closes_on_the_day_that_ends() -> None:
    job, plan = shower()
    waits = tuple(
        replace(wait, close_by=at("2027-01-11 00:00")) if wait.close_by else wait
        for wait in plan.waits
    )
    text = plan_text(job, replace(plan, waits=waits), 80)
    assert "must start   by 24:00: Second membrane coat" in day_text(text, "Sun 10 Jan")
    assert "must start" not in day_text(text, "Mon 11 Jan")


def test_unattended_work_goes_on_until_its_end_is_told_on_each_day() -> None:
    text = plan_text(*shower(), 80)
    assert "  from 15:20   until Tue 15:20: Flood test" in day_text(text, "Mon 11 Jan")
    assert "  goes on      until Tue 12 Jan 15:20: Flood test" in day_text(text, "Tue 12")


def test_a_task_tells_when_it_must_be_finished_and_makes_dust() -> None:
    start = at("2027-01-08 18:00")
    task = Task("cut", "Cut", HOUR, ("me",), must_finish_by=at("2027-01-10 00:00"), dusty=True)
    assert (
        "  18:00–19:00  Cut — me\n"
        "               Makes dust.\n"
        "               Must be finished by Sat 24:00."
    ) in one_task(task, (start, start + HOUR), start=start)


@pytest.mark.parametrize("kind", ["link", "people"])
def test_what_follows_another_task_at_once_needs_no_reason(kind: str) -> None:
    job, plan = shower()
    because = Reason(kind, "REASON", "board")  # type: ignore[arg-type]  # by parameter

    def told(wall: str) -> bool:
        start = at(wall)
        moved = replace(plan.task["joints"], because=because, start=start)
        moved = replace(moved, sessions=((start, start + 60),))
        tasks = tuple(moved if task.id == "joints" else task for task in plan.tasks)
        return "Why then: REASON" in plan_text(job, replace(plan, tasks=tasks), 80)

    assert not told("2027-01-09 13:00")
    assert told("2027-01-09 13:01")


@pytest.mark.parametrize(
    ("zone", "day", "heading", "told"),
    [
        (
            "America/Toronto",
            "2027-03-14",
            "Sun 14 Mar",
            "go forward 1 h: 02:00 becomes 03:00.",
        ),
        ("America/Toronto", "2027-11-07", "Sun 7 Nov", "go back 1 h: 02:00 becomes 01:00."),
        ("Australia/Lord_Howe", "2027-04-04", "Sun 4 Apr", "go back 30 min: 02:00 becomes 01:30."),
        ("Australia/Sydney", "2027-10-03", "Sun 3 Oct", "go forward 1 h: 02:00 becomes 03:00."),
    ],
)
def test_a_day_on_which_the_clocks_change_says_so(
    zone: str, day: str, heading: str, told: str
) -> None:
    # The dates and hours are the tz database's, read through zoneinfo in scheduler.clock.
    start, end = at(f"{day} 09:00", zone), at(f"{day} 10:00", zone)
    text = one_task(Task("a", "A", HOUR, ("me",)), (start, end), start=start - DAY, zone=zone)
    assert f"clocks {told} Waits keep their true length." in flat(day_text(text, heading))
    assert text.count("clocks ") == 1


def test_a_clock_change_on_a_day_when_nobody_comes_names_the_day() -> None:
    start = at("2027-03-16 09:00")
    text = one_task(Task("a", "A", HOUR), (start, start + HOUR), start=at("2027-03-12 09:00"))
    assert "clocks go forward 1 h on Sun 14 Mar: 02:00 becomes 03:00." in flat(
        day_text(text, "Fri 12 – Mon 15 Mar: nobody comes")
    )


def test_a_time_that_comes_twice_names_its_zone() -> None:
    # 06:30 UTC on that night is the second 01:30, in standard time (tz database).
    start = at("2027-11-06 21:00")
    task = Task("a", "Bake", HOUR)
    end = at("2027-11-07 00:00") + 150
    assert "until Sun 01:30 EST: Bake" in flat(one_task(task, (start, end), start=start))


def test_a_plan_over_the_new_year_has_years_in_its_headings() -> None:
    start = at("2026-12-31 18:00")
    task = Task("a", "A", HOUR, ("me",))
    sessions = ((start, start + 30), (at("2027-01-01 09:00"), at("2027-01-01 09:30")))
    text = one_task(task, *sessions, start=start)
    assert day_text(text, "Thu 31 Dec 2026: me")
    assert day_text(text, "Fri 1 Jan 2027: me")


# The end


def test_the_nearest_and_the_freest_tasks_are_named_with_what_they_can_spare() -> None:
    start = at("2027-01-08 08:00")
    tasks = [Task(f"t{n}", f"Task {n}", HOUR) for n in range(8)]
    job = job_of(tasks, start=start)
    plan = plan_of(
        job, [placed(t, (start, start + HOUR), spare=n * HOUR) for n, t in enumerate(tasks)]
    )
    assert day_text(plan_text(job, plan, 80), "TIME TO SPARE") == (
        "TIME TO SPARE\n"
        "  critical:    Task 0\n"
        "  1 h          Task 1\n"
        "  2 h          Task 2\n"
        "  3 h          Task 3\n"
        "  4 h          Task 4\n"
        "  7 h          Task 7"
    )


def test_an_empty_job_is_still_a_text() -> None:
    job = job_of([], start=at("2027-01-08 08:00"))
    text = plan_text(job, plan_of(job, []), 80)
    assert "Fri 8 Jan: nobody comes\n  Nothing to do; nothing sets or dries." in text
    assert "visits       nobody has to come" in text
    assert "WHERE THE TIME GOES" not in text


def test_a_milestone_at_the_midnight_of_the_finish_has_a_day() -> None:
    start = at("2027-01-08 18:00")
    work, done = Task("w", "Work", 6 * HOUR, ("me",)), Task("d", "Done", 0)
    midnight = at("2027-01-09 00:00")
    job = job_of([work, done], start=start)
    plan = plan_of(job, [placed(work, (start, midnight)), placed(done, at=midnight)])
    text = plan_text(job, plan, 80)
    assert "FINISHES     Fri 8 Jan 2027 24:00" in text
    assert day_text(text, "Sat 9 Jan").split("\n")[1] == "  00:00        Milestone: Done"


def test_a_hold_point_at_the_midnight_of_the_start_is_of_that_day_and_not_the_day_before() -> None:
    midnight = at("2027-01-09 00:00")
    results, work = Task("r", "Results are in", 0, hold=True), Task("w", "Work", 6 * HOUR, ("me",))
    job = job_of([results, work], start=midnight)
    plan = plan_of(job, [placed(results, at=midnight), placed(work, (midnight, midnight + 360))])
    holds = plan_text(job, plan, 80).partition("HOLD POINTS\n")[2]
    assert holds.split("\n")[0].split() == ["Sat", "9", "Jan", "00:00", "Results", "are", "in"]


# What must hold for any plan


def too_long(text: str, width: int) -> list[str]:
    """Lines over the width without one long word (or words that belong together) to blame."""
    room = width - 21  # the widest indent, and a dash after the word
    return [
        line
        for line in text.split("\n")
        if columns(line) > width and max(map(columns, line.split())) <= room
    ]


@pytest.mark.parametrize("width", WIDTHS)
def test_no_line_is_longer_than_the_width(width: int) -> None:
    text = plan_text(*shower(), width)
    assert max(map(columns, text.split("\n"))) <= width
    assert all(line == line.rstrip() for line in text.split("\n"))


@pytest.mark.parametrize("width", WIDTHS)
def test_a_very_long_name_is_wrapped_and_never_cut(width: int) -> None:
    long = " ".join(f"word{n}" for n in range(60))
    start = at("2027-01-08 08:00")
    task = Task("a", long, HOUR, ("me",), "room " * 30)
    job = job_of([task], start=start)
    text = plan_text(job, plan_of(job, [placed(task, (start, start + HOUR))], chain=("a",)), width)
    assert max(map(columns, text.split("\n"))) <= width
    assert flat(text).count(long) == 3  # the day, the chain, the critical tasks


@pytest.mark.parametrize("width", [45, 80])
@pytest.mark.parametrize(
    "name", ["浴室の壁とシャワー室の床にモザイクタイルを張る" * 4, "贴淋浴间墙面和地面的瓷砖" * 8]
)
def test_a_name_without_spaces_goes_on_in_the_next_line(name: str, width: int) -> None:
    start = at("2027-01-08 08:00")
    task = Task("a", name, HOUR, ("わたし",), "浴室" * 20, notes="目地を乾かす。" * 10)
    job = job_of([task], name=name, start=start)
    text = plan_text(job, plan_of(job, [placed(task, (start, start + HOUR))], chain=("a",)), width)
    assert max(map(columns, text.split("\n"))) <= width
    bare = "".join(text.split())
    assert bare.count(name) == 4  # the title, the day, the chain, the critical tasks
    assert "目地を乾かす。" * 10 in bare


def test_a_word_longer_than_the_line_stands_whole() -> None:
    start = at("2027-01-08 08:00")
    task = Task("a", "x" * 100, HOUR)
    assert "x" * 100 in one_task(task, (start, start + HOUR), start=start)


def test_control_characters_in_a_name_do_not_reach_the_terminal() -> None:
    start = at("2027-01-08 08:00")
    task = Task("a", "Set\x1b[2J\ttile\n\u202enow", HOUR, notes="a\r\x07b")
    text = one_task(task, (start, start + HOUR), start=start)
    assert "Set[2J tile now" in text
    assert not set(text) & set("\x1b\t\r\x07\u202e")


def test_sixty_tasks_all_appear() -> None:
    start = at("2027-01-08 08:00")
    tasks = [Task(f"t{n}", f"Task number {n}", HOUR, ("me",)) for n in range(60)]
    job = job_of(tasks, start=start)
    placement = [
        placed(t, (start + n * 7 * HOUR, start + n * 7 * HOUR + HOUR)) for n, t in enumerate(tasks)
    ]
    for width in WIDTHS:
        text = plan_text(job, plan_of(job, placement), width)
        for planned in placement:
            assert session(planned.sessions[0], planned.name) in flat(text)


def session(span: tuple[int, int], called: str, zone: str = ZONE) -> str:
    """How a session within a day begins."""
    start, end = (to_local(minute, zone) for minute in span)
    until = "24:00" if end - timedelta(minutes=1) < end == midnight_of(span[1]) else f"{end:%H:%M}"
    return f"{start:%H:%M}–{until} {called}"


def midnight_of(minute: int) -> object:
    local = to_local(minute, ZONE)
    return local.replace(hour=0, minute=0) if (local.hour, local.minute) == (0, 0) else None


weird = st.text(st.characters(exclude_categories=("Cs", "Cn")), min_size=1, max_size=30).filter(
    lambda text: bool(tidy(text))
)
BASE = at("2027-03-10 08:00")  # four days before the clocks change


@st.composite
def plans(draw: st.DrawFn) -> tuple[Job, Plan]:
    """Plans of no sense but of the right shape."""
    paint = product("paint", {"touch": HOUR, "recoat": 2 * HOUR}, dust_shy="touch", closes="recoat")
    tasks, placement, waits = [], [], []
    for n in range(draw(st.integers(1, 5))):
        work = draw(st.sampled_from((0, HOUR)))
        who = draw(st.sampled_from(((), ("me",), ("me", "helper"))))
        room = draw(st.sampled_from((None, "bath", "hall")))
        task = Task(
            f"t{n}", draw(weird), work, who, room, "paint" if work else None,
            hold=draw(st.booleans()), notes=draw(st.one_of(st.just(""), weird)),
        )  # fmt: skip
        ends = sorted(draw(st.sets(st.integers(0, 9000), min_size=4, max_size=4)))
        spans = [(BASE + ends[0], BASE + ends[1]), (BASE + ends[2], BASE + ends[3])]
        planned = placed(task, *spans if work else (), at=spans[0][0])
        tasks.append(task)
        placement.append(planned)
        if work:
            stage = draw(st.sampled_from(("touch", "recoat")))
            end = planned.finish + draw(st.integers(1, 20_000))
            close = draw(st.one_of(st.none(), st.integers(0, 5000)))
            target = f"t{draw(st.integers(0, n))}" if close is not None else None
            waits.append(
                Wait(task.id, "paint", stage, target, planned.finish, end, HOUR,
                     None if close is None else end + close)
            )  # fmt: skip
    job = job_of(tasks, start=BASE, products=[paint])
    split = TimeSplit(*draw(st.tuples(*[st.integers(0, 5000)] * 7)))
    chain = tuple(task.id for task in tasks)
    return job, plan_of(job, placement, waits=waits, split=split, chain=chain, visits=1)


def sessions_of(plan: Plan) -> Iterator[tuple[str, tuple[int, int]]]:
    for task in plan.tasks:
        parts = len(task.sessions)
        for part, span in enumerate(task.sessions, 1):
            yield f"{tidy(task.name)} (part {part} of {parts})", span


@settings(max_examples=60, deadline=None)
@given(plans(), st.sampled_from(WIDTHS))
def test_every_task_session_and_wait_of_any_plan_is_told(
    case: tuple[Job, Plan], width: int
) -> None:
    job, plan = case
    text = plan_text(job, plan, width)
    assert not too_long(text, width)
    joined = flat(text)
    for task in plan.tasks:
        assert tidy(task.name) in joined
    for called, span in sessions_of(plan):
        start, last = to_local(span[0], ZONE), to_local(span[1] - 1, ZONE)
        if start.date() == last.date():
            assert session(span, called) in joined
        else:
            assert f"from {start:%H:%M} until" in joined
            assert joined.count(called) >= 2
    for wait in plan.waits:
        end = f"{to_local(wait.end, ZONE):%H:%M}:"
        assert f"{end} paint ({tidy(plan.task[wait.task].name)})" in joined or (
            f"{end} {job.task[wait.task].room}, paint ({tidy(plan.task[wait.task].name)})" in joined
        )


@settings(max_examples=30, deadline=None)
@given(plans(), st.sampled_from(("ascii", "latin-1", "cp437", "cp1252", "utf-8", "no-such-codec")))
def test_a_text_fits_any_stream_without_question_marks(
    case: tuple[Job, Plan], encoding: str
) -> None:
    text = plan_text(*case, 80)
    fit = plain(text, encoding)
    assert fit.encode("ascii" if encoding == "no-such-codec" else encoding)
    assert fit.count("\n") == text.count("\n")


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp437", "utf-8"])
def test_our_own_words_keep_their_width_on_every_stream(encoding: str) -> None:
    for width in WIDTHS:
        text = plan_text(*shower(), width)
        fit = plain(text, encoding)
        assert "?" not in fit
        assert fit.encode(encoding).decode(encoding) == fit
        assert [len(line) for line in fit.split("\n")] == [len(line) for line in text.split("\n")]
