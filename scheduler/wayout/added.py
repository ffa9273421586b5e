"""The fewest of some things that do, such as hours to add or days to be there after all."""

from collections.abc import Callable, Sequence
from itertools import islice
from typing import TypeVar

T = TypeVar("T")


def singles(does: Callable[[Sequence[T]], bool], of: Sequence[T], most: int) -> list[T]:
    """The first of some things that do by themselves."""
    return [*islice((each for each in of if does([each])), most)]


def fewest(does: Callable[[Sequence[T]], bool], of: Sequence[T]) -> tuple[T, ...] | None:
    """As few of some things as do: one where one is enough, else some of which none can go.

    None where all of them together do not.

    >>> fewest(lambda some: sum(some) >= 9, [2, 3, 4, 1, 5]), fewest(lambda some: 4 in some, [3, 4])
    ((2, 3, 4), (4,))
    """
    return tuple(singles(does, of, 1)) or thinned(does, tuple(of))


def thinned(does: Callable[[Sequence[T]], bool], of: tuple[T, ...]) -> tuple[T, ...] | None:
    """Some of which none can go, large pieces left out first, from the end; None as above."""
    if not of or not does(of):
        return None
    size = len(of) // 2
    while size:
        end = len(of)
        while end > 0:
            start = max(0, end - size)
            fewer = of[:start] + of[end:]
            if fewer and does(fewer):
                of = fewer
            end = start
        size //= 2
    return of
