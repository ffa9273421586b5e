"""The log on the disk: two at once, the power gone, the disk full."""

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

import pytest

from scheduler.clock import instant
from scheduler.console import append, read_log_file
from scheduler.log.adding import added
from scheduler.log.entry import Asked
from scheduler.log.reading import CUT_OFF, read_log
from scheduler.model import Air, Job, Task

ROOT = Path(__file__).parents[1]
EMPTY = Job("J", "Etc/UTC", instant(datetime(2027, 1, 9, tzinfo=UTC)), Air(20, 0.5), {}, {}, {}, ())
posix = pytest.mark.skipif(os.name != "posix", reason="needs POSIX signals and devices")

# Writes lines one after the other, as the command does, from a process of its own.
WRITER = """
import sys
from pathlib import Path
from tests.test_log_file import write
write(Path(sys.argv[1]), range(int(sys.argv[2]), int(sys.argv[3])))
"""


def write(log: Path, numbers: Iterable[int], safe: int | None = None) -> None:
    """A line for each number, each told to ``safe`` as soon as it is on the disk."""
    for n in numbers:
        append(log, lambda content, n=n: grown(content, f"t{n}", "x" * (n % 300)))  # type: ignore[misc]
        if safe is not None:
            os.write(safe, f"t{n}\n".encode())


def grown(content: bytes, task: str, note: str = "") -> tuple[bytes, None]:
    """A line more, by the program's own rule for what was cut off before it."""
    job = replace(EMPTY, tasks=(Task(task, task, 60),))
    asked = Asked((task, "done"), job.start + 60, note=note)
    return added(content, "job.log", job, asked, 60 * job.start + 3600).content, None


def run(log: Path, first: int, end: int) -> "subprocess.Popen[bytes]":
    arguments = [sys.executable, "-c", WRITER, str(log), str(first), str(end)]
    return subprocess.Popen(arguments, env={**os.environ, "PYTHONPATH": str(ROOT)})


def logged(content: bytes) -> list[str]:
    """The tasks of the lines that count, in the order of the file; nothing else may be wrong."""
    file = read_log(content, "job.log")
    assert file.problems == ()
    lines = sorted(file.lines, key=lambda line: line.row)
    return [line.text.split()[2] for line in lines]


def test_two_at_once_lose_nothing(tmp_path: Path) -> None:
    log = tmp_path / "job.log"
    assert [each.wait() for each in (run(log, 0, 100), run(log, 100, 200))] == [0, 0]
    assert sorted(logged(log.read_bytes())) == sorted(f"t{n}" for n in range(200))
    assert log.read_bytes().count(b"\n") == 200


def test_two_that_log_the_same_at_once_write_it_once(tmp_path: Path) -> None:
    log = tmp_path / "job.log"
    assert [each.wait() for each in (run(log, 0, 20), run(log, 0, 20))] == [0, 0]
    assert sorted(logged(log.read_bytes())) == sorted(f"t{n}" for n in range(20))


@posix
def test_what_was_said_to_be_safe_is_there_whenever_the_process_is_killed(tmp_path: Path) -> None:
    """200 real kills of a process that does nothing but write lines, each at a random moment."""
    log, chance, written = tmp_path / "job.log", random.Random(5), 0
    log.touch()
    for _ in range(200):
        before = logged(log.read_bytes())
        safe = killed(log, written, chance.random() / 20)
        tasks = logged(log.read_bytes())
        assert tasks[: len(before) + len(safe)] == before + safe
        assert len(tasks) - len(before) - len(safe) in {0, 1}  # killed before it could say so
        written += len(tasks) - len(before)
    assert written > 20


def killed(log: Path, first: int, after: float) -> list[str]:
    """What a process said to be safe until it was killed so many seconds after it began."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reader)
        try:
            write(log, count(first), writer)
        finally:
            os._exit(1)
    os.close(writer)
    time.sleep(after)
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status)
    with os.fdopen(reader) as said:
        return said.read().split()


@posix
def test_a_process_killed_between_two_bytes_of_a_line_loses_that_line_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As a plug pulled in the middle of a write: the system took a part, and then all was dark."""
    log, chance, whole_write = tmp_path / "job.log", random.Random(7), os.write
    log.touch()

    def write_a_part(share: float) -> Callable[[int, bytes], int]:
        def die(file: int, content: bytes) -> int:
            whole_write(file, bytes(content[: 1 + int(share * (len(content) - 1))]))
            os.kill(os.getpid(), signal.SIGKILL)
            return 0

        return die

    for n in range(200):
        before = logged(log.read_bytes())
        share = chance.random()
        if (child := os.fork()) == 0:
            monkeypatch.setattr(os, "write", write_a_part(share))
            write(log, [n])
            os._exit(1)
        assert os.WIFSIGNALED(os.waitpid(child, 0)[1])
        content = log.read_bytes()
        assert logged(content) == before
        assert read_log(content, "job.log").cut_off, "the next run has something to tell"
        if n % 3 == 0:
            write(log, [1000 + n])
            assert logged(log.read_bytes()) == [*before, f"t{1000 + n}"]


