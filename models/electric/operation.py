"""An electric actuator at work: steady temperatures, mean power from the bus, where the heat arises, bursts.

Knows a candidate's numbers (`candidate`), its load and its cooling. Two nodes carry the heat, winding and case; the
resistance follows the winding's temperature and the field the magnet's. Knows no geometry and compares nothing.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from numba import njit

from models.compiled import INNER, WITHIN
from models.drive.electronics import BusFlow, bus_flow, drive_size, split_power
from models.drive.winding import COPPER_COEFFICIENT, REFERENCE, resistance_factor
from models.electric.candidate import Fit, active_mass
from models.heat import cylinder_conductance, radiation_coefficient


class Thermal(NamedTuple):
    """Steady temperatures, K; `settles` is false, and they may be infinite, when the heat cannot leave below limits."""

    winding: float
    case: float
    magnet: float
    settles: bool


class Operation(NamedTuple):
    """A machine in steady work over the whole duty mix, W unless named otherwise, and its mass, kg.

    corner_bus and corner_heat are means over the axle's corners, where a duty leaves some of them standing.
    """

    bus: float
    returned: float
    delivered: float
    absorbed: float
    copper: float
    iron: float
    friction: float
    transmission: float
    drive_heat: float
    cooling_power: float
    standby: float
    corner_bus: float
    corner_heat: float
    drive_mass: float
    cooling_mass: float
    mass: float


@njit(**INNER)
def case_conductance(row: Any, cooling: Any, surface: float, supply: Any) -> float:
    """Heat the case gives off per kelvin above its coolant, W/K, at `surface` K."""
    diameter, length = row.case_diameter, row.case_length
    if cooling.liquid > 0.5:
        return cooling.film * math.pi * diameter * length
    air_speed = max(cooling.air_speed, supply.air_speed)
    # fins multiply what convection carries off, not what the smooth outline radiates
    smooth = cooling.area_factor == 1.0
    emissivity = supply.emissivity if smooth else 0.0
    given = cylinder_conductance(diameter, length, True, surface, supply.ambient, air_speed, emissivity)
    if smooth:
        return given
    outline = math.pi * diameter * (length + 0.5 * diameter)
    return given * cooling.area_factor + outline * radiation_coefficient(surface, supply.ambient, supply.emissivity)


@njit(**INNER)
def _winding_at(row: Any, case: float, loss: float) -> tuple[float, float, float]:
    # winding and magnet temperature, and hot loss, over a case at `case` K; loss W at 20 °C. Infinite at runaway.
    winding, cold_rise = case, loss / row.link
    for _ in range(4):
        magnet = case + row.magnet_coupling * (winding - case)
        weaker = 1.0 + row.magnet_slope * (magnet - REFERENCE)
        if weaker <= 0.1:
            return math.inf, math.inf, math.inf
        rise = cold_rise / (weaker * weaker)
        feedback = COPPER_COEFFICIENT * rise
        if feedback >= 1.0:
            return math.inf, math.inf, math.inf
        winding = (case + rise * (1.0 - COPPER_COEFFICIENT * REFERENCE)) / (1.0 - feedback)
    return winding, case + row.magnet_coupling * (winding - case), (winding - case) * row.link


@njit(**WITHIN)
def case_limit(row: Any, supply: Any) -> float:
    """Temperature, K, the case cannot pass without the winding, the magnet or the surface passing its limit."""
    return min(min(supply.winding_limit, row.winding_limit), min(row.magnet_limit, supply.surface_limit))


@njit(**INNER)
def settle(row: Any, cooling: Any, supply: Any, loss: float, case_heat: float, bearable: float) -> Thermal:
    """Steady temperatures under `loss` W of copper at 20 °C and `case_heat` W that arises in the case.

    bearable: W, heat from which the result is of no use and does not count as settled; infinite: none is. Two nodes,
    the resistance and the field following their temperatures; the first balance above the coolant's temperature.
    Source: derived; a bracketed secant (Illinois) on the case's heat balance, to 0.01 K. Its lower end begins where the
    heat of a winding as cold as the coolant leaves by the greatest conductance there is below the limit: that at the
    limit or, where air is driven, perhaps that at the coolant's temperature.
    """
    no = Thermal(math.inf, math.inf, math.inf, False)
    sink, high = supply.ambient + cooling.rise, case_limit(row, supply)
    coldest = _winding_at(row, sink, loss)[2] + case_heat
    if high <= sink or coldest >= bearable:
        return no
    at_limit = case_conductance(row, cooling, high, supply)
    over_high = _winding_at(row, high, loss)[2] + case_heat - at_limit * (high - sink)
    if not over_high <= 0.0:
        return no
    greatest = at_limit
    if cooling.air_speed > 0.0 or supply.air_speed > 0.0:
        greatest = max(greatest, case_conductance(row, cooling, sink + 1.0, supply))
    low = sink + coldest / greatest
    if not low < high:
        return no
    hottest = min(supply.winding_limit, row.winding_limit)
    winding, magnet, hot = _winding_at(row, low, loss)
    if not (winding <= hottest and magnet <= row.magnet_limit and hot + case_heat < bearable):
        return no
    if bearable < math.inf and _winding_at(row, sink + (hot + case_heat) / greatest, loss)[2] + case_heat >= bearable:
        return no
    case, over_low, side, near = low, 0.0, 0, 1e-5 * (loss + case_heat)
    for turn in range(59):
        heat = _winding_at(row, case, loss)[2] + case_heat
        over = heat - case_conductance(row, cooling, case, supply) * (case - sink)
        if abs(over) <= near or (turn == 0 and over < 0.0):
            break
        if over > 0.0:
            if heat >= bearable:
                return no
            low, over_low = case, over
            if side == 1:
                over_high *= 0.5
            side = 1
        else:
            high, over_high = case, over
            if side == -1:
                over_low *= 0.5
            side = -1
        if high - low <= 0.01:
            break
        case = high - over_high * (high - low) / (over_high - over_low)
    winding, magnet, _ = _winding_at(row, case, loss)
    return Thermal(winding, case, magnet, winding <= hottest and magnet <= row.magnet_limit)


@njit(**INNER)
def _duty_force(row: Any, load: Any, k: int, supply: Any) -> tuple[float, float]:
    # rms force of the machine in duty k, and the share of its square that falls into being driven
    velocity, own = load.velocity_rms[k], load.force_rms[k]
    inertia = row.inertance * load.omega[k] * velocity
    cosine = 0.0
    if own * velocity > 0.0:
        cosine = min(1.0, max(-1.0, load.power[k] / (own * velocity)))
    sine = math.sqrt(1.0 - cosine * cosine)
    squared = own * own + inertia * inertia + 2.0 * own * inertia * sine + load.static * load.static
    at_machine = squared
    if row.efficiency < 1.0:
        absorbing = split_power(load.power[k], math.sqrt(squared), velocity).absorbing_force
        at_machine *= (1.0 - absorbing) / (row.efficiency * row.efficiency) + absorbing * row.efficiency**2
    friction = row.friction * supply.friction_factor
    return math.sqrt(at_machine + friction * friction), math.sqrt(squared)


@njit(**INNER)
def duty_losses(row: Any, load: Any, k: int, supply: Any, fill: float) -> tuple[float, float, float]:
    """In duty `k`: copper loss at 20 °C (W), heat arising in the case (W), machine force squared (N²)."""
    constant = (row.motor_constant * row.mid_share * supply.motor_factor) ** 2 * fill
    force, _ = _duty_force(row, load, k, supply)
    iron = row.iron_linear * load.velocity_mean[k] + row.iron_square * load.velocity_rms[k] ** 2
    rubbing = row.friction * supply.friction_factor * load.velocity_mean[k]
    return force * force / constant, iron + rubbing, force * force


@njit(**INNER)
def mean_losses(row: Any, load: Any, supply: Any, fill: float) -> tuple[float, float, float]:
    """Means over the duty mix: copper loss at 20 °C (W), heat arising in the case (W), rms machine force (N)."""
    constant = (row.motor_constant * row.mid_share * supply.motor_factor) ** 2 * fill
    holding = load.standby_share * load.static * load.static
    copper, case_heat, squared = holding / constant, 0.0, holding
    for k in range(load.duties):
        loss, heat, force = duty_losses(row, load, k, supply, fill)
        copper += load.share[k] * loss
        case_heat += load.share[k] * heat
        squared += load.share[k] * force
    return copper, case_heat, math.sqrt(squared)


@njit(**INNER)
def operate(
    row: Any, load: Any, cooling: Any, supply: Any, found: Fit, copper: float, case_heat: float, heated: Thermal
) -> Operation:
    """The power flows of the duty mix at steady temperatures; copper: W at 20 °C, case_heat: W, of `mean_losses`."""
    weaker = 1.0 + row.magnet_slope * (heated.magnet - REFERENCE)
    hotter = resistance_factor(heated.winding) / (weaker * weaker)
    constant = (row.motor_constant * row.mid_share * supply.motor_factor) ** 2 * found.fill / hotter
    rated_mean = copper * hotter + case_heat
    drive = drive_size(found.peak_power, rated_mean, supply.drive)
    mass, loss_fraction, standby = drive.mass, drive.loss_fraction, drive.standby
    regeneration = supply.regeneration
    if row.drive_loss > 0.0:
        mass, loss_fraction, standby, regeneration = 0.0, row.drive_loss, row.drive_standby, 0.0
    bus, returned, delivered, absorbed, drive_heat = 0.0, 0.0, 0.0, 0.0, 0.0
    copper_sum, iron_sum, friction_sum, transmission = 0.0, 0.0, 0.0, 0.0
    holding = load.static * load.static / constant
    idle = holding * (1.0 + loss_fraction) + standby
    corner_bus, given = 0.0, 0.0
    for k in range(load.duties):
        share = load.share[k]
        force, at_actuator = _duty_force(row, load, k, supply)
        split = split_power(load.power[k], at_actuator, load.velocity_rms[k])
        copper_loss = force * force / constant
        iron = row.iron_linear * load.velocity_mean[k] + row.iron_square * load.velocity_rms[k] ** 2
        friction = row.friction * supply.friction_factor * load.velocity_mean[k]
        running = iron + friction
        driving = (
            split.delivered / row.efficiency
            + (1.0 - split.absorbing_time) * running
            + (1.0 - split.absorbing_force) * copper_loss
        )
        driven = split.absorbed * row.efficiency - split.absorbing_time * running - split.absorbing_force * copper_loss
        flow: BusFlow = bus_flow(driving, driven, split.absorbed, loss_fraction, standby, regeneration)
        bus += share * flow.net
        corner_bus += share * (load.moving[k] * flow.net + (1.0 - load.moving[k]) * idle)
        given += share * load.moving[k] * (split.delivered - split.absorbed)
        returned += share * flow.returned
        drive_heat += share * flow.heat
        delivered += share * split.delivered
        absorbed += share * split.absorbed
        copper_sum += share * copper_loss
        iron_sum += share * iron
        friction_sum += share * friction
        transmission += share * (
            split.delivered * (1.0 / row.efficiency - 1.0) + split.absorbed * (1.0 - row.efficiency)
        )
    bus += load.standby_share * idle
    corner_bus += load.standby_share * idle
    drive_heat += load.standby_share * (holding * loss_fraction + standby)
    copper_sum += load.standby_share * holding
    cooling_power = cooling.fixed_power + cooling.power_per_heat * (copper_sum + case_heat)
    cooling_mass = (
        cooling.fixed_mass
        + cooling.mass_per_area * math.pi * row.case_diameter * row.case_length
        + cooling.mass_per_heat * (copper_sum + case_heat)
    )
    total = active_mass(row, found.fill) + mass + cooling_mass
    return Operation(
        bus + cooling_power,
        returned,
        delivered,
        absorbed,
        copper_sum,
        iron_sum,
        friction_sum,
        transmission,
        drive_heat,
        cooling_power,
        idle + cooling.fixed_power,
        corner_bus + cooling_power,
        corner_bus + cooling_power - given,
        mass,
        cooling_mass,
        total,
    )


@njit(**INNER)
def burst_temperature(row: Any, load: Any, supply: Any, fill: float, heated: Thermal) -> float:
    """Highest winding temperature, K, when the worst burst begins from the steady state.

    The case takes up the burst's heat without losing any; the winding rises over it by its own time constant, with
    the loss growing as it warms. Source: derived, dT/dt linear in T; the case's part is an upper bound.
    """
    weaker = 1.0 + row.magnet_slope * (heated.magnet - REFERENCE)
    hottest = heated.winding
    for k in range(load.duties):
        if load.burst_time[k] <= 0.0:
            continue
        inertia = row.inertance * load.omega[k] * load.burst_velocity[k] / math.sqrt(2.0)
        force = (load.burst_force[k] + inertia) / row.efficiency + row.friction * supply.friction_factor
        squared = force * force + load.static * load.static
        end = (row.motor_constant * row.end_share * supply.motor_factor * weaker) ** 2 * fill
        loss = squared / end
        capacity = row.winding_capacity * fill
        rate = (row.link - COPPER_COEFFICIENT * loss) / capacity
        heat = loss * (1.0 - COPPER_COEFFICIENT * REFERENCE) + row.link * heated.case
        time = load.burst_time[k]
        if abs(rate) * time < 1e-6:
            winding = heated.winding + (heat / capacity - rate * heated.winding) * time
        else:
            final = heat / (capacity * rate)
            winding = final + (heated.winding - final) * math.exp(-rate * time)
        case_rise = loss * resistance_factor(heated.winding) * time / row.case_capacity
        steady_rise = (heated.winding - heated.case) * row.link * time / row.case_capacity
        hottest = max(hottest, winding + max(0.0, case_rise - steady_rise))
    return hottest
