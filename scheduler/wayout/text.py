"""The ways out of a conflict in words, a way a line."""

from collections.abc import Iterator

from scheduler.wayout.change import Way
from scheduler.wayout.find import WaysOut

_SHOWN = 4  # ways


def ways_text(found: WaysOut) -> str:
    """What would have to give, the best first; empty where there is nothing to tell."""
    return "\n".join(_lines(found))


def _lines(found: WaysOut) -> Iterator[str]:
    shown = found.ways[:_SHOWN]
    if found.then:
        yield "Whatever gives of these, there are others that cannot all be kept either:"
        yield from (f"  - {rule.text}" for rule in found.then)
    if shown:
        yield _lead(shown)
        yield from (line for way in shown for line in _told(way))
    elif found.stuck or not found.all_tried:
        yield "Nothing was found that would do."
    yield from dict.fromkeys(each.why for each in found.stuck if each.why)
    if shown and not all(each.why for each in found.stuck):
        yield "What else is named above is not enough, however far it gives."
    if not found.all_tried:
        yield "Only so much was tried: there may be less that would do, or more."


def _lead(ways: tuple[Way, ...]) -> str:
    if len(ways[0].changes) > 1:
        return "No single change was found that would do. These would, together:"
    return "This would do:" if len(ways) == 1 else "Any one of these would do, the easiest first:"


def _told(way: Way) -> Iterator[str]:
    for n, change in enumerate(way.changes):
        less, note = "" if way.least else ", or less", f"; {change.note}" if change.note else ""
        yield f"  {'  and ' if n else '- '}{change.text}{less}{note}"
