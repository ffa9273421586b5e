"""A calendar file that replaces another: identities, what rises, what stays, what is refused.

Sections are of RFC 5545 unless another is named.
"""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.clock import DAY, instant
from scheduler.errors import ThenwaitError
from scheduler.ics import calendar
from tests.planfactory import shower
from tests.readback import (
    NOW,
    READERS,
    ZONES,
    Reader,
    events,
    in_utc,
    moved,
    revisions,
    round_the_changes,
    simple,
    spans_by_vobject,
    titled,
    without,
)

# ---------------------------------------------------------------------- identity


def test_every_uid_is_there_once_and_stays_when_titles_times_and_order_change() -> None:
    # 3.8.4.7: a UID is the globally unique and persistent name of a component.
    job, plan = shower()
    before = [str(event["UID"]) for event in events(calendar(job, plan, NOW))]
    assert len(set(before)) == len(before) == 16
    renamed = replace(
        plan,
        tasks=tuple(replace(task, name=f"{task.name} again") for task in reversed(plan.tasks)),
    )
    after = [
        str(event["UID"]) for event in events(calendar(job, moved(renamed, "board", -999), NOW))
    ]
    assert sorted(after) == sorted(before)


def test_the_first_sessions_keep_their_uids_when_a_task_takes_more_of_them() -> None:
    sessions = [(NOW + n * DAY, NOW + n * DAY + 60) for n in range(3)]
    short, long = (calendar(*simple(*sessions[:n]), NOW) for n in (2, 3))
    assert list(revisions(short)) == list(revisions(long))[:2]


def test_two_jobs_never_share_a_uid_but_spelling_of_the_name_does_not_matter() -> None:
    job, plan = shower()
    uids = [
        set(revisions(calendar(replace(job, name=name), plan, NOW)))
        for name in ("Larch Row shower", "larch  row: SHOWER", "Larch Row bath", "浴室", "台所")
    ]
    assert uids[0] == uids[1]
    assert not any(uids[a] & uids[b] for a, b in ((0, 2), (0, 3), (2, 3), (3, 4)))


# ---------------------------------------------------------------------- revision


def test_without_a_file_before_sequence_is_the_minutes_since_2026_and_stamps_are_now() -> None:
    # 3.8.7.4 SEQUENCE; 3.8.7.2: without METHOD, DTSTAMP is LAST-MODIFIED.
    now = instant(datetime(2026, 1, 1, 12, 34, tzinfo=UTC))
    for event in events(calendar(*shower(), now)):
        assert event.sequence == 12 * 60 + 34
        assert event.decoded("DTSTAMP") == event.decoded("LAST-MODIFIED") == in_utc(now)


def test_an_unchanged_plan_gives_unchanged_bytes_whenever_it_is_written() -> None:
    job, plan = shower()
    before = calendar(job, plan, NOW)
    assert calendar(job, plan, NOW + 400 * DAY, before) == before


@pytest.mark.parametrize("zone", ZONES)
def test_unchanged_bytes_in_every_zone_and_round_its_clock_changes(zone: str) -> None:
    job, plan = simple(*round_the_changes(zone), zone=zone)
    before = calendar(job, plan, NOW)
    assert calendar(job, plan, NOW + DAY, before) == before


def test_only_what_moved_rises_by_one_and_is_stamped_anew() -> None:
    job, plan = shower()
    before = calendar(job, plan, NOW)
    after = calendar(job, moved(plan, "valve", 30), NOW + DAY, before)
    old, new = revisions(before), revisions(after)
    valve = str(titled(after, "Valve delivered")["UID"])
    assert new == old | {valve: old[valve] + 1}
    stamps = {str(event["UID"]): event.decoded("DTSTAMP") for event in events(after)}
    assert {uid for uid, stamp in stamps.items() if stamp == in_utc(NOW + DAY)} == {valve}
    again = calendar(job, moved(plan, "valve", 60), NOW + 2 * DAY, after)
    assert revisions(again)[valve] == old[valve] + 2


