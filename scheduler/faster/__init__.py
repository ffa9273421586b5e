"""What would bring a job forward: real levers, tried one at a time and in pairs.

``faster`` tries them on a job, ``faster_text`` and ``faster_json`` show what came of it.
"""

from scheduler.faster.asjson import faster_json
from scheduler.faster.text import faster_text
from scheduler.faster.trying import Faster, Outcome, faster

__all__ = ["Faster", "Outcome", "faster", "faster_json", "faster_text"]
