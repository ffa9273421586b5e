"""Lines of a log: written, read back, torn, in any order."""

from codecs import BOM_UTF16_BE, BOM_UTF16_LE
from datetime import UTC, datetime
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.clock import instant
from scheduler.errors import BadFile
from scheduler.log.folding import folded
from scheduler.log.lines import EVENTS, Line, Said, Unclear, Undone, Unread, line_text, read_line
from scheduler.log.reading import CUT_OFF, LARGEST, cut_off_in_words, read_log
from scheduler.model import Event, Log, Reading
from scheduler.quantities import Units
from tests.support.examples import examples

DONE = "2027-01-09T12:00:04-05:00 done pan at 2027-01-09T11:30-05:00"
AIR = "2027-01-09T12:01:20-05:00 air 61.5 F 55 % in shower at 2027-01-09T12:00-05:00"
HALF_PAST = instant(datetime(2027, 1, 9, 16, 30, tzinfo=UTC))
NOON = instant(datetime(2027, 1, 9, 17, 0, tzinfo=UTC))


# ----------------------------------------------------------------------------- one line


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (DONE, Event(HALF_PAST, "done", "pan")),
        (f"{DONE} # set before lunch", Event(HALF_PAST, "done", "pan", "set before lunch")),
        (f"{DONE} #1 of 2 # dry", Event(HALF_PAST, "done", "pan", "1 of 2 # dry")),
        (AIR, Reading(NOON, "shower", 16.38888888888889, 0.55)),
        (AIR.replace(" in shower", "").replace("61.5 F ", ""), Reading(NOON, None, None, 0.55)),
        (DONE.replace("done", "undone"), Undone(HALF_PAST, "pan")),
        (DONE.replace("done", "undelivered"), Undone(HALF_PAST, "pan", delivery=True)),
        (AIR.replace("61.5 F 55 %", "undone"), Unread("shower", NOON, NOON)),
        (
            AIR.replace("61.5 F 55 %", "undone").replace("at ", "from 2027-01-09T11:30-05:00 to "),
            Unread("shower", HALF_PAST, NOON),
        ),
        # As somebody may have typed it by hand.
        (" 2027-01-09T17:00Z  Done  pan at 2027-01-09T16:30:59Z ", Event(HALF_PAST, "done", "pan")),
    ],
)  # fmt: skip
def test_a_line_says(text: str, said: Said) -> None:
    assert read_line(text).said == said


def test_when_it_was_written_counts_to_the_second() -> None:
    assert read_line(DONE).written == NOON * 60 + 4
    assert read_line(DONE.replace("-05:00 done", "+05:30 done")).written == NOON * 60 + 4 - 37_800


@pytest.mark.parametrize(
    ("text", "column", "message"),
    [
        ("done pan", 1, "must begin with when it was written: 2027-01-09T12:00:04-05:00"),
        ("2027-01-09T12:00:04 done pan", 1, "must begin with when it was written"),
        ("2027-02-30T12:00:04Z done pan", 1, "a moment that the calendar has"),
        ("1066-10-14T12:00:04Z done pan", 1, "must be in the years 1990 to 2150"),
        ("2027-01-09T12:00:04Z", 21, "must say what happened: started, done, passed, failed"),
        ("2027-01-09T12:00:04Z doen pan", 22, "did you mean 'done'"),
        ("2027-01-09T12:00:04Z done", 26, "must name what is done, such as: done pan at"),
        ("2027-01-09T12:00:04Z done pan", 30, "must go on with 'at' and a moment: done pan at"),
        ("2027-01-09T12:00:04Z done pan on sat", 31, "must go on with 'at' and a moment"),
        ("2027-01-09T12:00:04Z done pan at", 33, "must be a moment with its offset, such as"),
        ("2027-01-09T12:00:04Z done pan at 9:00", 34, "(found '9:00')"),
        (f"{DONE} yes", 62, "must end here, or go on with # and a note (found 'yes')"),
        ("2027-01-09T12:00:04Z air", 25, "must be a state of the air such as 73 F 50 %"),
        ("2027-01-09T12:00:04Z air warm at", 26, "(found 'warm')"),
        ("2027-01-09T12:00:04Z air 200 F at", 26, "must be a temperature from -40 C to 80 C"),
        ("2027-01-09T12:00:04Z air 68 F in", 33, "must name a room"),
        ("2027-01-09T12:00:04Z air undone shower", 33, "must go on with 'at' and a moment"),
        (f"{DONE} # dry{DONE}", 62, "must be two lines: they have run together"),
        (f"{DONE}{DONE}", 39, "must be a moment with its offset"),
    ],
)
def test_what_is_no_line_is_refused_where_it_goes_wrong(
    text: str, column: int, message: str
) -> None:
    with pytest.raises(Unclear) as refused:
        read_line(text)
    assert (refused.value.column, message in str(refused.value)) == (column, True), refused.value


