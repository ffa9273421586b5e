"""Can this task start at that time, and why: one question, answered from the plan."""

from scheduler.ready.answer import network_of, ready
from scheduler.ready.text import verdict_text
from scheduler.ready.verdict import Finding, Verdict

__all__ = ["Finding", "Verdict", "network_of", "ready", "verdict_text"]
