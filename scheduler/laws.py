"""The six laws of waiting: how fast products set, dry and cure in the air they stand in.

A label gives a time at stated conditions. A law gives the speed at any others, as a pure function
of temperature ``t`` [°C] and relative humidity ``rh`` [0..1], up to a factor that ``rate`` divides
out. Time passed at rate 0.5 counts for half of the label's time.

Outside the range in which its formula is known a law gives no credit: the answer is "not yet".
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import ceil

import numpy as np

from scheduler.air import Values, saturation_pressure, vapour_pressure
from scheduler.clock import DAY
from scheduler.model import Conditions

Speed = Callable[[Values, Values], Values]

_KELVIN = 273.15
_HYDRATION_Q = 5000.0  # K
_HYDRATION_STOPS_BELOW, _NO_MORE_CREDIT_ABOVE = 5.0, 35.0  # °C
_FREEZING = 0.0  # °C
_DAMPEST = 0.98  # relative humidity
_SLOW_FROM = 40.0  # mm


def hydration(t: Values, rh: Values) -> Values:
    """Cement: thin-set, mortar, joint cement, underlayment, grout; hours worth 1 h at 23 °C.

    exp(-Q (1/T - 1/T23)) with Q = 5000 K and T in kelvin (equivalent age).

    Below 5 °C nothing is credited, though some strength still comes: so close to freezing no label
    lets the work rest on it. Above 35 °C the rate stays as at 35 °C: hot curing is faster at first
    and ends weaker. Humidity does not enter: cement sets in its own water.

    Args:
        t: temperature; credited from 5 to 35 [°C].
        rh: not used.

    Source: ASTM C1074, equivalent age, its Q for Type I cement without admixtures (from memory);
    published setting rules imply 4000 to 6200 K. Least temperature: ACI on cold weather, "greatly
    retarded" below 5 °C. Most: Klieger, PCA Research Bulletin 103, on heat and late strength.
    """
    kelvin = np.minimum(t, _NO_MORE_CREDIT_ABOVE) + _KELVIN
    age = np.exp(-_HYDRATION_Q * (1 / kelvin - 1 / (23 + _KELVIN)))
    return np.where(t < _HYDRATION_STOPS_BELOW, 0.0, age)


def drying(t: Values, rh: Values) -> Values:
    """Thin water-based coats: membrane, primer, paint, ready-mixed joint compound.

    p_sat(t) (1 - rh)^0.90, p_sat in Pa. Joint compound under tape takes 22 500 h over this: within
    15 % of every cell but one of the published grid, 4 % RMS. A plain vapour pressure deficit
    (exponent 1) is a fifth too short in dry air and a third too long in damp. That the exponent
    serves membranes and paints too is an assumption.

    Args:
        t: temperature, 0 to 38; no credit below 0, where coats freeze [°C].
        rh: relative humidity, 0 to 0.98; no credit above, where no figure is published [0..1].

    Source: fit to the drying table "joint compound under joint tape" of Gypsum Association GA-236
    and ASTM C840 (its cells from memory).
    """
    return _where_water_leaves(t, rh, saturation_pressure(t) * _dryness(rh) ** 0.90)


def thick_drying(t: Values, rh: Values) -> Values:
    """Screed and thick underlayment, before a covering that moisture would harm.

    p_sat(t)^0.54 (1 - rh)^0.32, p_sat in Pa: water has to find its way through the thickness
    first, so the air counts for less than it does with thin coats.

    Args:
        t: temperature, 10 to 30; no credit below 0 [°C].
        rh: relative humidity, 0.35 to 0.80; no credit above 0.98 [0..1].

    Source: fit within 8 % to the climate factors of Hedenblad, Drying of Construction Water in
    Concrete (1997), relative to 18 °C, 60 % (from memory).
    """
    speed = saturation_pressure(t) ** 0.54 * _dryness(rh) ** 0.32
    return _where_water_leaves(t, rh, speed)


def moisture_cure(t: Values, rh: Values) -> Values:
    """Silicone: it cures with moisture out of the air, so dry air slows it, and so does cold.

    rh p_sat(t) [Pa]. The cured skin lets vapour through to the rest, so depth^2 / 2 grows by
    permeability times vapour pressure; permeability is taken as constant.

    Args:
        t: temperature, 5 to 40; no credit below 0, where frost keeps moisture from the joint [°C].
        rh: relative humidity [0..1].

    Source: Comyn and others on the depth of cure of moisture-curing sealants, International Journal
    of Adhesion and Adhesives, 1998 (from memory).
    """
    return np.where(t < _FREEZING, 0.0, vapour_pressure(t, rh))


def steady(t: Values, rh: Values) -> Values:
    """What the room's air does not touch: 1 at any temperature and humidity.

    Source: setting-type gypsum compound keeps its rated minutes from 45 °F up and "in extreme
    humidity" (trade journal on working with setting compounds).
    """
    return np.ones_like(t)


def _dryness(rh: Values) -> Values:
    return np.maximum(1 - rh, 0.0)


def _where_water_leaves(t: Values, rh: Values, speed: Values) -> Values:
    """``speed``, but 0 in frost and in air that is all but saturated."""
    return np.where((t < _FREEZING) | (rh > _DAMPEST), 0.0, speed)


def _same(thickness: float) -> float:
    return 1.0


def _days_to_dry(thickness: float) -> float:
    """Days that a screed of a thickness [mm] takes: one a mm to 40 mm, two a mm beyond.

    Source: BS 5385-3:2014 and BS 8203 for the first (older wording: to 50 mm); two beyond is
    common practice, sources differ.
    """
    return thickness + max(thickness - _SLOW_FROM, 0.0)


def _square(thickness: float) -> float:
    """Depth of cure grows with the square root of time. Source: as ``moisture_cure``."""
    return thickness**2


@dataclass(frozen=True)
class Law:
    """A law of waiting.

    Args:
        name: its key in ``LAWS`` and in the catalogue.
        says: what it says, in a line.
        speed: of temperature [°C] and relative humidity [0..1], up to a constant factor.
        affected_by_air: whether the room's air changes it at all.
        by_thickness: time against thickness [mm], up to a constant factor.
        soonest: what a thinner layer brings a longer time down to, at most [min].
        likes_damp: whether damp air makes it faster and not slower.
    """

    name: str
    says: str
    speed: Speed
    affected_by_air: bool = True
    by_thickness: Callable[[float], float] = _same
    soonest: int = 0
    likes_damp: bool = False


LAWS: Mapping[str, Law] = {
    law.name: law
    for law in (
        Law(
            "hydration", "cement sets and hardens slower in the cold, and not below 5 C", hydration
        ),
        Law("drying", "a thin coat dries slower in cold or damp air", drying),
        Law(
            "thick-drying",
            "a thick layer dries a little slower in cold or damp air, and longer the thicker it is",
            thick_drying,
            by_thickness=_days_to_dry,
        ),
        Law(
            "moisture-cure",
            "cures with moisture from the air: slower in cold or dry air and in deep joints",
            moisture_cure,
            by_thickness=_square,
            soonest=DAY,  # sealant guides: before water at least 24 h, whatever the bead
            likes_damp=True,
        ),
        Law("gypsum-set", "sets in its rated minutes, whatever the room is like", steady, False),
        Law("fixed", "takes its time, whatever the room is like", steady, False),
    )
}
"""The six laws by name."""


def rate(law: str, temperature: Values | float, humidity: Values | float, at: Conditions) -> Values:
    """How fast a product gets on, 1 being as its label says [1].

    Args:
        law: a key of ``LAWS``.
        temperature: of the air [°C].
        humidity: relative humidity of the air [0..1]; the two are broadcast together.
        at: the conditions of the label.

    Raises:
        ValueError: at the label's conditions the product would never get there; the words complete
            "must be ...". See ``works_at``.
    """
    if not works_at(law, at):
        raise ValueError(f"conditions in which a label can be kept ({LAWS[law].says})")
    t, rh = np.broadcast_arrays(np.asarray(temperature, float), np.asarray(humidity, float))
    return LAWS[law].speed(t, rh) / _speed_at(law, at)


def works_at(law: str, at: Conditions) -> bool:
    """Whether anything happens at all in this air, so that a label can speak of it."""
    return bool(_speed_at(law, at) > 0)


def _speed_at(law: str, at: Conditions) -> Values:
    return LAWS[law].speed(np.asarray(at.temperature), np.asarray(at.humidity))


def for_thickness(law: str, minutes: int, thickness: float, usual: float) -> int:
    """A time for another thickness, rounded up [min]; a thin one is not under the law's soonest.

    Args:
        law: a key of ``LAWS``.
        minutes: the time for the ``usual`` thickness [min].
        thickness: as applied, above 0 [mm].
        usual: what ``minutes`` are for, above 0 [mm].

    Raises:
        ValueError: a thickness is not above 0; the words complete "must be ...".
    """
    if not (thickness > 0 and usual > 0):
        raise ValueError("a thickness above 0, such as 4 mm or 1/4 in")
    by_thickness = LAWS[law].by_thickness
    exactly = minutes * by_thickness(thickness) / by_thickness(usual)
    scaled = ceil(round(exactly, 6))  # 3/8 in is not exact in binary: no minute for that
    return max(scaled, min(minutes, LAWS[law].soonest))
