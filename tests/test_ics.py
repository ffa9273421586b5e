"""Calendar files: the right moments in every reader, and the form that RFC 5545 asks for.

Sections are of RFC 5545 unless another is named. vobject and ics are the readers from outside;
icalendar wrote the file, so its own reading only shows that nothing got lost on the way.
"""

import re

import ics
import pytest
import vobject
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.clock import DAY
from scheduler.ics import calendar
from scheduler.model import Task
from tests.planfactory import at, shower
from tests.readback import (
    NOW,
    ZONES,
    ZONES_AND_READERS,
    Reader,
    changes,
    events,
    in_utc,
    lines,
    revisions,
    round_the_changes,
    said,
    simple,
    spans_by_ics,
    spans_by_vobject,
)

# ---------------------------------------------------------------------- times


@pytest.mark.parametrize(("zone", "read"), ZONES_AND_READERS)
def test_every_reader_has_the_plans_utc_times_round_both_clock_changes(
    zone: str, read: Reader
) -> None:
    # 3.3.5 (local time that comes twice is its first), 3.6.5; the times are the plan's own.
    sessions = round_the_changes(zone)
    job, plan = simple(*sessions, zone=zone)
    found = read(calendar(job, plan, NOW))
    assert sorted(found.values()) == [(in_utc(start), in_utc(end)) for start, end in sessions]


def test_the_zones_change_as_often_as_the_test_above_relies_on() -> None:
    # Source: IANA database, 2027: two changes; none in India; Ramadan in Morocco makes two.
    counts = {zone: len(changes(zone)) for zone in ZONES}
    steady = {"Asia/Kolkata", "UTC"}
    assert counts == {zone: 0 if zone in steady else 2 for zone in ZONES}


def test_the_second_half_past_one_of_the_autumn_night_is_written_in_utc() -> None:
    # 3.3.5: "If the local time described occurs more than once [...], the DATE-TIME value refers
    # to the first occurrence", so local time can't say the second.
    first = at("2027-11-07 01:30")
    job, plan = simple((first, first + 15), (first + 60, first + 75))
    starts = [line for line in lines(calendar(job, plan, NOW)) if line.startswith("DTSTART")]
    assert "DTSTART;TZID=America/Toronto:20271107T013000" in starts
    assert "DTSTART:20271107T063000Z" in starts


@pytest.mark.parametrize("zone", ["UTC", "Africa/Casablanca"])
def test_without_a_yearly_rule_there_is_no_zone_and_every_time_is_utc(zone: str) -> None:
    job, plan = simple(*round_the_changes(zone), zone=zone)
    content = calendar(job, plan, NOW)
    assert b"TZID" not in content
    assert all(
        line.endswith("Z") for line in lines(content) if line.startswith(("DTSTART", "DTEND"))
    )


def test_every_tzid_names_the_one_zone_that_the_file_defines() -> None:
    # 3.2.19: a TZID MUST have its VTIMEZONE in the same object.
    job, plan = shower()
    content = calendar(job, plan, NOW).decode()
    assert set(re.findall(r"TZID=([^:;]+)", content)) == {"America/Toronto"}
    assert re.findall(r"^TZID:(.+)\r$", content, re.MULTILINE) == ["America/Toronto"]


# ---------------------------------------------------------------------- form


def test_the_file_has_what_a_calendar_must_have_and_no_method() -> None:
    # 3.6, 3.7.3, 3.7.4 (PRODID and VERSION once); 3.7.2: without METHOD it is a snapshot.
    content = lines(calendar(*shower(), NOW))
    assert content[0] == "BEGIN:VCALENDAR"
    assert content[-2:] == ["END:VCALENDAR", ""]
    assert sum(line.startswith("PRODID:") for line in content) == 1
    assert content.count("VERSION:2.0") == 1
    assert not any(line.startswith(("METHOD", "ORGANIZER", "X-WR-CALNAME")) for line in content)


def test_vobject_finds_every_component_valid() -> None:
    whole = vobject.readOne(calendar(*shower(), NOW).decode())
    assert whole.validate(raiseException=True)


