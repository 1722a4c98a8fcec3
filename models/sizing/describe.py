"""From an account to the design's records: corners, centre, totals and parts list.

Derives what a reader wants from what the search computed (velocities, margins, temperatures) and names each part's
origin. Decides nothing.
"""

from __future__ import annotations

import numpy as np

from models.drive.battery import bus_current, run_time
from models.hydraulics.accumulator import gas_mass, nitrogen, nitrogen_density, stored_energy
from models.hydraulics.cylinder import intensified_pressure
from models.hydraulics.gas_spring import damping_orifice_drop, in_series, orifice_bore, orifice_resistance
from models.hydraulics.lines import line_pressure_drop
from models.hydraulics.pump import overall_efficiency
from models.hydraulics.reservoir import heat_balance, tank_box
from models.hydraulics.stiffness import velocity_disturbance
from models.quantity import ATMOSPHERE, plain
from models.sizing.account import Account, corner_gas, leakage, line_tubes, reservoir_oil, torques
from models.sizing.asked import controlled_rms, least_force
from models.sizing.catalogue import rule, seal_name
from models.sizing.central import MAIN_JOINTS, RELIEF, U_BUS0, U_QMAX, U_SPEED, UNLOADING, unit_power
from models.sizing.corner import BREAK_OUT
from models.sizing.design import Centre, Corner, CornerGas, Design, Totals
from models.sizing.parts import parts_list
from models.sizing.search import CHARGE_TEMPERATURE, RESERVOIR_VOLUMES
from models.sizing.task import CONTROLS, PARALLEL, SERIES, relief_factor, wheel_motion

CONTROL_NAMES = {
    "relief": "relief-held constant pressure",
    "unloading": "unloading between cut-out and cut-in, with accumulator",
    "speed": "speed-controlled motor",
}


def fastest_disturbance(state: Account, index: int) -> tuple[float, float]:
    """(velocity-disturbance force, force wanted) of the duty where their ratio is greatest, N.

    A duty that wants no force of its own is set against the largest wanted on the axle. Beside a spring both are peaks.
    With a spring between both are rms, the error is the wheel's motion on oil and spring in series, at the most, and
    what the springs carry by themselves is not wanted of the valve.
    """
    task, facts = state.tables.task, state.facts[index]
    demand = task.demand.axles[index]
    bandwidth = float(task.catalogue.valves.bandwidth[state.choice.corners[index].valve])
    if task.axles[index].arrangement != PARALLEL:
        against = stiffness_against(state, index) / (2.0 * np.pi * bandwidth)
        rms = [controlled_rms(duty) for duty in demand.duties]
        pairs = [
            (against * wheel_motion(duty)[0], own if own >= least_force(demand) else max(rms))
            for duty, own in zip(demand.duties, rms, strict=True)
        ]
        return max(pairs, key=lambda pair: pair[0] / pair[1])
    wanted = [max(duty.force_peak - abs(demand.static_force), duty.force_rms) for duty in demand.duties]
    pairs = []
    for duty, own in zip(demand.duties, wanted, strict=True):
        frequency = duty.ripple_frequency if duty.ripple_frequency > 0.0 else duty.frequency
        error = velocity_disturbance(facts.stiffness, duty.velocity_peak, frequency, bandwidth)
        pairs.append((error, own if own >= least_force(demand) else max(wanted)))
    return max(pairs, key=lambda pair: pair[0] / pair[1])


def stiffness_against(state: Account, index: int) -> float:
    """What wheel motion strains while the valve lags, N/m: the oil column, in series with the spring behind it."""
    oil, spring = state.facts[index].stiffness, state.tables.task.axles[index].spring
    return float(in_series(oil, spring)) if spring > 0.0 else oil