def test_a_new_title_or_note_counts_as_a_change() -> None:
    job, plan = shower()
    before = calendar(job, plan, NOW)
    board = replace(job.task["board"], notes="Screws every 12 in.")
    noted = replace(job, tasks=(board, *job.tasks[1:]))
    after = calendar(noted, plan, NOW + DAY, before)
    risen = {uid for uid, n in revisions(after).items() if n != revisions(before)[uid]}
    assert risen == {str(titled(after, "Hang backer board")["UID"])}


def test_another_zone_changes_every_event_and_no_moment() -> None:
    job, plan = shower()
    before = calendar(job, plan, NOW)
    zone = "America/Winnipeg"
    after = calendar(replace(job, timezone=zone), replace(plan, timezone=zone), NOW + DAY, before)
    assert revisions(after) == {uid: n + 1 for uid, n in revisions(before).items()}
    assert {*spans_by_vobject(after)} == {*spans_by_vobject(before)}
    work = str(titled(before, "Hang backer board")["UID"])
    assert spans_by_vobject(after)[work] == spans_by_vobject(before)[work]


@pytest.mark.parametrize("read", READERS)
def test_a_dropped_task_stays_as_cancelled_for_60_days(read: Reader) -> None:
    # RFC 5546, 2.1.4: a cancellation is a revision too. 3.8.1.11: STATUS:CANCELLED.
    job, plan = shower()
    before = calendar(job, plan, NOW)
    valve = titled(before, "Valve delivered")
    less = without(job, plan, "valve")
    after = calendar(*less, NOW + DAY, before)
    gone = titled(after, "Valve delivered")
    assert gone["UID"] == valve["UID"]
    assert gone["STATUS"] == "CANCELLED"
    assert gone["SUMMARY"] == "Cancelled: Valve delivered"
    assert gone["TRANSP"] == "TRANSPARENT"
    assert gone.sequence == valve.sequence + 1
    assert gone.decoded("DTSTAMP") == in_utc(NOW + DAY)
    assert read(after)[str(gone["UID"])] == read(before)[str(gone["UID"])]
    assert calendar(*less, NOW + 61 * DAY, after) == after
    assert b"Valve delivered" not in calendar(*less, NOW + 61 * DAY + 1, after)


def test_cancelled_events_ring_no_alarm() -> None:
    job, plan = shower()
    before = calendar(job, plan, NOW)
    open_ended = replace(plan, waits=tuple(replace(wait, close_by=None) for wait in plan.waits))
    after = calendar(job, open_ended, NOW + DAY, before)
    assert titled(after, "Last moment")["STATUS"] == "CANCELLED"
    assert b"VALARM" in before
    assert b"VALARM" not in after


def test_a_task_that_comes_back_rises_over_its_cancellation() -> None:
    job, plan = shower()
    first = calendar(job, plan, NOW)
    gone = calendar(*without(job, plan, "valve"), NOW + DAY, first)
    back = calendar(job, plan, NOW + 2 * DAY, gone)
    event = titled(back, "Valve delivered")
    assert event["STATUS"] == "CONFIRMED"
    assert event.sequence == titled(first, "Valve delivered").sequence + 2


def test_a_new_task_starts_over_anything_written_before() -> None:
    # The file may once have held it and dropped it for good.
    job, plan = shower()
    before = calendar(*without(job, plan, "valve"), NOW)
    after = titled(calendar(job, plan, NOW + DAY, before), "Valve delivered")
    assert after.sequence == revisions(before).popitem()[1] + DAY


def test_a_lost_file_still_gives_a_higher_sequence() -> None:
    job, plan = shower()
    before = calendar(job, plan, NOW)
    changed = calendar(job, moved(plan, "valve", 30), NOW + 5, before)
    anew = calendar(job, plan, NOW + 10)
    assert all(n > revisions(changed)[uid] for uid, n in revisions(anew).items())


def test_an_empty_file_loses_nothing_and_is_replaced() -> None:
    assert calendar(*shower(), NOW, b"\r\n") == calendar(*shower(), NOW)


# ---------------------------------------------------------------------- refusals


def refusal(previous: bytes) -> str:
    with pytest.raises(ThenwaitError) as refused:
        calendar(*shower(), NOW + DAY, previous)
    return str(refused.value)


OURS = calendar(*shower(), NOW)
FOREIGN = b"BEGIN:VEVENT\r\nUID:1@home\r\nSUMMARY:Dentist\\, again\r\nDTSTART:20270101T100000Z\r\n"
FOREIGN += b"DTSTAMP:20270101T100000Z\r\nEND:VEVENT\r\n"
END = b"END:VCALENDAR\r\n"