NASTY = (
    'Grout, "seal"; C:\\new\\table \\, ünïcödé Fuß 浴室 \U0001f6bf\U0001f468‍\U0001f527 ' + "é" * 90
)


def test_lines_end_in_crlf_and_hold_at_most_75_octets_of_whole_characters() -> None:
    # 3.1: CRLF; "Lines of text SHOULD NOT be longer than 75 octets"; UTF-8 without BOM.
    task = Task("board", NASTY, 60, ("me",), "shower", notes=NASTY * 5)
    content = calendar(*simple((NOW, NOW + 60), task=task), NOW)
    physical = content.split(b"\r\n")
    assert physical[-1] == b""
    assert all(b"\n" not in line and b"\r" not in line for line in physical)
    assert max(map(len, physical)) <= 75
    assert all(line.decode("utf-8") is not None for line in physical)
    assert not content.startswith(b"\xef\xbb\xbf")


def test_commas_semicolons_backslashes_and_every_script_come_back_in_each_reader() -> None:
    # 3.3.11: TEXT escapes backslash, semicolon, comma and newline; a colon is not escaped.
    notes = f"{NASTY}\nsecond line: a\\nb\n\ttabbed"
    task = Task("board", NASTY, 60, ("me",), "shower", notes=notes)
    content = calendar(*simple((NOW, NOW + 60), task=task), NOW)
    other = vobject.readOne(content.decode()).vevent
    (own,) = events(content)
    assert other.summary.value == str(own["SUMMARY"]) == NASTY
    for description in (other.description.value, said(own)):
        assert f"Notes: {notes}\n" in description


def test_text_comes_back_in_ics_too() -> None:
    # Without a backslash before an n: ics unescapes "\\\\n" to a backslash and a new line.
    name = NASTY.replace("\\new", "\\old")
    task = Task("board", name, 60, ("me",), "shower", notes=f"{name}\nsecond; line")
    (event,) = ics.Calendar(calendar(*simple((NOW, NOW + 60), task=task), NOW).decode()).events
    assert event.name == name
    assert f"Notes: {name}\nsecond; line\n" in event.description


@settings(deadline=None)  # the machine may be busy
@given(name=st.text(min_size=1), notes=st.text())
def test_no_text_breaks_the_file(name: str, notes: str) -> None:
    # 3.1 and 3.3.11: no control character but HTAB and the line ends.
    task = Task("board", name, 60, ("me",), "shower", notes=notes)
    content = calendar(*simple((NOW, NOW + 60), task=task), NOW)
    assert not re.search("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029]", content.decode())
    assert len(spans_by_vobject(content)) == len(spans_by_ics(content)) == 1
    assert calendar(*simple((NOW, NOW + 60), task=task), NOW + DAY, content) == content


def test_control_characters_go_and_every_kind_of_line_end_stays_one() -> None:
    task = Task(
        "board", "Ha\x07ng\x00 the\r\nboard", 60, ("me",), "shower", notes="a\r\nb\rc\u2028d\x1be"
    )
    (event,) = events(calendar(*simple((NOW, NOW + 60), task=task), NOW))
    assert event["SUMMARY"] == "Hang the board"
    assert "Notes: a\nb\nc\nde\n" in said(event)


def test_half_a_character_from_an_escape_in_the_job_file_is_replaced() -> None:
    task = Task("board", "Hang \ud83d board", 60, ("me",), "shower")
    (event,) = events(calendar(*simple((NOW, NOW + 60), task=task), NOW))
    assert event["SUMMARY"] == "Hang ? board"


def test_the_same_plan_and_moment_give_the_same_bytes() -> None:
    assert calendar(*shower(), NOW) == calendar(*shower(), NOW)


def test_nothing_about_the_machine_or_person_is_in_the_identities() -> None:
    # RFC 7986, 5.3: a UID should not hold personal data or a host's name.
    uuid = r"[0-9a-f]{8}-[0-9a-f]{4}-5[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}"
    for uid in revisions(calendar(*shower(), NOW)):
        assert re.fullmatch(rf"{uuid}@thenwait\.invalid", uid)
