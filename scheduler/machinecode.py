"""Machine code got ready beside a search.

Compiled for the first time it takes ten seconds, and is then kept on disk. So that is done in
another process, and nobody waits for it: what machine code does, a search can do without.
"""

import subprocess
import sys
from functools import cache

_COMPILE = "from scheduler.compiled import compile_all; compile_all()"


def at_hand() -> bool:
    """Whether machine code can be had at once; it is got ready from the first question on.

    It never is where it can't be compiled, or be kept.
    """
    return _compiling().poll() == 0


@cache
def _compiling() -> subprocess.Popen[bytes]:
    """The process that compiles, one for all."""
    null = subprocess.DEVNULL
    return subprocess.Popen([sys.executable, "-c", _COMPILE], stdin=null, stdout=null, stderr=null)
