"""Why a task starts when it does: its reasons walked back to the start, or to what is logged."""

from scheduler.why.account import Account, Held, account
from scheduler.why.asjson import why_json
from scheduler.why.text import why_text

__all__ = ["Account", "Held", "account", "why_json", "why_text"]