def acts_as(state: Account, index: int) -> tuple[str, str]:
    """What the corner is fit for, and why, in a sentence that says what would change it."""
    task, facts = state.tables.task, state.facts[index]
    axle = task.axles[index]
    valve = float(task.catalogue.valves.bandwidth[state.choice.corners[index].valve])
    error, wanted = fastest_disturbance(state, index)
    oil_ratio, valve_ratio = facts.frequency / axle.bandwidth, valve / axle.bandwidth
    if oil_ratio < 1.0 or valve_ratio < 1.0:
        slower = "oil column" if oil_ratio < valve_ratio else "valve"
        return (
            "slow_leveller",
            f"the {slower} is slower than the duty ({min(oil_ratio, valve_ratio):.2g} of its "
            f"{plain(axle.bandwidth)} Hz): it "
            "can level the body, not follow the wheel; a faster valve, shorter lines or less free air would "
            "change that",
        )
    if axle.arrangement != PARALLEL:
        between = "spring" if axle.arrangement == SERIES else "gas spring"
        strained = f"{plain(stiffness_against(state, index) * 1e-3)} N/mm of oil and {between}"
        if error > wanted:
            return (
                "position_actuator",
                f"wheel motion on {strained} may drive {plain(error)} N rms before the valve answers, against "
                f"{plain(wanted)} N rms wanted beyond the passive forces: it moves the {between}'s rest, and no more. "
                f"A valve of about {plain(valve * error / wanted)} Hz or a softer {between} would make it a force "
                "actuator",
            )
        return (
            "force_actuator",
            f"slow-active, up to {plain(axle.bandwidth)} Hz: the {between} takes the wheel's motion; on {strained} it "
            f"leaves at most {plain(error)} N rms of error, below the {plain(wanted)} N rms wanted",
        )
    if error > wanted:
        return (
            "position_actuator",
            f"wheel motion drives {plain(error)} N through the stiff oil column before the valve answers, "
            f"against {plain(wanted)} "
            f"N wanted: it follows position, not force. A valve of about {plain(valve * error / wanted)} Hz, or "
            "a column softened "
            "by a spring in series or a gas accumulator at the corner, would make it a force actuator",
        )
    return (
        "force_actuator",
        f"force errors from wheel motion ({plain(error)} N) stay below the force wanted ({plain(wanted)} N), and "
        "oil column and "
        "valve are faster than the duty",
    )


def describe_corner(state: Account, index: int) -> Corner:
    """One axle's corner."""
    tables, task = state.tables, state.tables.task
    catalogue, choice, facts = task.catalogue, state.choice.corners[index], state.facts[index]
    axle, demand = task.axles[index], task.demand.axles[index]
    high = float(task.settings.high[state.choice.setting])
    c, line, valve = choice.cylinder, choice.line, choice.valve
    at_peak = int(np.argmax(axle.speeds))
    error, wanted = fastest_disturbance(state, index)
    kind, because = acts_as(state, index)
    mean_abs = sum(d.share_of_time * d.velocity_mean_abs for d in demand.duties)
    through = bool(catalogue.cylinders.through[c])
    vented = facts.annulus == 0.0
    blocked = 0.0 if vented else high if through else float(intensified_pressure(high, 0.0, facts.cap, facts.annulus))
    holding = abs(demand.static_force) / facts.cap
    break_out = BREAK_OUT if task.spec.measured.cylinder is not None else float(catalogue.cylinders.break_out[c])
    mass = facts.cylinder_mass + facts.valve_mass + facts.line_mass + facts.sensor_mass + facts.check_mass
    mass += facts.store_mass + facts.orifice_mass
    # At null half the leakage crosses each pair of edges at half the supply; at key-off one edge drains the chamber.
    leak = 0.5 * facts.valve_leakage * float(np.sqrt(holding / (0.5 * high))) + facts.seal_leakage * holding / high
    return Corner(
        cylinder=catalogue.labels["cylinder"][c],
        bore=float(catalogue.cylinders.bore[c]),
        rod=float(catalogue.cylinders.rod[c]),
        through_rod=through,
        seal=seal_name(catalogue.cylinders, c),
        stroke=axle.stroke,
        cap_area=facts.cap,
        annulus_area=facts.annulus,
        wall=facts.wall,
        outer_diameter=facts.outer_diameter,
        retracted_length=facts.retracted_length,
        extended_length=facts.extended_length,
        buckling_factor=facts.buckling_load / (high * facts.cap),
        valve=catalogue.labels["valve"][valve],
        valve_rated_flow=float(catalogue.valves.rated_flow[valve]),
        valve_bandwidth=float(catalogue.valves.bandwidth[valve]),
        spool=("symmetric", "matched")[choice.spool],
        anti_cavitation_checks=choice.checks,
        valve_opening=min(facts.opening, 1e3),
        line=catalogue.labels["line"][line],
        line_bore=float(catalogue.lines.bore[line]),
        line_loss_cold=float(tables.drops[index][c, line, 0, 0, at_peak]),
        line_loss_hot=float(tables.drops[index][c, line, 0, 1, at_peak]),
        lowest_chamber_pressure=facts.lowest_chamber,
        highest_chamber_pressure=facts.highest_chamber,
        blocked_rod_side_pressure=blocked,
        seal_friction=facts.friction,
        break_out_friction=facts.friction * break_out,
        friction_over_force=facts.friction / axle.force_rms,
        oil_stiffness=facts.stiffness,
        natural_frequency=facts.frequency,
        stiffness_ratio=facts.frequency / axle.bandwidth,
        valve_bandwidth_ratio=float(catalogue.valves.bandwidth[valve]) / axle.bandwidth,
        line_oil_mass=facts.line_oil_mass,
        reduced_mass=axle.mass,
        velocity_disturbance_force=error,
        force_wanted=wanted,
        mean_flow=0.5 * (facts.cap + facts.annulus) * mean_abs,
        peak_flow=facts.cap * float(axle.speeds.max()),
        seal_leakage=facts.seal_leakage,
        valve_leakage=facts.valve_leakage,
        acts_as=kind,
        acts_as_because=because,
        corner_mass=mass,
        single_acting=vented,
        spring_between=axle.spring if axle.arrangement != PARALLEL else None,
        stiffness_against=stiffness_against(state, index),
        holding_pressure=holding,
        sink_rate=leak / facts.cap,
        gas=describe_gas(state, index),
    )


