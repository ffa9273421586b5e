"""An independent check of a plan against the rules; of the package it shares the nouns alone."""

from scheduler.verify.case import Breach
from scheduler.verify.rules import check
from scheduler.verify.together import check_together

__all__ = ["Breach", "check", "check_together"]
