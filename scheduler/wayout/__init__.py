"""No plan is possible: what would have to give, with figures, each asked of the same search.

``ways_out`` finds them, ``ways_text`` and ``no_plan_json`` show them.
"""

from scheduler.wayout.asjson import no_plan_json
from scheduler.wayout.find import WaysOut, ways_out
from scheduler.wayout.text import ways_text

__all__ = ["WaysOut", "no_plan_json", "ways_out", "ways_text"]
