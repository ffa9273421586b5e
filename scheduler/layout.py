"""Sections of labelled entries, set as plain text: in two columns, or as a list on a phone."""

from collections.abc import Iterable
from dataclasses import dataclass

from scheduler.wording import GLUE, columns, wrapped

NARROW = 60
"""Below this many columns entries become a list: label, then text, the rest hanging."""

_LEAST, _MOST = 11, 16  # columns for labels: "09:00-13:00", "Sat 23 Jan 09:00"


@dataclass(frozen=True)
class Entry:
    """A label (a time, or words such as "dries"), what it labels, and paragraphs below that.

    Label and text are one sentence when read on: "dries" / "until 14:05: membrane ...".
    """

    label: str
    text: str
    details: tuple[str, ...] = ()


@dataclass(frozen=True)
class Section:
    """A title, alone at the left margin so that the eye finds it, and its entries."""

    title: str
    entries: tuple[Entry, ...]


def laid_out(sections: Iterable[Section], width: int) -> str:
    """The sections as text of at most ``width`` columns, a blank line between them."""
    setting = _narrow if width < NARROW else _wide
    blocks = (
        [*wrapped(section.title, width, "", "  "), *setting(section.entries, width)]
        for section in sections
    )
    return "\n\n".join("\n".join(block) for block in blocks) + "\n"


def _narrow(entries: tuple[Entry, ...], width: int) -> Iterable[str]:
    for entry in entries:
        yield from wrapped(f"{entry.label} {entry.text}", width, "  ", "    ")
        for detail in entry.details:
            yield from wrapped(detail, width, "    ", "      ")


def _wide(entries: tuple[Entry, ...], width: int) -> Iterable[str]:
    column = max(_LEAST, *(n for n in (columns(e.label) for e in entries) if n <= _MOST), 0)
    for entry in entries:
        indent = " " * (column + 4 if entry.label else 4)
        first = (
            f"  {entry.label}{' ' * (column + 2 - columns(entry.label))}" if entry.label else "  "
        )
        if columns(entry.label) > column:
            yield from wrapped(entry.label, width, "  ", "  ")
            first = indent
        yield from wrapped(entry.text, width, first.replace(GLUE, " "), indent)
        for detail in entry.details:
            yield from wrapped(detail, width, indent, indent + "  ")
