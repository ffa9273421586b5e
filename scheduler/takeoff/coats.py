"""Films, coats and pours: litres and kilograms by area and thickness."""

UNDERLAY_DENSITY = 1.7
"""[kg/m2/mm] hardened self-leveling underlayment, 1.6 to 2.0 (data sheets, from memory)."""


def coverage(film: float) -> float:
    """How far a litre goes at a wet film thickness [mm]: m2/L = 1 / mm. 0.7 mm gives 1.43 m2/L."""
    return 1 / film


def membrane(area: float, coats: int, film: float) -> float:
    """Litres of membrane: area [m2] x coats x wet film of each [mm]."""
    return area * coats / coverage(film)


def wet_film(dry: float, shrinkage: float = 0.4) -> float:
    """The wet film [mm] that dries down to ``dry`` [mm].

    Source: shrinkage 30 to 50 %; a trade note, read, has up to 50 %.
    """
    return dry / (1 - shrinkage)


def underlay(area: float, thickness: float, density: float = UNDERLAY_DENSITY) -> float:
    """Dry underlayment [kg] for an area [m2] at a mean thickness [mm]."""
    return area * thickness * density


def paint(area: float, coats: int, reach: float) -> float:
    """Litres of paint or primer for an area [m2]; ``reach`` is what a litre covers once [m2/L]."""
    return area * coats / reach