@pytest.mark.parametrize(
    ("previous", "why"),
    [
        (b"job: Larch Row shower\n", "can't be read as a calendar"),
        (b"\x00\x01\xff\xfe" * 9, "can't be read as a calendar"),
        (OURS[: len(OURS) // 2], "can't be read as a calendar"),
        (OURS + OURS, "can't be read as a calendar"),
        (FOREIGN, "it is a VEVENT"),
        (OURS.replace(b":20270109T090000", b":noon"), "can't be read as a calendar (DTSTART"),
        (OURS.replace(b"SEQUENCE:", b"SEQUENCE:x"), "can't be read as a calendar (SEQUENCE"),
        (OURS.replace(END, FOREIGN + END), "holds 'Dentist, again', which thenwait did not write"),
        (
            OURS.replace(END, b"BEGIN:VTODO\r\nUID:2@home\r\nEND:VTODO\r\n" + END),
            "holds 'VTODO', which thenwait did not write",
        ),
        (OURS.replace(b"-//thenwait//", b"-//other//"), "was written by another program"),
        (
            calendar(replace(shower()[0], name="Bath, up\\stairs"), shower()[1], NOW),
            "belongs to another job, 'Bath, up\\stairs'",
        ),
        (
            OURS.replace(b"STATUS:CONFIRMED\r\n", b""),
            "holds 'Hang backer board', which is not as thenwait wrote it",
        ),
        (
            OURS.replace(b"STATUS:CONFIRMED\r\n", b"STATUS:CONFIRMED\r\n" * 2),
            "holds 'Hang backer board', which is not as thenwait wrote it",
        ),
        (
            OURS.replace(b"DTSTART;TZID=America/Toronto:20270109T090000", b"DTSTART:20270109T0900"),
            "can't be read as a calendar (DTSTART",
        ),
        (
            OURS.replace(b"DTSTART;TZID=America/Toronto:", b"DTSTART:"),
            "holds 'Hang backer board', which is not as thenwait wrote it",
        ),
        *(
            (
                OURS.replace(b":20270109T090000", f":{year}T000000".encode()),
                "holds 'Hang backer board', which is not as thenwait wrote it",
            )
            for year in ("00010101", "99991231")  # no such moment in UTC
        ),
        (
            OURS.replace(b"DTSTAMP:20270105T150000Z", b"DTSTAMP;VALUE=DATE:20270105"),
            "holds 'Hang backer board', which is not as thenwait wrote it",
        ),
    ],
)
def test_a_file_that_would_lose_something_is_refused_with_the_reason(
    previous: bytes, why: str
) -> None:
    message = refusal(previous)
    assert why in message
    assert message.startswith("the calendar file that would be replaced ")
    assert message.endswith("; write to another file, or move this one away first")
    assert "\n" not in message


LINES = OURS.split(b"\r\n")


@settings(deadline=None)  # the machine may be busy
@given(
    st.integers(0, len(LINES) - 1),
    st.lists(st.one_of(st.sampled_from(LINES), st.binary(max_size=9)), max_size=2),
    st.integers(0, 2),
)
def test_lines_lost_or_put_in_are_taken_or_refused_but_never_a_traceback(
    place: int, put: list[bytes], lost: int
) -> None:
    damaged = b"\r\n".join([*LINES[:place], *put, *LINES[place + lost :]])
    try:
        after = calendar(*shower(), NOW + DAY, damaged)
    except ThenwaitError:
        return
    assert set(revisions(OURS)) <= set(revisions(after))


@settings(deadline=None)  # the machine may be busy
@given(st.integers(0, len(OURS) - 1), st.binary(max_size=4), st.integers(0, 40))
def test_damage_anywhere_in_the_file_is_taken_or_refused_but_never_a_traceback(
    place: int, put: bytes, cut: int
) -> None:
    damaged = OURS[:place] + put + OURS[place + cut :]
    try:
        after = calendar(*shower(), NOW + DAY, damaged)
    except ThenwaitError:
        return
    assert set(revisions(OURS)) <= set(revisions(after))
