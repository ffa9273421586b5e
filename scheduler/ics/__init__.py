"""A plan as an iCalendar file (RFC 5545)."""

from scheduler.ics.write import PRODID, calendar, person_calendar

__all__ = ["PRODID", "calendar", "person_calendar"]
