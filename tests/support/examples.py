"""How many random examples a property gets: the same ones on every run."""

from hypothesis import HealthCheck, settings


def examples(count: int = 100) -> settings:
    """Settings for a property; a test may take its time on a busy machine."""
    return settings(
        max_examples=count,
        derandomize=True,
        database=None,
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )
