"""Times and names in words, lines that fit, and text for streams that carry less than UTF-8."""

import re
import unicodedata
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.wording import (
    GLUE,
    ascii_only,
    columns,
    counted,
    dated,
    day_run,
    listed,
    moment,
    plain,
    tidy,
    wrapped,
)
from tests.planfactory import ZONE, at


def spoken(text: str) -> str:
    return text.replace(GLUE, " ")


@pytest.mark.parametrize(
    ("wall", "ends", "words"),
    [
        ("2027-01-09 14:05", False, "14:05"),
        ("2027-01-10 04:10", False, "Sun 04:10"),
        ("2027-01-15 04:10", False, "Fri 04:10"),
        ("2027-01-16 04:10", False, "Sat 16 Jan 04:10"),
        ("2027-01-03 04:10", False, "Sun 04:10"),
        ("2028-01-09 04:10", False, "Sun 9 Jan 2028 04:10"),
        ("2027-01-10 00:00", False, "Sun 00:00"),
        ("2027-01-10 00:00", True, "24:00"),
        ("2027-01-09 00:00", True, "Fri 24:00"),
    ],
)
def test_a_moment_is_as_short_as_the_day_it_is_read_on_allows(
    wall: str, ends: bool, words: str
) -> None:
    assert spoken(moment(at(wall), ZONE, date(2027, 1, 9), ends=ends)) == words


def test_a_moment_read_on_no_day_has_its_date() -> None:
    assert spoken(moment(at("2027-01-09 14:05"), ZONE)) == "Sat 9 Jan 2027 14:05"
    assert spoken(dated(at("2027-01-10 00:00"), ZONE, ends=True)) == "Sat 9 Jan 24:00"


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        (date(2027, 1, 9), date(2027, 1, 9), "Sat 9 Jan"),
        (date(2027, 1, 11), date(2027, 1, 13), "Mon 11 – Wed 13 Jan"),
        (date(2027, 1, 31), date(2027, 2, 2), "Sun 31 Jan – Tue 2 Feb"),
        (date(2026, 12, 31), date(2027, 12, 31), "Thu 31 Dec – Fri 31 Dec"),
    ],
)
def test_a_run_of_days_names_the_month_once_where_it_is_one(
    first: date, last: date, words: str
) -> None:
    assert spoken(day_run(first, last)) == words


def test_lists_and_counts_are_english() -> None:
    assert [listed(["a", "b", "c"][:n]) for n in range(4)] == ["", "a", "a and b", "a, b and c"]
    assert [counted(n, "day") for n in (0, 1, 2)] == ["0 days", "1 day", "2 days"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("62 °F – 3 × 4 → 5…", "62 F - 3 x 4 -> 5..."),
        ("2½ in, ½ in, ¾", "2-1/2 in, 1/2 in, 3/4"),
        ("Béton à façade, Füße, Łódź, Ærø", "Beton a facade, Fusse, Lodz, AEro"),
        ("“pan”’s 42 m²", '"pan"\'s 42 m2'),
        ("浴室", "\\u6d74\\u5ba4"),
        ("a\N{COMBINING ACUTE ACCENT}", "a"),
    ],
)
def test_ascii_has_a_look_alike_for_what_people_write(text: str, words: str) -> None:
    assert ascii_only(text) == words


@pytest.mark.parametrize(
    ("encoding", "words"),
    [
        ("utf-8", "62 °F — 2½ × 3"),
        ("latin-1", "62 °F - 2½ × 3"),
        ("cp1252", "62 °F — 2½ × 3"),
        ("cp437", "62 °F - 2½ x 3"),
        ("ascii", "62 F - 2-1/2 x 3"),
        (None, "62 F - 2-1/2 x 3"),
        ("no such codec", "62 F - 2-1/2 x 3"),
    ],
)
def test_a_stream_keeps_what_it_can_carry(encoding: str | None, words: str) -> None:
    assert plain("62 °F — 2½ × 3", encoding) == words


@given(st.text(), st.sampled_from(["ascii", "latin-1", "cp437", "cp1252", "shift_jis", "utf-8"]))
def test_any_text_fits_any_stream(text: str, encoding: str) -> None:
    fit = plain(text, encoding)
    fit.encode(encoding)
    if "?" not in unicodedata.normalize("NFKD", text):
        assert "?" not in fit
    assert plain(fit, encoding) == fit


@given(st.text())
def test_a_tidy_text_is_one_line_and_stays_as_it_is(text: str) -> None:
    words = tidy(text)
    assert words == " ".join(words.split())
    assert not any(unicodedata.category(char) in {"Cc", "Cs"} for char in words)
    assert tidy(words) == words


def test_text_that_turns_round_or_steers_the_terminal_is_disarmed() -> None:
    assert tidy("\x1b[31mred\x07 \u202eabc\u2066\u200f\r\nx\x00y") == "[31mred abc xy"


@given(st.text(alphabet="ab ü浴\u0301\xa0\t", max_size=80), st.integers(5, 60))
def test_wrapped_lines_hold_all_words_in_order_and_none_is_too_long(text: str, width: int) -> None:
    lines = wrapped(text, width, "- ", "  ")
    told = tidy(" ".join(line[2:] for line in lines))
    assert told.replace(" ", "") == tidy(text).replace(" ", "")
    if "浴" not in text:  # only words of wide characters go on in the next line
        assert told == tidy(text)
    groups = [tidy(part) for part in text.replace("\t", " ").split(" ")]
    longest = max(map(columns, groups))
    assert all(columns(line) <= max(width, longest + 2) for line in lines)


def letters(*alphabet: str) -> st.SearchStrategy[str]:
    return st.lists(st.sampled_from(alphabet), min_size=1, max_size=40).map("".join)


@given(
    st.lists(letters("浴", "室", "の", "\uff21", "か\u3099", "e\u0301"), max_size=3),
    st.integers(8, 60),
)
def test_names_without_spaces_in_wide_characters_go_on_in_the_next_line(
    names: list[str], width: int
) -> None:
    lines = wrapped(" ".join(names), width, "- ", "  ")
    assert "".join(line[2:] for line in lines).replace(" ", "") == "".join(names)
    runs = [run for name in names for run in re.split("[浴室のか\uff21]", name)]
    assert all(columns(line) <= max(width, 2 + max(map(columns, runs))) for line in lines if names)
    assert not any(unicodedata.combining(line[2]) for line in lines if names)


def test_a_long_path_is_never_cut_and_a_long_japanese_name_is() -> None:
    path = "/home/me/jobs/a-very-long-name.yaml"
    assert wrapped(f"cannot read {path}", 20) == ["cannot read", path]
    assert wrapped("浴室の壁のタイル張り tile", 10, "", "  ") == [
        "浴室の壁の",
        "  タイル張",
        "  り tile",
    ]


def test_words_that_belong_together_are_not_parted() -> None:
    assert wrapped(f"ready at Sun{GLUE}04:10", 12) == ["ready at", "Sun 04:10"]


def test_wide_and_combining_characters_count_as_the_terminal_shows_them() -> None:
    assert [columns(text) for text in ("grout", "浴室", "u\N{COMBINING DIAERESIS}", "–°")] == [
        5, 4, 1, 2,
    ]  # fmt: skip
