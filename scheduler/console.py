"""Files and streams, as the command line meets them: closed, full, of any encoding, or linked.

Whatever goes wrong with a file is an ``OSError`` with its name; with standard output, one without.
"""

import os
import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from secrets import token_hex
from typing import TypeVar

from scheduler.errors import ThenwaitError
from scheduler.wording import GLUE, columns, plain, wrapped

T = TypeVar("T")

PIPED = 80
"""Columns where there is no terminal."""

NARROWEST = 20
"""Columns."""

_MOST = 64_000_000  # bytes read of a file, so that a device that never ends is refused, too


def read_stdin() -> bytes:
    """All that a pipe brings."""
    if sys.stdin is None:  # closed before the start
        raise ThenwaitError("standard input is closed, so there is no job to read")
    with _naming("standard input"):
        return sys.stdin.buffer.read(_MOST)


def read_file(path: Path) -> bytes:
    """The bytes of a file."""
    with _naming(path), path.open("rb") as file:
        return file.read(_MOST)


def write_file(path: Path, content: bytes) -> None:
    """Write a file so that at any moment there is either the old one or the new one, whole.

    A link stays one, and permissions stay as they are.
    """
    target = Path(os.path.realpath(path))
    beside = target.with_name(f".thenwait-{token_hex(4)}.tmp")
    with _naming(path):
        try:
            with beside.open("xb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            if target.exists():
                shutil.copymode(target, beside)
            beside.replace(target)
        finally:
            beside.unlink(missing_ok=True)


def read_log_file(path: Path) -> bytes:
    """The bytes of a file to which others may be adding, at a moment when nobody is."""
    with _naming(path), path.open("rb") as file:
        with suppress(OSError):  # a disk that knows no locks can be read all the same
            _lock(file.fileno(), shared=True)
        return file.read(_MOST)


def append(path: Path, make: Callable[[bytes], tuple[bytes, T]]) -> T:
    """Add to the end of a file, and be sure that it is on the disk; what is there stays as it is.

    Nobody else can add to it from the moment it is read until that is done.

    Args:
        path: of the file, which is made if it isn't there.
        make: from what the file holds to what is added, and to an answer.
    """
    if not path.exists():
        make(b"")  # if that is refused, no file is left behind
    flags = os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0)
    with _naming(path), os.fdopen(os.open(path, flags, 0o666), "rb+", buffering=0) as file:
        _lock(file.fileno(), shared=False)
        new, answer = make(file.read(_MOST))
        while new:
            new = new[os.write(file.fileno(), new) :]
        os.fsync(file.fileno())
    return answer


def _lock(file: int, *, shared: bool) -> None:
    """Keep others out until the file is closed, or only those who would write to it."""
    if sys.platform == "win32":
        import msvcrt

        if not shared:
            os.lseek(file, _MOST, os.SEEK_SET)  # the byte locked is one that is never read
            msvcrt.locking(file, msvcrt.LK_LOCK, 1)
            os.lseek(file, 0, os.SEEK_SET)
    else:
        import fcntl

        fcntl.flock(file, fcntl.LOCK_SH if shared else fcntl.LOCK_EX)


@contextmanager
def _naming(path: Path | str) -> Iterator[None]:
    """Errors name the file that was asked for, and not one beside it, or none."""
    try:
        yield
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(path)) from None


def text_width(width: int | None) -> int:
    """The columns asked for, else those of the terminal."""
    return width or max(shutil.get_terminal_size((PIPED, 24)).columns, NARROWEST)


def put(text: str) -> None:
    """Data, on standard output, in what characters it can carry."""
    if sys.stdout is None:  # closed before the start
        raise OSError(None, "it is closed")
    sys.stdout.write(plain(text, sys.stdout.encoding))
    sys.stdout.flush()


def talk(text: str) -> None:
    """Talk, on standard error; where nobody can hear it the exit code has to do."""
    with suppress(OSError):
        if sys.stderr is not None:
            sys.stderr.write(plain(text, sys.stderr.encoding) + "\n")


def counting(word: str) -> Callable[[int, int], None]:
    """Shows on a terminal how far something is, on one line that is wiped at the end.

    The answer takes how much is done, and of how much; in a pipe it says nothing.
    """
    if sys.stderr is None or not sys.stderr.isatty():
        return lambda done, of: None

    def show(done: int, of: int) -> None:
        line = f"{done} of {of} {word}" if done < of else ""
        with suppress(OSError):
            sys.stderr.write(f"\r{line:<{PIPED // 2}}" + "\r" * (done >= of))
            sys.stderr.flush()

    return show


def tell(text: str) -> None:
    """Talk in sentences: lines fit the terminal, what is listed hangs, and no word is cut."""
    talk("\n".join(line for each in text.split("\n") for line in _fitted(each)))


def _fitted(line: str) -> list[str]:
    indent = line[: len(line) - len(line.lstrip())]
    hanging = indent + "  " * line.startswith(f"{indent}- ")
    fits = columns(line) <= text_width(None)
    return [line.replace(GLUE, " ")] if fits else wrapped(line, text_width(None), indent, hanging)


def give_up_stdout() -> None:
    """Send what is left in the buffer nowhere, or the interpreter complains of it once more."""
    if sys.__stdout__ is not None:
        with suppress(OSError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.__stdout__.fileno())


def at_terminal() -> bool:
    """Whether somebody can be asked: both standard input and standard error are a terminal."""
    return all(stream is not None and stream.isatty() for stream in (sys.stdin, sys.stderr))


def ask(question: str, usual: str) -> str:
    """What somebody types at the terminal; ``usual`` where it is nothing but Enter.

    The question goes to standard error, so that standard output may be a pipe.
    """
    shown = "\n".join(_fitted(f"{question} [{usual}]:" if usual else f"{question}:"))
    while True:
        sys.stderr.write(plain(f"{shown} ", sys.stderr.encoding))
        sys.stderr.flush()
        if not (line := sys.stdin.readline()):
            raise ThenwaitError("the answers ended before the questions did; nothing was written")
        if text := line.strip() or usual:
            return text


def zone_here() -> str:
    """The time zone of this computer by its IANA name; empty where it doesn't say."""
    named = os.environ.get("TZ", "").removeprefix(":")
    linked = os.path.realpath("/etc/localtime").partition("zoneinfo/")[2]
    return next((name for name in (named, linked) if "/" in name and not name.startswith("/")), "")
