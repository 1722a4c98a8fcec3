"""Tubes and hoses: friction, fittings, water hammer, inertia, compliance and strength.

Knows: one line of uniform bore, its fittings as two loss coefficients, and the elastic wall around it. Does not know:
where a line runs in the car, which size is bought, or the oil (density, viscosity and modulus are arguments).

Friction is Darcy–Weisbach: 64/Re up to Re 2000, Colebrook from 4000, and between them a smooth blend that keeps the
pressure drop rising with flow. Nothing is known about that band to better than tens of percent; the blend only makes
it continuous.
"""

import math

from numba import njit

from models.compiled import INNER, KERNEL

LAMINAR_LIMIT = 2000.0
TURBULENT_LIMIT = 4000.0


@njit(**KERNEL)
def reynolds_number(velocity: float, diameter: float, kinematic_viscosity: float) -> float:
    """Reynolds number of a round bore: `velocity` m/s (any sign), `diameter` m, `kinematic_viscosity` m²/s."""
    return abs(velocity) * diameter / kinematic_viscosity


@njit(**KERNEL)
def colebrook(reynolds: float, relative_roughness: float) -> float:
    """Darcy friction factor of turbulent flow, the Colebrook–White equation solved to rounding error.

    `reynolds` from about 2000 upward, `relative_roughness` = roughness/diameter, 0 to 0.05.
    Source: [colebrook1939]; start by [haaland1983], then Newton steps on 1/√f.
    """
    rough = relative_roughness / 3.7
    viscous = 2.51 / reynolds
    x = -1.8 * math.log10(rough**1.11 + 6.9 / reynolds)
    scale = 2.0 / math.log(10.0)
    for _ in range(3):
        inner = rough + viscous * x
        x -= (x + scale * math.log(inner)) / (1.0 + scale * viscous / inner)
    return 1.0 / (x * x)


