"""Time zones by their IANA names."""

from zoneinfo import ZoneInfo, available_timezones

from scheduler.errors import did_you_mean
from scheduler.yamlform.tree import Report, Text, found

_NO_HOUSE_IS_THERE = {"localtime", "posixrules", "Factory"}  # files among the zones, but none


def zone(word: Text | None, report: Report) -> str:
    """The name of a zone, or nothing."""
    if word is None:
        return ""
    if _is_zone(word.value):
        return word.value
    words = "'timezone' must be an IANA time zone such as America/Toronto or Europe/Berlin"
    report.add(word.mark, f"{words} (found {found(word)}){_near_zones(word.value)}")
    return ""


def _is_zone(name: str) -> bool:
    if name in _NO_HOUSE_IS_THERE or name.startswith(("posix/", "right/")):
        return False
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return False
    return True


def _near_zones(word: str) -> str:
    """Zones of that city, or else those that look alike."""
    zones = sorted(zone for zone in available_timezones() if "/" in zone and _is_zone(zone))
    city = word.lower().replace(" ", "_").rpartition("/")[2]
    there = [zone for zone in zones if zone.lower().rpartition("/")[2] == city]
    if there:
        return f"; did you mean {' or '.join(map(repr, there[:3]))}?"
    return did_you_mean(word, zones) if len(word) < 100 else ""
