"""Viscosity index by ASTM D2270, and the 100 °C viscosity that an index and a 40 °C viscosity imply.

Knows: how the second viscosity points in media.toml that are flagged `estimated` were derived. Does not know: the
viscosity-temperature curve through them. Nothing imports it at run time; a test rebuilds the points from it.
"""

from math import log10

# Upper end of the range of 100 °C viscosity (mm²/s), then coefficients of the two reference oils' 40 °C viscosities:
# L (index 0) = a y² + b y + c and H (index 100) = d y² + e y + f. Recalled; a test holds them to a published example.
REFERENCE_OILS = (
    (3.8, (1.14673, 1.7576, -0.109), (0.84155, 1.5521, -0.077)),
    (4.4, (3.38095, -15.4952, 33.196), (0.78571, 1.7929, -0.183)),
    (5.0, (2.5, -7.2143, 13.812), (0.82143, 1.5679, 0.119)),
    (6.4, (0.101, 16.635, -45.469), (0.04985, 9.1613, -18.557)),
    (7.0, (3.35714, -23.5643, 78.466), (0.22619, 7.7369, -16.656)),
    (7.7, (0.01191, 21.475, -72.870), (0.79762, -0.7321, 14.610)),
    (9.0, (0.41858, 16.1558, -56.040), (0.05794, 10.5156, -28.240)),
    (12.0, (0.88779, 7.5527, -16.600), (0.26665, 6.7015, -10.810)),
    (15.0, (0.76720, 10.7972, -38.180), (0.20073, 8.4658, -22.490)),
)
LOWEST = 2.0


def reference_viscosities(viscosity_100: float) -> tuple[float, float]:
    """L and H: 40 °C viscosities (mm²/s) of the oils of index 0 and 100 that share a 100 °C viscosity of 2 to 15 mm²/s.

    Raises ValueError outside that range. Source: [astm_d2270], coefficients of the reference oils.
    """
    if viscosity_100 >= LOWEST:
        for upper, low_index, high_index in REFERENCE_OILS:
            if viscosity_100 <= upper:
                y = viscosity_100
                a, b, c = low_index
                d, e, f = high_index
                return a * y * y + b * y + c, d * y * y + e * y + f
    raise ValueError(f"{viscosity_100} mm²/s at 100 °C is outside {LOWEST} to {REFERENCE_OILS[-1][0]}")


def viscosity_index(viscosity_40: float, viscosity_100: float) -> float:
    """Viscosity index of an oil from its kinematic viscosities (mm²/s) at 40 and 100 °C, unrounded.

    Source: [astm_d2270], procedure A to index 100 and procedure B above.
    """
    low, high = reference_viscosities(viscosity_100)
    if viscosity_40 >= high:
        return (low - viscosity_40) / (low - high) * 100
    exponent = (log10(high) - log10(viscosity_40)) / log10(viscosity_100)
    return (10**exponent - 1) / 0.00715 + 100


def viscosity_at_100(viscosity_40: float, index: float) -> float:
    """The 100 °C viscosity (mm²/s) that gives an oil of `viscosity_40` (mm²/s at 40 °C) this viscosity index.

    Solved by bisection of `viscosity_index` between 2 and 15 mm²/s; raises ValueError when no such viscosity exists.
    """
    below, above = LOWEST, min(REFERENCE_OILS[-1][0], viscosity_40)
    if not viscosity_index(viscosity_40, below) <= index <= viscosity_index(viscosity_40, above):
        raise ValueError(f"no viscosity of 2 to 15 mm²/s gives {viscosity_40} mm²/s an index of {index}")
    while above - below > 1e-9:
        middle = (below + above) / 2
        below, above = (middle, above) if viscosity_index(viscosity_40, middle) < index else (below, middle)
    return (below + above) / 2
