"""How sure the dates of a plan are: the job run thousands of times, each time with other luck."""

from scheduler.odds.asjson import outlook_json
from scheduler.odds.outlook import SAMPLES, SEED, Outlook, outlook
from scheduler.odds.text import outlook_text

__all__ = ["SAMPLES", "SEED", "Outlook", "outlook", "outlook_json", "outlook_text"]
