"""What a job takes: what to buy, how much, for which task and by when; what that costs.

``shopping`` works it out from a job and its plan, ``shopping_text``, ``shopping_json`` and
``shopping_csv`` show it.
"""

from scheduler.shopping.asjson import shopping_json
from scheduler.shopping.cost import Costs, costs
from scheduler.shopping.lines import Line, Shopping, shopping
from scheduler.shopping.sheet import shopping_csv
from scheduler.shopping.stock import stock_warnings
from scheduler.shopping.text import shopping_text

__all__ = [
    "Costs",
    "Line",
    "Shopping",
    "costs",
    "shopping",
    "shopping_csv",
    "shopping_json",
    "shopping_text",
    "stock_warnings",
]