def describe_gas(state: Account, index: int) -> CornerGas | None:
    """One axle's gas spring; None in an arrangement without."""
    task, corner = state.tables.task, state.choice.corners[index]
    gas = corner_gas(state.tables, index, state.choice.setting, corner)
    if gas is None:
        return None
    wish, spring, area = task.axles[index].gas, gas.spring, state.facts[index].cap
    rms, peak = area * wish.wheel_rms, area * wish.wheel_peak
    bore, damping_cold, drop, drop_peak = None, 0.0, 0.0, 0.0
    if wish.damping > 0.0:
        (cold_density, density), (cold_viscosity, viscosity) = task.oils.density, task.oils.viscosity
        bore = float(orifice_bore(wish.damping / area**2, rms, density, viscosity))
        damping_cold = float(orifice_resistance(bore, rms, cold_density, cold_viscosity)) * area**2
        drop, drop_peak = (float(damping_orifice_drop(bore, flow, density, viscosity)) for flow in (rms, peak))
    held = np.isfinite(spring.bump_pressure)
    squeezed = spring.cold_volume - area * wish.bump
    return CornerGas(
        accumulator=task.catalogue.labels["corner accumulator"][corner.store],
        accumulator_volume=float(task.catalogue.corner_accumulators.volume[corner.store]),
        static_pressure=spring.static_pressure,
        gas_volume=spring.volume,
        precharge=gas.precharge,
        bump_pressure=spring.bump_pressure if held else None,
        droop_pressure=spring.droop_pressure if np.isfinite(spring.droop_pressure) else None,
        rate=spring.rate,
        cold_rate=spring.cold_rate,
        hot_rate=spring.hot_rate,
        orifice_bore=bore,
        orifice_damping=wish.damping,
        orifice_linearised_at=wish.wheel_rms,
        orifice_damping_cold=damping_cold,
        orifice_drop=drop,
        orifice_drop_peak=drop_peak,
        oil_held=gas.store_oil,
        stored_energy=float(stored_energy(spring.bump_pressure, task.spec.oil_hot, squeezed)) if held else 0.0,
        mass=gas.store_mass + gas.orifice_mass,
    )


