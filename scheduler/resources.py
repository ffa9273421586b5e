"""Where the shipped ``data/`` folder is."""

from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path


def data() -> Traversable:
    """The ``data/`` folder: inside an installed package, or beside it in a checkout.

    Callers use ``/``, ``iterdir()`` and ``read_text(encoding="utf-8")`` only, never a file-system
    path, so that a zipped install works too.
    """
    packaged = files("scheduler") / "data"
    return packaged if packaged.is_dir() else Path(__file__).parents[1] / "data"
