"""A renovation plan that knows what drying takes: job file, plan, calendar, verdict."""
