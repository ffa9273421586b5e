"""Files that loggers write: tables of the air over time, in many shapes, to rows and notes."""

from scheduler.loggerfile.read import read
from scheduler.loggerfile.rows import Row, Rows

__all__ = ["Row", "Rows", "read"]
