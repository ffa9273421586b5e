"""Several jobs in one plan: who is where on which day, and what one job does to another."""

from scheduler.portfolio.together import Keep, Together, at_one_time, plan_again, plan_together

__all__ = ["Keep", "Together", "at_one_time", "plan_again", "plan_together"]
