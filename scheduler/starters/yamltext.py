"""Plain YAML, as somebody would type it: the file belongs to its owner from then on."""

import re
import textwrap
from collections.abc import Iterable

WIDTH = 98
_BESIDE = 33  # column of comments beside keys, where the line is not longer
_SAFE = re.compile(r"[^\W_](?:[^:#\n\"'\\]|:(?=\S)|(?<=\S)[#'\"])*")
_SAFE_INSIDE = re.compile(r"[^\W_](?:[\w ./%+-]|:(?=\w))*")
_MEANT_AS_NOTHING = {"null", "Null", "NULL"}


def scalar(text: str, inside: bool = False) -> str:
    """Text as a value, in quotes only where it needs them; ``inside`` brackets or braces.

    >>> scalar("First coat"), scalar("18:30"), scalar("Tile: the wall"), scalar("it's, so")
    ('First coat', '18:30', "'Tile: the wall'", "it's, so")
    >>> scalar("mon, wed 9:00-13:00", inside=True)
    "'mon, wed 9:00-13:00'"
    """
    plain = (_SAFE_INSIDE if inside else _SAFE).fullmatch(text)
    safe = plain and text == text.strip() and text not in _MEANT_AS_NOTHING
    return text if safe else "'" + text.replace("'", "''") + "'"


def items(texts: Iterable[str]) -> str:
    """A list on one line."""
    return f"[{', '.join(scalar(text, inside=True) for text in texts)}]"


def line(indent: int, key: str, value: str, beside: str = "") -> str:
    """``key: value`` with a comment beside it, or above it where the line would be too long."""
    plain = f"{' ' * indent}{key}: {value}".rstrip()
    if not beside:
        return plain
    whole = f"{plain.ljust(_BESIDE)} # {beside}" if len(plain) < _BESIDE else f"{plain}  # {beside}"
    return whole if len(whole) <= WIDTH else f"{comment(indent, beside)}\n{plain}"


def comment(indent: int, text: str) -> str:
    """A comment on lines of its own."""
    before = " " * indent + "# "
    return textwrap.fill(
        text, WIDTH, initial_indent=before, subsequent_indent=before, break_on_hyphens=False
    )


def folded(indent: int, key: str, text: str) -> str:
    """Text under a key, on one line or folded."""
    one = line(indent, key, scalar(text))
    if len(one) <= WIDTH:
        return one
    inner = " " * (indent + 2)
    body = textwrap.fill(
        text, WIDTH, initial_indent=inner, subsequent_indent=inner, break_on_hyphens=False,
        break_long_words=False,
    )  # fmt: skip
    return f"{' ' * indent}{key}: >-\n{body}"


def heading(indent: int, text: str) -> str:
    """A heading drawn over the whole width."""
    return f"{' ' * indent}# {text} ".ljust(WIDTH, "-")
