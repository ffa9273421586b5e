"""Somebody who watches a search: is told what it has found, and may have enough of it."""

from typing import Protocol


class Patience(Protocol):
    """Asked whether a search is to end with the best that it has."""

    def enough(self) -> bool:
        """Whether it is; only asked once there is any plan."""


class Watch(Patience, Protocol):
    """Told what a search has found so far, and asked whether that will do.

    It is told from any thread, and asked often, from the one that called for the search. What it is
    told does not change what is found, only its answer does.
    """

    def found(self, finish: int, /) -> None:
        """There is a plan that finishes then [UTC min]."""

    def bounded(self, finish: int, /) -> None:
        """No plan finishes earlier [UTC min]."""


class _Unwatched:
    """Lets a search take the effort that it was given."""

    def found(self, best: object, /) -> None:
        """Nobody wants to know."""

    def bounded(self, bound: object, /) -> None:
        """Nobody wants to know."""

    def enough(self) -> bool:
        """Never."""
        return False


UNWATCHED = _Unwatched()


class Unheard:
    """A watch that is not told: what is found at another finish is no news of the earliest."""

    def __init__(self, watch: Patience) -> None:
        self._watch = watch

    def found(self, finish: int, /) -> None:
        """Not told."""

    def bounded(self, finish: int, /) -> None:
        """Not told."""

    def enough(self) -> bool:
        """As the watch has it."""
        return self._watch.enough()