names = st.from_regex(r"[a-z0-9][a-z0-9_-]{0,12}", fullmatch=True)
minutes = st.integers(HALF_PAST - 10**6, HALF_PAST + 10**6)
notes = st.text(st.characters(exclude_categories=["C", "Z"]), max_size=20)
tenths = st.integers(-399, 799).map(lambda tenth: tenth / 10)
shares = st.integers(0, 1000).map(lambda share: share / 1000)
readings = st.one_of(
    st.builds(Reading, minutes, st.none() | names, tenths, st.none() | shares),
    st.builds(Reading, minutes, st.none() | names, st.none(), shares),
)
spans = st.tuples(minutes, minutes).map(sorted)
sayings: st.SearchStrategy[Said] = st.one_of(
    st.builds(Event, minutes, st.sampled_from(EVENTS), names),
    st.builds(Undone, minutes, names, st.booleans()),
    readings,
    st.builds(lambda room, ends: Unread(room, *ends), st.none() | names, spans),
)
zones = st.sampled_from(["America/Toronto", "Europe/Berlin", "Australia/Lord_Howe", "Etc/UTC"])
units: st.SearchStrategy[Units] = st.sampled_from(("metric", "imperial"))


@given(st.integers(1_500_000_000, 2_500_000_000), sayings, zones, units, notes)
@examples(300)
def test_a_line_is_read_back_as_it_was_written(
    written: int, said: Said, zone: str, unit: Units, note: str
) -> None:
    line = read_line(line_text(written, said, zone, unit, note))
    back = line.said
    if isinstance(back, Event):
        assert back.note == note
        back = Event(back.at, back.kind, back.of)
    if isinstance(said, Reading) and isinstance(back, Reading):
        assert (back.at, back.room) == (said.at, said.room)
        assert (back.temperature is None) == (said.temperature is None)
        assert back.humidity == pytest.approx(said.humidity)
        assert (back.temperature or 0) == pytest.approx(said.temperature or 0, abs=1e-9)
    else:
        assert back == said
    assert line.written == written


@given(sayings, zones, units, st.data())
@examples(300)
def test_a_part_of_a_line_is_never_another_line(
    said: Said, zone: str, unit: Units, data: st.DataObject
) -> None:
    text = line_text(NOON * 60, said, zone, unit)
    for end in {*range(1, len(text), 7), len(text) - 1, data.draw(st.integers(1, len(text) - 1))}:
        with pytest.raises(Unclear):
            read_line(text[:end])


# ----------------------------------------------------------------------------- the file


def test_a_log_is_read_as_editors_leave_it() -> None:
    content = f"\ufeff{DONE}\r\n\r\n# a remark\r\n{AIR}\r\n".encode()
    file = read_log(content, "job.log")
    assert [line.text for line in file.lines] == [DONE, AIR]
    assert [(line.row, line.column) for line in file.lines] == [(1, 32), (4, 46)]
    assert (file.cut_off, file.problems) == ((), ())
    assert read_log("\ufeff".encode(), "job.log").cut_off == ()


def test_a_line_without_an_end_counts_for_nothing_and_is_told() -> None:
    file = read_log(f"{AIR}\n{DONE}".encode(), "job.log")
    assert [line.text for line in file.lines] == [AIR]
    assert cut_off_in_words(file) == (
        "job.log:2: this line was cut off while it was written and counts for nothing; "
        "if it should, log it again",
    )
    marked = read_log(f"{DONE} {CUT_OFF}\n{AIR}\n".encode(), "job.log")
    assert (marked.cut_off, [line.text for line in marked.lines]) == ((1,), [AIR])


def test_at_whatever_byte_it_is_torn_only_the_last_line_is_lost() -> None:
    before, last = f"{DONE}\n".encode(), f"{AIR} # Maß\n".encode()
    for end in range(len(last)):
        file = read_log(before + last[:end], "job.log")
        assert [line.text for line in file.lines] == [DONE]
        assert (file.cut_off, file.problems) == ((2,) if end else (), ())


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"x" * (LARGEST + 1), "job.log:1:1: larger than 16 MB, so it is no log of a job"),
        (f"{DONE}\n".encode("utf-16"), "job.log:1:1: must be UTF-8 text; this is UTF-16"),
    ],
)
def test_what_is_no_log_at_all_is_refused(content: bytes, told: str) -> None:
    with pytest.raises(BadFile) as refused:
        read_log(content, "job.log")
    assert str(refused.value) == told


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (b"done pan\n", "job.log:1:1: must begin with when it was written"),
        (f"{DONE} # Ma\xdf\n".encode("latin-1"), "job.log:1:66: must be UTF-8 text"),
        (b"2027\x00-01\n", "job.log:1:5: can't hold the control character '\\x00'"),
        (b"<<<<<<< ours\n", "job.log:1:1: two logs were merged here and not put together"),
        (b"=======\n", "job.log:1:1: two logs were merged here and not put together"),
    ],
)
def test_what_cannot_be_read_is_a_problem_and_the_rest_is_read(line: bytes, told: str) -> None:
    file = read_log(line + f"{AIR}\n".encode(), "job.log")
    assert [each.text for each in file.lines] == [AIR]
    (problem,) = file.problems
    assert str(problem).startswith(told)


