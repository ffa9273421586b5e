"""Several jobs in one plan: who is where on which day, and what one job does to another."""

from scheduler.portfolio.together import Together, plan_together

__all__ = ["Together", "plan_together"]
