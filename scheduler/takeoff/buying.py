"""From what is needed to what is mixed at a time and bought."""

from math import floor

from scheduler import laws
from scheduler.model import Amount
from scheduler.takeoff.surfaces import EXACT, rounded_up


def working_minutes(amount: Amount, temperature: float, humidity: float = 0.5) -> int | None:
    """How long a fresh mix can be worked in this air [min], rounded down; None if it is not mixed.

    The law that sets a product also ends its pot life. Where the law stands still (cement near
    freezing) the stated time stands: nobody should find out on a floor how much longer it is.
    Above 35 °C, where the law counts as at 35 °C, it is shorter still; no class is applied there.

    Args:
        amount: its ``pot_life``, with the law and the air it is stated for.
        temperature: of the air, and of the mix [°C].
        humidity: relative humidity [0..1].
    """
    if amount.pot_life is None:
        return None
    speed = float(laws.rate(amount.pot_law, temperature, humidity, amount.pot_at))
    return floor(round(amount.pot_life / speed, EXACT)) if speed > 0 else amount.pot_life


def with_waste(size: float, waste: float) -> float:
    """A size with its share [0..1] of waste on top."""
    return size * (1 + waste)


def packs(size: float, pack: float) -> int:
    """Whole packs that hold ``size``, both in one unit; 0 for nothing."""
    return rounded_up(size / pack)
