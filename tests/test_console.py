"""The program in a process of its own: pipes that close, disks that are full, odd terminals."""

import os
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
LARCH_ROW = str(ROOT / "examples" / "larch-row.yaml")
SMALL_FLOOR = str(ROOT / "examples" / "small-floor.yaml")
PROGRAM = [sys.executable, "-m", "scheduler"]
FULL = Path("/dev/full")  # a device on which every write fails for want of space
HEAVY = ("numpy", "networkx", "ortools", "icalendar", "yaml", "rich")

posix = pytest.mark.skipif(os.name != "posix", reason="needs a POSIX system's devices")


def environment(changes: Mapping[str, str]) -> dict[str, str]:
    """This process's environment, without what it says of terminals and encodings."""
    said = ("PYTHON", "LC_", "LANG", "COLUMNS", "TERM", "NO_COLOR", "FORCE_COLOR")
    kept = {key: value for key, value in os.environ.items() if not key.startswith(said)}
    return {**kept, "PYTHONPATH": str(ROOT), "PYTHONWARNINGS": "error", **changes}


def run(
    arguments: Sequence[str], shell: str = '"$@"', **changes: str
) -> subprocess.CompletedProcess[bytes]:
    """The program, as a shell runs it that is given its words as ``$@``."""
    return subprocess.run(
        ["/bin/sh", "-c", shell, "sh", *PROGRAM, *arguments],
        env=environment(changes),
        capture_output=True,
        check=False,
    )


@posix
@pytest.mark.parametrize("command", [("plan", LARCH_ROW), ("schema",), ("products",), ("-h",)])
def test_a_reader_that_has_seen_enough_hears_no_complaint(command: tuple[str, ...]) -> None:
    ended = run(command, '"$@" | head -n 1')
    assert ended.stdout.count(b"\n") == 1
    assert ended.stderr == b""


@posix
@pytest.mark.skipif(not FULL.exists(), reason="no device here that is always full")
@pytest.mark.parametrize("command", [("plan", LARCH_ROW), ("schema",), ("products",), ("-h",)])
def test_a_full_disk_is_told_once(command: tuple[str, ...]) -> None:
    ended = run(command, '"$@" > /dev/full')
    assert ended.returncode == 1
    assert ended.stderr == b"error: standard output: No space left on device\n"


@posix
@pytest.mark.parametrize("streams", [">&-", ">&- 2>&-", "<&- >&-"])
def test_data_that_nobody_can_get_is_an_error(streams: str) -> None:
    assert run(["products"], f'"$@" {streams}').returncode == 1


@posix
def test_talk_that_nobody_can_hear_is_none() -> None:
    ended = run(["plan", SMALL_FLOOR, "--check"], '"$@" 2>&-')
    assert ended.returncode == 0
    assert ended.stdout.startswith(b"Small bathroom floor\n")


@posix
@pytest.mark.parametrize(
    ("width", "changes"),
    [
        (80, {"PYTHONIOENCODING": "ascii"}),
        (45, {"PYTHONIOENCODING": "ascii"}),
        (80, {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}),
        (80, {"PYTHONIOENCODING": "latin-1"}),
        (80, {"NO_COLOR": "1"}),
        (80, {"FORCE_COLOR": "1", "TERM": "xterm-256color"}),
        (45, {"TERM": "dumb"}),
    ],
    ids=str,
)
def test_a_plan_is_plain_text_wherever_it_goes(width: int, changes: Mapping[str, str]) -> None:
    ended = run(["plan", SMALL_FLOOR, "--width", str(width)], **changes)
    assert (ended.returncode, ended.stderr) == (0, b"")
    encoding = changes.get("PYTHONIOENCODING", "ascii" if "LC_ALL" in changes else "utf-8")
    text = ended.stdout.decode(encoding)
    assert not any(char in text for char in "\x1b\\?\ufffd")
    assert max(map(len, text.splitlines())) <= width


@posix
def test_errors_reach_a_terminal_that_has_only_ascii() -> None:
    ended = run(["plan", "Küche.yaml"], PYTHONIOENCODING="ascii")
    assert ended.stderr == b"error: Kuche.yaml: No such file or directory\n"


@posix
@pytest.mark.parametrize("columns", [45, 100])
def test_a_plan_is_as_wide_as_the_terminal(columns: int) -> None:
    import fcntl
    import pty
    import struct
    import termios

    reader, terminal = pty.openpty()
    fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    process = subprocess.Popen(
        [*PROGRAM, "products"], env=environment({"TERM": "xterm"}), stdout=terminal
    )
    os.close(terminal)
    shown = b""
    while chunk := _read(reader):
        shown += chunk
    os.close(reader)
    assert process.wait() == 0
    lines = shown.decode().splitlines()
    assert columns - 15 < max(map(len, lines)) <= columns


def _read(reader: int) -> bytes:
    try:
        return os.read(reader, 65536)
    except OSError:  # how Linux says that the other end was closed
        return b""


@pytest.mark.parametrize(
    ("command", "without"),
    [
        (("--help",), HEAVY),
        (("plan", "--help"), HEAVY),
        (("--version",), HEAVY),
        (("products",), ("networkx", "ortools", "icalendar")),
        (("schema",), ("ortools", "icalendar")),
        (("plan", SMALL_FLOOR), ("ortools", "icalendar")),
        (("log", SMALL_FLOOR), ("ortools", "icalendar")),
    ],
)
def test_a_command_loads_no_library_that_it_has_no_use_for(
    command: tuple[str, ...], without: tuple[str, ...]
) -> None:
    code = (
        "import sys; from scheduler.cli import main; main(); print(*sys.modules, file=sys.stderr)"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code, *command],
        env=environment({}),
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=True,
    )
    loaded = set(ended.stderr.split())
    assert "scheduler.cli" in loaded
    assert loaded.isdisjoint(without)
