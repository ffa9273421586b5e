"""Watches a search from a terminal: its time, its progress on one line, and Ctrl-C."""

import signal
import sys
import threading
import time
from abc import ABC, abstractmethod
from contextlib import suppress
from types import FrameType, TracebackType
from typing import Generic, Self, TypeVar

from scheduler.console import text_width
from scheduler.wording import columns, counted, dated, duration, plain

Worth = TypeVar("Worth", int, tuple[float, ...])
"""What plans are compared by, the least first."""

_QUIET = 0.5  # seconds before anything is shown: most plans are there by then
_REFRESH = 0.2  # seconds between two pictures of the progress


class _Vigil(ABC, Generic[Worth]):
    """A ``Watch`` that ends a search at its time, or at Ctrl-C once a plan is at hand.

    Within its ``with`` the first Ctrl-C asks for the best plan so far; the second, and any before
    there is a plan, ends the program as always.

    Args:
        most: how long the search may take [s]; None for as long as it likes.
    """

    def __init__(self, most: float | None) -> None:
        self.most = most
        self.best: Worth | None = None
        self.bound: Worth | None = None
        self.stopped = False
        self._begun = time.monotonic()
        self._shown = self._begun + _QUIET - _REFRESH
        self._line = ""
        self._before: object = None

    def found(self, best: Worth, /) -> None:
        """There is a plan worth that."""
        self.best = best if self.best is None else min(self.best, best)

    def bounded(self, bound: Worth, /) -> None:
        """No plan is worth less."""
        self.bound = bound if self.bound is None else max(self.bound, bound)

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
        if self.best is None or self.stopped:
            raise KeyboardInterrupt
        self.stopped = True

    def _show(self) -> None:
        now = time.monotonic()
        if self.best is not None and now - self._shown >= _REFRESH and _is_terminal():
            self._shown = now
            self._put(f"{self.seconds:.0f} s: {self._progress(self.best)}")

    @abstractmethod
    def _progress(self, best: Worth) -> str:
        """How far it is, in a few words."""

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


class Vigil(_Vigil[int]):
    """Over the plan of a job, by its finish [UTC min].

    Args:
        zone: the IANA name of the zone in which times are shown.
        most: how long the search may take [s]; None for as long as it likes.
    """

    def __init__(self, zone: str, most: float | None) -> None:
        super().__init__(most)
        self.zone = zone

    def _progress(self, best: int) -> str:
        finish = f"finishes {dated(best, self.zone, ends=True)}"
        if self.bound is None:
            return finish
        if self.bound >= best:
            return f"{finish}, none earlier; fewer visits?"
        return f"{finish}, none before {dated(self.bound, self.zone)}"


class VigilOverSeveral(_Vigil[tuple[float, ...]]):
    """Over the plans of several jobs, by their lateness [min] and their finishes in all [UTC min].

    Args:
        jobs: how many there are.
        zone: the IANA name of the zone in which times are shown.
        most: how long the search may take [s]; None for as long as it likes.
    """

    def __init__(self, jobs: int, zone: str, most: float | None) -> None:
        super().__init__(most)
        self.jobs, self.zone = jobs, zone

    def _progress(self, best: tuple[float, ...]) -> str:
        late = f"{duration(round(best[0]))} late in all, " if best[0] else ""
        done = f"{late}done {self._mean(best)} on average"
        if self.bound is None:
            return done
        if late:
            return f"{done}; at least {duration(round(self.bound[0]))} late"
        return f"{done}, none before {self._mean(self.bound)}"

    def _mean(self, worth: tuple[float, ...]) -> str:
        return dated(round(worth[1] / self.jobs), self.zone, ends=True)


def _is_terminal() -> bool:
    return sys.stderr is not None and sys.stderr.isatty()
