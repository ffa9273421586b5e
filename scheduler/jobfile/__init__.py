"""The job file: YAML to ``Job``, with every problem at once, and its JSON Schema for editors."""

from scheduler.jobfile.crew import Beside, CrewFile
from scheduler.jobfile.read import ASSUMED, parse, schema

__all__ = ["ASSUMED", "Beside", "CrewFile", "parse", "schema"]