@given(st.binary(max_size=200))
@examples(300)
def test_any_bytes_are_lines_problems_or_no_log(content: bytes) -> None:
    if content.startswith((BOM_UTF16_LE, BOM_UTF16_BE)):
        return  # refused, as above
    file = read_log(content, "job.log")
    rows = content.count(b"\n") + 1
    assert all(1 <= problem.line <= rows for problem in file.problems)
    assert len(file.lines) + len(file.problems) + len(file.cut_off) <= rows


# ------------------------------------------------------------------------- in any order


def log_of(*texts: str) -> Log:
    return folded(map(read_line, texts)).log


def at(second: int, words: str) -> str:
    """A line written so many seconds after noon; ``@9`` in its words is 9:00."""
    hour = words.rpartition("@")[2]
    stamp = f"2027-01-09T12:{second // 60:02}:{second % 60:02}Z"
    return f"{stamp} {words.rpartition('@')[0]}at 2027-01-09T{int(hour):02}:00Z"


def hour(of: int) -> int:
    return instant(datetime(2027, 1, 9, of, tzinfo=UTC))


def test_undone_takes_back_what_was_written_before_it() -> None:
    lines = [at(0, "started pan @8"), at(1, "done pan @9"), at(2, "done board @9"),
             at(3, "undone pan @12"), at(4, "done pan @10")]  # fmt: skip
    assert log_of(*lines).events == (
        Event(hour(9), "done", "board"),
        Event(hour(10), "done", "pan"),
    )


def test_a_task_and_a_product_of_one_name_are_two_things() -> None:
    lines = [at(0, "done grout @8"), at(1, "delivered grout @9"), at(2, "undone grout @12")]
    assert log_of(*lines).events == (Event(hour(9), "delivered", "grout"),)
    lines[2] = at(2, "undelivered grout @12")
    assert log_of(*lines).events == (Event(hour(8), "done", "grout"),)


def test_what_two_people_wrote_of_one_thing_is_what_was_written_later() -> None:
    assert log_of(at(5, "done pan @9"), at(3, "done pan @10")).events[0].at == hour(9)
    assert log_of(at(3, "air 60 F 50 % @9"), at(5, "air 61 F @9")).readings == (
        Reading(hour(9), None, 16.11111111111111, 0.5),
    )


def test_what_comes_after_a_failed_test_corrects_nothing_before_it() -> None:
    lines = [at(0, "started test @8"), at(1, "failed test @9"), at(2, "started test @10"),
             at(3, "passed test @11")]  # fmt: skip
    assert [event.kind for event in log_of(*lines).events] == [
        "started", "failed", "started", "passed",
    ]  # fmt: skip


def test_readings_of_a_span_are_taken_back_in_their_room_alone() -> None:
    lines = [at(n, f"air {60 + n} F in shower @{8 + n}") for n in range(4)]
    lines += [at(5, "air 70 F @9"), "2027-01-09T12:30:00Z air undone in shower from "
              "2027-01-09T09:00Z to 2027-01-09T10:00Z"]  # fmt: skip
    assert [(each.at, each.room) for each in log_of(*lines).readings] == [
        (hour(8), "shower"), (hour(9), None), (hour(11), "shower"),
    ]  # fmt: skip
    standing = folded(map(read_line, lines))
    assert [line.at for line, _ in standing.undone] == [hour(9), hour(10)]


few = st.sampled_from(["pan", "board", "grout"])
hours = st.integers(HALF_PAST, HALF_PAST + 3)
some_lines = st.lists(
    st.builds(
        lambda written, said: read_line(line_text(written, said, "Etc/UTC", "metric")),
        st.integers(NOON * 60, NOON * 60 + 5),
        st.one_of(
            st.builds(Event, hours, st.sampled_from(EVENTS), few),
            st.builds(Undone, hours, few, st.booleans()),
            st.builds(Reading, hours, st.none() | few, st.just(20.0), st.none() | shares),
            st.builds(lambda room, at: Unread(room, at, at + 1), st.none() | few, hours),
        ),
    ),
    max_size=15,
)


@given(some_lines, st.randoms(use_true_random=False))
@examples(300)
def test_lines_in_any_order_and_twice_make_the_same_log(lines: list[Line], chance: Random) -> None:
    text = [f"{line.text}\n" for line in lines]
    in_order = read_log("".join(text).encode(), "job.log")
    shuffled = [*text, *text[: len(text) // 2]]
    chance.shuffle(shuffled)
    again = read_log("".join(shuffled).encode(), "job.log")
    assert again.lines == in_order.lines
    assert folded(again.lines) == folded(in_order.lines)
    assert folded(again.lines).log == folded(in_order.lines).log
