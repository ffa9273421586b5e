"""Files that are no jobs: each says what is wrong and where, in words for people.

A file of ``data/bad`` is named for its mistake and begins with the messages expected of it, one in
a comment: ``# line:column: message``.
"""

import struct
from collections.abc import Sequence
from pathlib import Path

import pytest
import yaml
from hypothesis import example, given, settings
from hypothesis import strategies as st

from scheduler import jobfile
from scheduler.errors import BadFile
from scheduler.yamlform import tree as yamltree

DATA = Path(__file__).parent / "data"
BAD = sorted((DATA / "bad").glob("*.yaml"))
GOOD = (DATA / "good" / "every-key.yaml").read_bytes()
HEAD = "job: Larch Row\ntimezone: America/Toronto\nstart: 2027-01-08\n"
LOADERS_DIFFER = {
    "bad-escape",  # the pure Python loader points behind the backslash
    "directive",  # which it passes over
}


def messages(content: bytes, name: str = "job.yaml") -> list[str]:
    """The problems of a bad file, without its name."""
    with pytest.raises(BadFile) as caught:
        jobfile.parse(content, name)
    assert all(problem.file == name for problem in caught.value.problems)
    return [str(problem).removeprefix(f"{name}:") for problem in caught.value.problems]


def expected(path: Path) -> list[str]:
    """The messages in the comments on top of a file."""
    lines = path.read_text(encoding="utf-8").splitlines()
    end = next(i for i, line in enumerate([*lines, ""]) if not line.startswith("# "))
    return [line.removeprefix("# ") for line in lines[:end] if line[2:3].isdigit()]


def test_there_are_bad_files_enough_and_each_expects_something() -> None:
    assert len(BAD) >= 140
    assert all(expected(path) for path in BAD)


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_every_mistake_is_told_where_it_is(path: Path) -> None:
    assert messages(path.read_bytes(), path.name) == expected(path)


@pytest.mark.parametrize(
    "path", [path for path in BAD if path.stem not in LOADERS_DIFFER], ids=lambda path: path.stem
)
def test_the_slower_loader_tells_the_same(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(yamltree, "LOADER", yaml.BaseLoader)
    assert messages(path.read_bytes(), path.name) == expected(path)


TASKS = "tasks:\n  board: {work: 4 h}\n"
PNG = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + struct.pack(">II", 64, 64) + b"\x08\x02\0\0\0"
FLAT_BOMB = "a: &a [x, x, x, x]\n" + "".join(
    f"{b}: &{b} [*{a}, *{a}, *{a}, *{a}]\n" for a, b in zip("abcdefg", "bcdefgh", strict=True)
)


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (b"", "1:1: nothing in it: a job has at least job, timezone, start and tasks"),
        (b"\n  \n\n", "1:1: nothing in it: a job has at least job, timezone, start and tasks"),
        (b"\xef\xbb\xbf", "1:1: nothing in it: a job has at least job, timezone, start and tasks"),
        (
            HEAD.encode() + b"# " + b"x" * 2_000_000,
            "1:1: too big for a job file: 2.0 MB, and 1 MB is the most",
        ),
        (
            HEAD.encode("utf-16"),
            "1:1: this is UTF-16 text: save the file as UTF-8",
        ),
        (
            HEAD.encode("utf-16-le"),
            "1:1: this is not a text file (it holds NUL bytes); save a job file as UTF-8 text",
        ),
        (PNG, "1:1: this is not a text file (it holds NUL bytes); save a job file as UTF-8 text"),
        (
            "job: Küche\n".encode("latin-1"),
            "1:7: not UTF-8 text (byte 0xFC): save the file as UTF-8",
        ),
        (
            b"\xef\xbb\xbfjob: x\nnotes: \xff\n",
            "2:8: not UTF-8 text (byte 0xFF): save the file as UTF-8",
        ),
        (
            b"job: x\r\ntimezone: a\0b\r\n",
            "2:12: a control character (U+0000) that no text needs: take it out",
        ),
        (b"job: \x1b[2m\n", "1:6: a control character (U+001B) that no text needs: take it out"),
        (
            "job: x\u0085y: \u009b\n".encode(),
            "2:4: a control character (U+009B) that no text needs: take it out",
        ),
    ],
    ids=[
        "empty", "blank", "byte order mark only", "2 MB", "UTF-16", "UTF-16 without a mark",
        "picture", "Latin-1", "byte 0xFF behind a byte order mark", "NUL byte", "escape", "C1",
    ],
)  # fmt: skip
def test_what_is_no_utf8_text_is_told_at_once(content: bytes, expected: str) -> None:
    assert messages(content) == [expected]


