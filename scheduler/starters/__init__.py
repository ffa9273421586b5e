"""From a few answers to a job file: starters, their parts and questions (``data/starters``)."""

from scheduler.starters.answers import Answers
from scheduler.starters.asking import ask, menu, options, suppose
from scheduler.starters.files import starters
from scheduler.starters.read import read_answers
from scheduler.starters.write import write

__all__ = ["Answers", "ask", "menu", "options", "read_answers", "starters", "suppose", "write"]
