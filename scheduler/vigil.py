"""Watches a search from a terminal: its time, its progress on one line, and Ctrl-C."""

import signal
import sys
import threading
import time
from contextlib import suppress
from types import FrameType, TracebackType
from typing import Self

from scheduler.console import text_width
from scheduler.wording import columns, counted, dated, plain

_QUIET = 0.5  # seconds before anything is shown: most plans are there by then
_REFRESH = 0.2  # seconds between two pictures of the progress


class Vigil:
    """A ``Watch`` that ends a search at its time, or at Ctrl-C once a plan is at hand.

    Within its ``with`` the first Ctrl-C asks for the best plan so far; the second, and any before
    there is a plan, ends the program as always.

    Args:
        zone: the IANA name of the zone in which times are shown.
        most: how long the search may take [s]; None for as long as it likes.
    """

    def __init__(self, zone: str, most: float | None) -> None:
        self.zone, self.most = zone, most
        self.finish: int | None = None
        self.bound: int | None = None
        self.stopped = False
        self._begun = time.monotonic()
        self._shown = self._begun + _QUIET - _REFRESH
        self._line = ""
        self._before: object = None

    def found(self, finish: int, /) -> None:
        """There is a plan that finishes then [UTC min]."""
        self.finish = finish if self.finish is None else min(self.finish, finish)

    def bounded(self, finish: int, /) -> None:
        """No plan finishes earlier [UTC min]."""
        self.bound = finish if self.bound is None else max(self.bound, finish)

    def enough(self) -> bool:
        """Whether the time is up, or somebody pressed Ctrl-C; shows how far the search is."""
        self._show()
        return self.stopped or (self.most is not None and self.seconds >= self.most)

    @property
    def seconds(self) -> float:
        """How long it has taken so far [s]."""
        return time.monotonic() - self._begun

    def __enter__(self) -> Self:
        if threading.current_thread() is threading.main_thread():  # no other may ask for signals
            self._before = signal.signal(signal.SIGINT, self._interrupted)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._before is not None:
            signal.signal(signal.SIGINT, self._before)  # type: ignore[arg-type]
        self._put("")

    def _interrupted(self, number: int, frame: FrameType | None) -> None:
        if self.finish is None or self.stopped:
            raise KeyboardInterrupt
        self.stopped = True

    def _show(self) -> None:
        now = time.monotonic()
        if self.finish is not None and now - self._shown >= _REFRESH and _is_terminal():
            self._shown = now
            self._put(self._progress())

    def _progress(self) -> str:
        took = f"{self.seconds:.0f} s"
        finish = f"finishes {dated(self.finish or 0, self.zone, ends=True)}"
        if self.bound is None:
            return f"{took}: {finish}"
        if self.finish is not None and self.bound >= self.finish:
            return f"{took}: {finish}, none earlier; fewer visits?"
        return f"{took}: {finish}, none before {dated(self.bound, self.zone)}"

    def _put(self, line: str) -> None:
        """Write over the line that is shown, no longer than the terminal is wide."""
        if line == self._line:
            return
        text = plain(line, sys.stderr.encoding)[: text_width(None) - 1]
        over = " " * (columns(self._line) - columns(text))
        self._line = text
        with suppress(OSError):
            sys.stderr.write(f"\r{text}{over}" + ("" if text else "\r"))
            sys.stderr.flush()

    def said(self) -> str | None:
        """What to tell of it, if somebody stopped it."""
        if not self.stopped:
            return None
        return f"stopped after {counted(round(self.seconds), 'second')}: the best plan found so far"


def _is_terminal() -> bool:
    return sys.stderr is not None and sys.stderr.isatty()
