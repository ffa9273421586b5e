"""Seconds of the stages of a call, taken where the stages are called, without changing them."""

from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import perf_counter
from types import ModuleType
from typing import Any


class Stopwatch:
    """Seconds by stage. A stage inside another counts for itself alone, not for the outer one.

    ``calls`` keeps what each timed function was last called with, to look at afterwards.
    """

    def __init__(self, clock: Callable[[], float] = perf_counter) -> None:
        self.seconds: dict[str, float] = defaultdict(float)
        self.calls: dict[str, tuple[Any, ...]] = {}
        self.clock = clock
        self._inside = [0.0]

    @contextmanager
    def stage(self, name: str) -> Iterator[None]:
        """Count the seconds of a block."""
        self._inside.append(0.0)
        begun = self.clock()
        try:
            yield
        finally:
            took = self.clock() - begun
            self.seconds[name] += took - self._inside.pop()
            self._inside[-1] += took

    def watch(
        self,
        module: ModuleType,
        function: str,
        name: str,
        when: Callable[..., bool] = lambda *_args, **_options: True,
    ) -> None:
        """Count calls of a module's function, from now on, as that stage; ``when`` says which."""
        plain = getattr(module, function)

        def timed(*args: Any, **options: Any) -> Any:
            if not when(*args, **options):
                return plain(*args, **options)
            self.calls[name] = args
            with self.stage(name):
                return plain(*args, **options)

        setattr(module, function, timed)