@pytest.mark.parametrize("loader", [yaml.BaseLoader, yamltree.LOADER])
@pytest.mark.parametrize(
    ("content", "expected"),
    [
        ("x: " + "[" * 500, "1:24: nested too deep: a job file has no use for 20 levels"),
        ("x: " + "{a: " * 100, "1:81: nested too deep: a job file has no use for 20 levels"),
        (
            "".join("  " * i + "a:\n" for i in range(200)),
            "21:41: nested too deep: a job file has no use for 20 levels",
        ),
        ("- " * 200 + "a", "1:43: nested too deep: a job file has no use for 20 levels"),
    ],
    ids=["lists", "keys", "block", "dashes"],
)
def test_deep_nesting_is_refused(
    content: str, expected: str, loader: type, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(yamltree, "LOADER", loader)
    assert messages(content.encode())[-1] == expected


@pytest.mark.parametrize("opening", ["[", "{", "- ", "? ", "[{"])
def test_very_deep_nesting_is_refused_as_well(opening: str) -> None:
    assert "nested too deep" in messages((opening * 100_000).encode())[-1]


def test_a_code_that_the_slower_loader_trips_over_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    content = rb'job: "\UFFFFFFFF"'
    assert messages(content) == ["1:9: \\ has a meaning in double quotes: use single quotes"]
    monkeypatch.setattr(yamltree, "LOADER", yaml.BaseLoader)
    assert messages(content) == [
        "1:1: not readable as YAML: a backslash code in double quotes is wrong"
    ]


def test_an_alias_bomb_goes_off_as_words() -> None:
    told = messages((HEAD + FLAT_BOMB + TASKS).encode())
    assert told[0].startswith("4:1: unknown key 'a' in the job")
    assert (
        "4:4: &a: anchors and aliases are no part of a job file; "
        "put quotes round text that starts with &" in told
    )
    assert sum("anchors and aliases" in line for line in told) == 8 + 7 * 4


def test_more_than_five_thousand_tasks_are_refused() -> None:
    tasks = "".join(f"  t{i}: {{work: 1 h}}\n" for i in range(5001))
    told = messages(f"{HEAD}tasks:\n{tasks}".encode())
    assert told == ["5:3: 'tasks' has more than 5000 tasks: make several files"]


def test_a_file_full_of_mistakes_tells_them_all_and_guesses_only_at_first() -> None:
    tasks = "".join(f"  t{i}: {{work: 1 h, after: tt{i}}}\n" for i in range(3000))
    told = messages(f"{HEAD}tasks:\n{tasks}".encode())
    assert len(told) == 3000
    assert told[0].startswith("5:26: unknown task 'tt0'; did you mean 't0'")
    assert told[-1] == "3004:29: unknown task 'tt2999'"


def test_text_in_messages_is_short_and_on_one_line() -> None:
    long = "x" * 5000
    told = messages(f'{HEAD}tasks:\n  board: {{work: "a\\e[2J\n\n b{long}"}}\n'.encode())
    assert told == [
        f"5:17: 'work' must be a time such as 45 min or 3 h (found 'a [2J b{'x' * 32}…')"
    ]


def test_a_file_that_is_no_job_names_the_file_first() -> None:
    with pytest.raises(BadFile, match=r"^larch-row\.yaml:4:19: 'work' must be a time"):
        jobfile.parse((HEAD + "tasks: {a: {work: b}}").encode(), "larch-row.yaml")


# --- no traceback, whatever the file holds

WORDS = [
    "job", "timezone", "start", "tasks", "after", "work", "who", "room", "applies", "within",
    "task", "stage", "wait", "label", "people", "rooms", "products", "class", "air", "hours",
    "away", ": ", ":", "\n", "\n  ", "\n    ", "- ", "[", "]", "{", "}", ", ", "'", '"', "|",
    ">", "&a ", "*a", "!!str ", "? ", "# ", "%", "@", "`", "\t", "---\n", "...\n", "<<: ", "~",
    "null", "\\", "\0", "é", "\ufeff", "\u2028", "\u0085", '"\\ud800"', '"\\UFFFFFFFF"',
    '"\\0"', "1e999 h", "-", "..", "0", "99999999999999999999 d", "2027-01-08", "24:00",
    "mon-fri 9-17", "always", "no", "45 min", "µ", "½", "٣ h", "²", "⅒ in", "9" * 400 + " h",
    "1/0 in", "P", "PT", "membrane", "coat-1", "recoat",
]  # fmt: skip


def parses_or_tells(content: bytes) -> None:
    try:
        job = jobfile.parse(content, "job.yaml")
    except BadFile as bad:
        places = [(p.line, p.column) for p in bad.problems]
        str(bad).encode()  # no half characters
    else:
        str(job).encode()
        return
    assert places
    assert min(places) >= (1, 1)


@given(st.binary(max_size=300))
def test_any_bytes_are_a_job_or_told(content: bytes) -> None:
    parses_or_tells(content)


@given(st.lists(st.sampled_from(WORDS), max_size=40).map("".join))
@settings(max_examples=400)
@example('"\\ud800": "\\UFFFFFFFF"')
def test_any_words_of_a_job_file_are_a_job_or_told(text: str) -> None:
    parses_or_tells(text.encode())


@st.composite
def spoiled(draw: st.DrawFn) -> bytes:
    """A good file with a few pieces cut out, doubled, swapped or put in."""
    text = GOOD.decode()
    for _ in range(draw(st.integers(1, 4))):
        cuts = st.integers(0, len(text))
        a, b = sorted((draw(cuts), draw(cuts)))
        b = min(b, a + draw(st.integers(0, 60)))
        word = draw(st.sampled_from([*WORDS, "", text[a:b] * 2, text[b : b + 20]]))
        text = text[:a] + word + text[b:]
    return text.encode()


@given(spoiled())
@settings(max_examples=400, deadline=None)
def test_a_good_file_that_was_spoiled_is_a_job_or_told(content: bytes) -> None:
    parses_or_tells(content)


@given(spoiled())
@settings(max_examples=100, deadline=None)
def test_a_good_file_that_was_spoiled_is_a_job_or_told_by_the_slower_loader(
    content: bytes,
) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(yamltree, "LOADER", yaml.BaseLoader)
        parses_or_tells(content)


SCALARS = (
    "work", "not_before", "must_finish_by", "split", "dusty", "hold", "name", "notes", "who",
    "room", "applies", "after",
)  # fmt: skip


@given(
    st.sampled_from(SCALARS),
    st.one_of(
        st.text(max_size=30),
        st.text(alphabet="0123456789 .:-/hdmPTFC%ftin'\"½", max_size=20),
        st.lists(st.sampled_from(WORDS), max_size=3).map(" ".join),
    ),
)
@settings(max_examples=400, deadline=None)
def test_any_text_of_a_task_is_a_value_or_told(key: str, value: str) -> None:
    quoted = yaml.dump(value, default_style='"', allow_unicode=False, width=10_000).strip()
    parses_or_tells(
        f"{HEAD}tasks:\n  a: {{work: 1 h, {key}: {quoted}}}\n  b: {{work: 1 h}}".encode()
    )


PLACES: Sequence[str] = (
    "people: {{me: {{hours: {}}}}}", "people: {{me: {{hours: always, away: {}}}}}",
    "people: {{me: {{hours: always, count: {}}}}}", "air: {{temperature: {}}}",
    "air: {{humidity: {}}}", "air: {{swing: {}}}", "finish_by: {}", "units: {}",
    "products: {{a: {{class: {}}}}}", "products: {{a: {{class: screed, thickness: {}}}}}",
    "products: {{a: {{class: screed, label: {{walk: {}}}}}}}",
    "products: {{a: {{class: screed, label: {{walk: 1 d, at: {}}}}}}}",
    "products: {{a: {{class: screed, label: {{walk: 1 d, thickness: {}}}}}}}",
)  # fmt: skip


@given(
    st.sampled_from(PLACES),
    st.one_of(
        st.text(max_size=30),
        st.text(alphabet="0123456789 .:-/hdmwPTFCap%ftin'\"½", max_size=24),
        st.lists(st.sampled_from(WORDS), max_size=3).map(" ".join),
    ),
)
@settings(max_examples=600, deadline=None)
def test_any_text_elsewhere_is_a_value_or_told(place: str, value: str) -> None:
    quoted = yaml.dump(value, default_style='"', allow_unicode=False, width=10_000).strip()
    parses_or_tells(f"{HEAD}{place.format(quoted)}\n{TASKS}".encode())
