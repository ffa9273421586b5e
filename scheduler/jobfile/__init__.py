"""The job file: YAML to ``Job``, with every problem at once, and its JSON Schema for editors."""

from scheduler.jobfile.read import ASSUMED, parse, schema

__all__ = ["ASSUMED", "parse", "schema"]
