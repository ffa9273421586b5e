"""Answers of a map over minutes, remembered: a search asks for the same ones again and again."""

from collections.abc import Callable

_MOST = 2000
"""Answers of each map that are remembered; after them it begins anew, so that memory has an end."""


class Remembered(dict[int, int]):
    """What a map from minutes to minutes says, reckoned when first asked for.

    Args:
        of: the map; it must always say the same.
    """

    def __init__(self, of: Callable[[int], int]) -> None:
        super().__init__()
        self._of = of

    def __missing__(self, minute: int) -> int:
        if len(self) >= _MOST:
            self.clear()
        found = self[minute] = self._of(minute)
        return found