def test_at_whatever_byte_the_power_goes_the_next_line_is_whole(tmp_path: Path) -> None:
    log = tmp_path / "job.log"
    write(log, range(3))
    whole = log.read_bytes()
    before = whole[: whole.rstrip(b"\n").rindex(b"\n") + 1]
    for end in range(len(before), len(whole)):
        log.write_bytes(whole[:end])
        append(log, lambda content: grown(content, "t9"))
        content = log.read_bytes()
        assert content.startswith(whole[:end])  # nothing is ever edited
        assert logged(content) == ["t0", "t1", "t9"]
        torn = end > len(before)
        assert read_log(content, "job.log").cut_off == ((3,) if torn else ())
        # And once more, while the mark or the line after it is written.
        for again in range(end, len(content), 11):
            log.write_bytes(content[:again])
            append(log, lambda content: grown(content, "t8"))
            assert logged(log.read_bytes())[-1] == "t8"
            assert logged(log.read_bytes())[:2] == ["t0", "t1"]


def test_the_mark_of_what_was_cut_off_is_as_written(tmp_path: Path) -> None:
    log = tmp_path / "job.log"
    log.write_bytes(b"2027-01-09T12:00:04Z done pan at 2027-")
    append(log, lambda content: grown(content, "t9"))
    assert (
        log.read_bytes()
        == (
            f"2027-01-09T12:00:04Z done pan at 2027- {CUT_OFF}\n"
            "2027-01-09T01:00:00+00:00 done t9 at 2027-01-09T01:00+00:00\n"
        ).encode()
    )


def test_what_is_refused_leaves_no_file_behind(tmp_path: Path) -> None:
    def refuse(_: bytes) -> tuple[bytes, None]:
        raise KeyError

    with pytest.raises(KeyError):
        append(tmp_path / "job.log", refuse)
    assert [*tmp_path.iterdir()] == []


@posix
def test_a_full_disk_is_told_with_the_name_of_the_file() -> None:
    if not Path("/dev/full").exists():
        pytest.skip("no device here that is always full")
    with pytest.raises(OSError, match="No space left") as failed:
        append(Path("/dev/full"), lambda _: (b"x", None))
    assert failed.value.filename == "/dev/full"


@posix
def test_a_reader_waits_until_a_line_is_whole(tmp_path: Path) -> None:
    import fcntl

    log = tmp_path / "job.log"
    log.write_bytes(b"half")
    with log.open("ab") as file, ThreadPoolExecutor(1) as other:
        fcntl.flock(file, fcntl.LOCK_EX)
        reader = other.submit(read_log_file, log)
        time.sleep(0.05)
        assert not reader.done()
        file.write(b" and whole\n")
        file.close()  # and so the lock is gone
        assert reader.result() == b"half and whole\n"


@pytest.mark.skipif(shutil.which("git") is None, reason="needs git")
def test_two_copies_that_grew_apart_are_put_together_by_gits_union(tmp_path: Path) -> None:
    copies = [tmp_path / name for name in ("base", "mine", "theirs")]
    base, mine, theirs = copies
    write(base, range(3))
    for copy, first in ((mine, 10), (theirs, 20)):
        shutil.copy(base, copy)
        write(copy, range(first, first + 3))
    merge = ["git", "merge-file", "-p", "--union", str(mine), str(base), str(theirs)]
    merged = subprocess.run(merge, check=True, capture_output=True).stdout
    other = subprocess.run([*merge[:4], str(theirs), str(base), str(mine)], check=True,
                           capture_output=True).stdout  # fmt: skip
    assert sorted(logged(merged)) == sorted(f"t{n}" for n in (0, 1, 2, 10, 11, 12, 20, 21, 22))
    assert merged != other
    assert read_log(merged, "job.log").lines == read_log(other, "job.log").lines