def describe_centre(state: Account) -> Centre:
    """The central unit."""
    tables, task, choice = state.tables, state.tables.task, state.choice
    catalogue, s, plant = task.catalogue, state.choice.setting, state.plant
    high = float(task.settings.high[s])
    supply, suction, back = line_tubes(state)
    tube_area = 0.25 * np.pi * catalogue.tubes.bore**2
    flow = float(state.unit[U_QMAX])
    hot, cold = torques(state)
    volume = float(catalogue.accumulators.volume[choice.accumulator])
    has_store = volume > 0.0 and float(tables.delivered[s]) > 0.0
    size = float(RESERVOIR_VOLUMES[plant.reservoir])
    balance = reservoir_balance(state)
    inlet_loss = line_pressure_drop(
        flow,
        catalogue.tubes.bore[suction],
        task.spec.layout.suction_line or 0.0,
        0.0,
        0.5 * MAIN_JOINTS,
        task.oils.density[0],
        task.oils.viscosity[0],
        catalogue.tubes.roughness[suction],
    )
    mean = sum(d * (f + leakage(state)) for d, f in zip(task.duties.share, state.flows[:, 2], strict=True))
    mean += task.demand.standby_share * leakage(state)
    gives = float(tables.delivered[s]) * volume
    return Centre(
        pump=catalogue.labels["pump"][choice.pump],
        displacement=float(catalogue.pumps.displacement[choice.pump]),
        motor=catalogue.labels["motor"][choice.motor],
        control=CONTROL_NAMES[CONTROLS[choice.control]],
        speed=float(state.unit[U_SPEED]),
        pump_flow=flow,
        peak_flow=plant.peak_flow,
        mean_flow=float(mean),
        pump_efficiency=overall_efficiency(high, flow, hot, float(state.unit[U_SPEED])),
        torque_hot=hot,
        torque_cold=cold,
        inlet_pressure_cold=-inlet_loss,
        suction_line=catalogue.labels["tube"][suction],
        supply_line=catalogue.labels["tube"][supply],
        return_line=catalogue.labels["tube"][back],
        supply_velocity=flow / tube_area[supply],
        return_velocity=max(plant.peak_flow, plant.pump_mean) / tube_area[back],
        suction_velocity=flow / tube_area[suction],
        relief_setting=high if choice.control == RELIEF else relief_factor() * high,
        accumulator=catalogue.labels["accumulator"][choice.accumulator],
        accumulator_volume=volume,
        precharge=float(tables.precharge[s]) if has_store else 0.0,
        store_needed=plant.store_needed,
        store_delivers=gives * (tables.plant.unloading_reserve if choice.control == UNLOADING else 1.0),
        stored_energy=_stored_energy(high, float(tables.precharge[s]), volume, task.spec.oil_hot) if has_store else 0.0,
        reservoir_volume=size,
        reservoir_oil=reservoir_oil(state),
        heat_to_oil=plant.heat,
        reservoir_heat=balance[0],
        cooler_heat=plant.cooler_heat,
        oil_temperature=balance[1],
        filter_rated_flow=plant.filter_flow,
    )


def _stored_energy(high: float, precharge: float, volume: float, hot: float) -> float:
    """Work of the gas expanding from the highest rail pressure to the air, J; hot, when it fills most of the shell."""
    gas = nitrogen()
    mass = gas_mass(gas, precharge, CHARGE_TEMPERATURE, volume)
    return stored_energy(high, hot, mass / nitrogen_density(gas, high + ATMOSPHERE, hot))


def reservoir_balance(state: Account) -> tuple[float, float]:
    """(heat the reservoir gives off at the oil limit, W; steady oil temperature with the cooler, K)."""
    tables, spec, plant = state.tables, state.tables.task.spec, state.plant
    limit = spec.ambient + tables.plant.temperature_rise
    box = tank_box(float(RESERVOIR_VOLUMES[plant.reservoir]))
    balance = heat_balance(plant.heat, box, limit, spec.ambient, spec.air_speed, rule("reservoir_emissivity"))
    if plant.cooler_heat > 0.0 or balance.steady_temperature is None:
        return balance.heat_lost_at_limit, limit
    return balance.heat_lost_at_limit, balance.steady_temperature


def totals(state: Account) -> Totals:
    """The plant in a line."""
    task, plant = state.tables.task, state.plant
    bus = task.spec.bus
    standby = unit_power(state.unit, U_BUS0, min(leakage(state), float(state.unit[U_QMAX]))) + float(
        state.keys[0][5] + state.keys[1][5]
    )
    peak = plant.current * bus.voltage
    return Totals(
        mass=plant.mass,
        mean_power=plant.power,
        peak_power=peak,
        peak_current=bus_current(peak, bus.voltage),
        standby_power=standby,
        run_time=run_time(bus.energy, plant.power) if bus.energy is not None else None,
        standby_time=run_time(bus.energy, standby) if bus.energy is not None else None,
    )


def describe(state: Account) -> Design:
    """The whole design."""
    task, s = state.tables.task, state.choice.setting
    corners = {task.demand.axles[i].position: describe_corner(state, i) for i in range(len(state.choice.corners))}
    return Design(
        medium=task.medium.id,
        medium_label=task.medium.label,
        supply_pressure=float(task.settings.high[s]),
        lowest_rail_pressure=float(task.settings.low[s]),
        return_bias=float(task.settings.bias[s]),
        front=corners.get("front"),
        rear=corners.get("rear"),
        centre=describe_centre(state),
        totals=totals(state),
        parts=parts_list(state),
        constraints=state.constraints,
    )