@njit(**KERNEL)
def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Darcy friction factor at any `reynolds` above zero; `relative_roughness` 0 to 0.05.

    Continuous with its first derivative; f·Re² (the pressure drop) rises with Re everywhere.
    Source: Hagen–Poiseuille 64/Re; [colebrook1939]; the blend between is this project's own.
    """
    if reynolds <= LAMINAR_LIMIT:
        return 64.0 / reynolds
    turbulent = colebrook(reynolds, relative_roughness)
    if reynolds >= TURBULENT_LIMIT:
        return turbulent
    share = (reynolds - LAMINAR_LIMIT) / (TURBULENT_LIMIT - LAMINAR_LIMIT)
    share = share * share * (3.0 - 2.0 * share)
    return (1.0 - share) * 64.0 / reynolds + share * turbulent


@njit(**KERNEL)
def line_pressure_drop(
    flow: float,
    diameter: float,
    length: float,
    loss_k1: float,
    loss_k: float,
    density: float,
    dynamic_viscosity: float,
    roughness: float,
) -> float:
    """Pressure drop (Pa) along a line with its fittings, with the sign of `flow` (m³/s).

    `diameter` bore m, `length` m, `roughness` m, `density` kg/m³, `dynamic_viscosity` Pa·s. The fittings' loss
    coefficient is K = `loss_k1`/Re + `loss_k`, each the sum over all fittings of the line (`hooper_loss`, `darby_loss`,
    or a constant K with `loss_k1` = 0). Source: Darcy–Weisbach; [esposito], chapter 4.
    """
    speed = abs(flow) / (0.25 * math.pi * diameter * diameter)
    reynolds = density * speed * diameter / dynamic_viscosity
    head = 0.5 * density * speed * speed
    creeping = 0.5 * dynamic_viscosity * speed / diameter
    if reynolds <= LAMINAR_LIMIT:
        friction = 64.0 * creeping * length / diameter
    else:
        friction = friction_factor(reynolds, roughness / diameter) * head * length / diameter
    return math.copysign(friction + loss_k1 * creeping + loss_k * head, flow)


@njit(**KERNEL)
def hooper_loss(k1: float, k_infinite: float, diameter: float) -> tuple[float, float]:
    """(loss_k1, loss_k) of one fitting by the two-K method: K = K1/Re + K∞·(1 + 1/D) with the bore D in inches.

    Source: [hooper1981]. The constants come from pipes of 1 inch and more; at a few millimetres the 1/D term is an
    extrapolation on the cautious side.
    """
    return k1, k_infinite * (1.0 + 0.0254 / diameter)


@njit(**KERNEL)
def darby_loss(k1: float, k_infinite: float, k_size: float, diameter: float) -> tuple[float, float]:
    """(loss_k1, loss_k) of one fitting by the three-K method: K = K1/Re + Ki·(1 + Kd/D^0.3), bore D in inches.

    Source: [darby2001]. The same caution as in `hooper_loss` holds below 1 inch.
    """
    return k1, k_infinite * (1.0 + k_size / (diameter / 0.0254) ** 0.3)


@njit(**KERNEL)
def line_inertia(length: float, line_diameter: float, piston_area: float, density: float) -> float:
    """Mass (kg) the oil in a line shows at the piston: ρ·L·A²/A_line, which grows as the line narrows.

    Source: kinetic energy of the column at the piston's speed; derived.
    """
    return density * length * piston_area**2 / (0.25 * math.pi * line_diameter**2)


@njit(**KERNEL)
def thick_wall_modulus(inner: float, outer: float, elastic_modulus: float, poisson: float) -> float:
    """Modulus (Pa) of the container: pressure over the relative growth of the bore's volume, open ends.

    `inner` and `outer` diameters m, `elastic_modulus` Pa of the wall, `poisson` its ratio.
    Source: [merritt1967], mechanical compliance of a thick-walled cylinder; Lamé in [roark].
    """
    i2, o2 = inner * inner, outer * outer
    return 0.5 * elastic_modulus * (o2 - i2) / ((1.0 + poisson) * o2 + (1.0 - poisson) * i2)


@njit(**KERNEL)
def thin_wall_modulus(inner: float, wall: float, elastic_modulus: float) -> float:
    """Modulus (Pa) of a thin tube as a container: E·t/D, the limit of `thick_wall_modulus`. Source: [korteweg1878]."""
    return elastic_modulus * wall / inner


@njit(**KERNEL)
def combined_modulus(liquid_modulus: float, container_modulus: float) -> float:
    """Effective modulus (Pa) of a liquid in an elastic container: the reciprocals add. Source: [merritt1967]."""
    return 1.0 / (1.0 / liquid_modulus + 1.0 / container_modulus)


@njit(**KERNEL)
def wave_speed(effective_modulus: float, density: float) -> float:
    """Speed (m/s) of a pressure wave in a filled line; `effective_modulus` Pa, container included.

    Source: [korteweg1878] with `combined_modulus`; in a rigid line the liquid's own speed of sound.
    """
    return math.sqrt(effective_modulus / density)


@njit(**KERNEL)
def surge_pressure(
    velocity_change: float, density: float, speed_of_wave: float, length: float, closing_time: float
) -> float:
    """Pressure rise (Pa) when the flow in a line is stopped by `velocity_change` (m/s) within `closing_time` (s).

    Joukowsky's ρ·c·Δv when the valve shuts within one return of the wave, 2·`length`/c, and reduced in proportion to
    the closing time beyond it. Source: [joukowsky1898]; reduction by Michaud, recalled.
    """
    return_time = 2.0 * length / speed_of_wave
    return density * speed_of_wave * velocity_change * min(1.0, return_time / max(closing_time, return_time))


@njit(**KERNEL)
def rigid_column_pressure(velocity_change: float, density: float, length: float, closing_time: float) -> float:
    """Pressure rise (Pa) of an incompressible column slowed evenly: ρ·L·Δv/t, the limit of very slow closing.

    Source: Newton's second law; derived. It is half of what `surge_pressure` allows for the same slow closing.
    """
    return density * length * velocity_change / closing_time


@njit(**KERNEL)
def burst_pressure(inner: float, outer: float, strength: float) -> float:
    """Pressure (Pa) at which the hoop stress at the bore reaches `strength` (Pa). Source: Lamé, in [roark]."""
    i2, o2 = inner * inner, outer * outer
    return strength * (o2 - i2) / (o2 + i2)


@njit(**KERNEL)
def thin_wall_burst_pressure(inner: float, wall: float, strength: float) -> float:
    """Pressure (Pa) of failure of a thin tube, 2·t·S/D on the bore. Source: [esposito], example 10.3 (Barlow)."""
    return 2.0 * wall * strength / inner


@njit(**KERNEL)
def thin_wall_thickness(pressure: float, inner: float, stress: float) -> float:
    """Wall (m) that carries `pressure` (Pa) at `stress` (Pa) reckoned on the outside diameter: p·D/(2·(S−p)).

    Source: [sullivan], example 12.6. Valid for a wall thin against the bore; `burst_pressure` otherwise.
    """
    return pressure * inner / (2.0 * (stress - pressure))


@njit(**KERNEL)
def tube_mass(inner: float, outer: float, length: float, wall_density: float) -> float:
    """Mass (kg) of an empty tube; diameters and length m, `wall_density` kg/m³."""
    return 0.25 * math.pi * (outer * outer - inner * inner) * length * wall_density


@njit(**INNER)
def bore_volume(diameter: float, length: float) -> float:
    """Oil (m³) held by a line."""
    return 0.25 * math.pi * diameter * diameter * length


@njit(**INNER)
def bore_for_velocity(flow: float, velocity: float) -> float:
    """Bore (m) in which `flow` (m³/s) runs at `velocity` (m/s)."""
    return math.sqrt(4.0 * abs(flow) / (math.pi * velocity))


@njit(**KERNEL)
def hose_modulus(diameter: float, volumetric_expansion: float) -> float:
    """Modulus (Pa) of a hose as a container: its bore's area over `volumetric_expansion` in m³ per metre and pascal.

    Source: definition of volumetric expansion as hoses are specified; derived.
    """
    return 0.25 * math.pi * diameter * diameter / volumetric_expansion
