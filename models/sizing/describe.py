"""From an account to the design's records: corners, centre, totals and parts list.

Derives what a reader wants from what the search computed (velocities, margins, temperatures) and names each part's
origin. Decides nothing.
"""

from __future__ import annotations

import numpy as np

from models.drive.battery import bus_current, run_time
from models.hydraulics.accumulator import stored_energy
from models.hydraulics.cylinder import intensified_pressure
from models.hydraulics.lines import line_pressure_drop
from models.hydraulics.pump import overall_efficiency
from models.hydraulics.reservoir import heat_balance, tank_box
from models.hydraulics.stiffness import velocity_disturbance
from models.sizing.account import BAR, L_MIN, Account, corner_constraints, governing_duty, leakage, torques
from models.sizing.catalogue import Origin, rule, seal_name
from models.sizing.central import (
    MAIN_JOINTS,
    RELIEF,
    U_BUS0,
    U_QMAX,
    U_SPEED,
    U_TUBES,
    UNLOADING,
    line_mass,
    unit_power,
)
from models.sizing.design import Centre, Corner, Design, Part, Totals
from models.sizing.search import RESERVOIR_VOLUMES, unit_laws
from models.sizing.task import CONTROLS, relief_factor

CONTROL_NAMES = {
    "relief": "relief-held constant pressure",
    "unloading": "unloading between cut-out and cut-in, with accumulator",
    "speed": "speed-controlled motor",
}


def fastest_disturbance(state: Account, index: int) -> tuple[float, float]:
    """(velocity-disturbance force, force wanted) of the duty where their ratio is greatest, N."""
    task, facts = state.tables.task, state.facts[index]
    bandwidth = float(task.catalogue.valves.bandwidth[state.choice.corners[index].valve])
    static = task.demand.axles[index].static_force
    pairs = []
    for duty in task.demand.axles[index].duties:
        frequency = duty.ripple_frequency if duty.ripple_frequency > 0.0 else duty.frequency
        error = velocity_disturbance(facts.stiffness, duty.velocity_peak, frequency, bandwidth)
        pairs.append((error, max(duty.force_peak - abs(static), duty.force_rms)))
    return max(pairs, key=lambda pair: pair[0] / pair[1])


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
            f"the {slower} is slower than the duty ({min(oil_ratio, valve_ratio):.2g} of its {axle.bandwidth:.3g} Hz): it "
            "can level the body, not follow the wheel; a faster valve, shorter lines or less free air would change that",
        )
    if error > wanted:
        return (
            "position_actuator",
            f"wheel motion drives {error:.3g} N through the stiff oil column before the valve answers, against {wanted:.3g} "
            f"N wanted: it follows position, not force. A valve of about {valve * error / wanted:.3g} Hz, or a column softened "
            "by a spring in series or a gas accumulator at the corner, would make it a force actuator",
        )
    return (
        "force_actuator",
        f"force errors from wheel motion ({error:.3g} N) stay below the force wanted ({wanted:.3g} N), and oil column and "
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
    blocked = high if through else float(intensified_pressure(high, 0.0, facts.cap, facts.annulus))
    mass = facts.cylinder_mass + facts.valve_mass + facts.line_mass + facts.sensor_mass + facts.check_mass
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
        break_out_friction=facts.friction * float(catalogue.cylinders.break_out[c]),
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
    )


def line_tubes(state: Account) -> tuple[int, int, int]:
    """Rows of the supply, suction and return tubes."""
    packed = round(float(state.unit[U_TUBES]))
    return packed // 1000, packed % 1000, int(state.plant.return_tube)


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
        flow, catalogue.tubes.bore[suction], task.spec.layout.suction_line or 0.0, 0.0, 0.5 * MAIN_JOINTS,
        task.oils.density[0], task.oils.viscosity[0], catalogue.tubes.roughness[suction],
    )  # fmt: skip
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
        stored_energy=stored_energy(high, task.spec.oil_hot, volume * (1.0 - float(tables.held[s])))
        if has_store
        else 0.0,
        reservoir_volume=size,
        reservoir_oil=reservoir_oil(state),
        heat_to_oil=plant.heat,
        reservoir_heat=balance[0],
        cooler_heat=plant.cooler_heat,
        oil_temperature=balance[1],
        filter_rated_flow=plant.filter_flow,
    )


def reservoir_balance(state: Account) -> tuple[float, float]:
    """(heat the reservoir gives off at the oil limit, W; steady oil temperature with the cooler, K)."""
    tables, spec, plant = state.tables, state.tables.task.spec, state.plant
    limit = spec.ambient + tables.plant.temperature_rise
    box = tank_box(float(RESERVOIR_VOLUMES[plant.reservoir]))
    balance = heat_balance(plant.heat, box, limit, spec.ambient, spec.air_speed, rule("reservoir_emissivity"))
    if plant.cooler_heat > 0.0 or balance.steady_temperature is None:
        return balance.heat_lost_at_limit, limit
    return balance.heat_lost_at_limit, balance.steady_temperature


def reservoir_oil(state: Account) -> float:
    """Oil in the reservoir at its highest level, m³."""
    tables, keys, s = state.tables, state.keys, state.choice.setting
    store = float(tables.held[s]) * float(tables.task.catalogue.accumulators.volume[state.choice.accumulator])
    lowest = state.plant.pump_mean * tables.plant.dwell
    difference = float(keys[0][3] + keys[1][3]) + store
    return lowest + difference + tables.plant.swelling * (lowest + difference + float(keys[0][7] + keys[1][7]))


def totals(state: Account) -> Totals:
    """The plant in a line."""
    task, plant = state.tables.task, state.plant
    bus = task.spec.bus
    standby = unit_power(state.unit, U_BUS0, leakage(state)) + float(state.keys[0][5] + state.keys[1][5])
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


_ESTIMATE = Origin("estimate", "estimated")
_FORMULA = Origin("common_practice", "common_practice")


def parts_list(state: Account) -> tuple[Part, ...]:
    """Every part with what was required, what was chosen, and its wet mass; the masses sum to the plant's."""
    rows: list[Part] = []
    for index in range(len(state.choice.corners)):
        rows += _corner_parts(state, index)
    return (*rows, *_central_parts(state))


def _row(
    part: str, choice: str, count: int, measure: str, unit: str, required: float, chosen: float, duty: str,
    origin: Origin, mass: float,
) -> Part:  # fmt: skip
    margin = chosen / required - 1.0 if required > 0.0 else None
    return Part(
        part,
        choice,
        count,
        measure,
        unit,
        float(required),
        float(chosen),
        margin,
        duty,
        origin.source,
        origin.kind,
        float(mass),
    )


def _corner_parts(state: Account, index: int) -> list[Part]:
    task = state.tables.task
    catalogue, choice, facts, axle = task.catalogue, state.choice.corners[index], state.facts[index], task.axles[index]
    where, n = task.demand.axles[index].position, axle.corners
    constraint = {c.name: c for c in corner_constraints(state, index)}
    area = min(facts.cap, facts.annulus) * 1e6
    force = constraint["force"]
    opening = constraint.get("valve_opening", force)
    flow = float(catalogue.valves.rated_flow[choice.valve]) / L_MIN
    origins = catalogue.origins
    measured = task.spec.measured
    cylinder_origin = origins["cylinder"][choice.cylinder]
    valve_origin = Origin("user", "user") if measured.valve is not None else origins["valve"][choice.valve]
    bore = float(catalogue.cylinders.bore[choice.cylinder]) * 1e3
    line_loss = float(catalogue.lines.rating[choice.line]) / BAR
    limit = relief_factor() * float(task.settings.high[state.choice.setting]) / BAR
    rows = [
        _row(
            f"{where} cylinder", catalogue.labels["cylinder"][choice.cylinder], n, "smaller piston area", "mm²",
            area * min(force.use, 1e3), area, force.governed_by, cylinder_origin, n * facts.cylinder_mass,
        ),
        _row(
            f"{where} valve", catalogue.labels["valve"][choice.valve], n, "rated flow at 35 bar a land", "L/min",
            flow * min(opening.use, 1e3), flow, opening.governed_by, valve_origin, n * facts.valve_mass,
        ),
        _row(
            f"{where} lines", catalogue.labels["line"][choice.line], 2 * n, "working pressure", "bar", limit, line_loss,
            force.governed_by, origins["line"][choice.line], n * facts.line_mass,
        ),
        _row(
            f"{where} sensors", "position and two pressures", n, "for a cylinder bore of", "mm", bore, bore, "", _ESTIMATE,
            n * facts.sensor_mass,
        ),
    ]  # fmt: skip
    if choice.checks:
        peak = facts.cap * float(axle.speeds.max()) / L_MIN
        rows.append(
            _row(
                f"{where} anti-cavitation checks", "check valve to return", 2 * n, "flow", "L/min", peak, peak,
                opening.governed_by, _ESTIMATE, n * facts.check_mass,
            )
        )  # fmt: skip
    return rows


def _central_parts(state: Account) -> list[Part]:
    tables, task, choice, plant = state.tables, state.tables.task, state.choice, state.plant
    catalogue, laws, unit = task.catalogue, unit_laws(), state.unit
    flow = float(unit[U_QMAX]) / L_MIN
    supply, suction, back = line_tubes(state)
    density = tables.plant.oil_density
    hot, _ = torques(state)
    has_store = float(catalogue.accumulators.volume[choice.accumulator]) > 0.0
    demand = float(state.flows[:, 2].max()) if has_store else plant.peak_flow
    need = (demand + leakage(state)) * tables.plant.flow_margin / L_MIN
    peak, mean = governing_duty(state, 0), governing_duty(state, 2)
    rated = float(catalogue.motors.rated_torque[choice.motor])
    power = rated * float(catalogue.motors.rated_speed[choice.motor])
    tubes, layout = catalogue.tubes, task.spec.layout

    def tube_mass(i: int, length: float) -> float:
        return float(line_mass(tubes, i, length, density, laws.joint, laws.joint_power))

    return_need = max(plant.peak_flow, plant.pump_mean) / L_MIN
    capacity = float(tables.return_capacity[choice.setting][back]) / L_MIN
    high = float(task.settings.high[choice.setting])
    line_length, suction_length = layout.supply_line or 0.0, layout.suction_line or 0.0
    rating = float(tubes.rating[supply]) / BAR
    inlet = float(0.25 * np.pi * tubes.bore[suction] ** 2 * rule("suction_velocity_high")) / L_MIN
    oil = reservoir_oil(state)
    total = float(RESERVOIR_VOLUMES[plant.reservoir])
    needed_total = oil * (1.0 + tables.plant.air_share)
    pump_origin = catalogue.origins["pump"][choice.pump]
    motor_origin = catalogue.origins["motor"][choice.motor]
    if task.spec.measured.pump is not None:
        pump_origin = motor_origin = Origin("user", "user")
    tube_origin = catalogue.origins["tube"]
    rows = [
        _row("pump", catalogue.labels["pump"][choice.pump], 1, "delivered flow, hot", "L/min", need, flow,
             mean if has_store else peak, pump_origin, float(catalogue.pumps.mass[choice.pump])),
        _row("motor with electronics", catalogue.labels["motor"][choice.motor], 1, "rated torque", "N·m",
             hot * task.spec.safety.torque_margin * task.margins.power, rated, mean, motor_origin,
             float(catalogue.motors.mass[choice.motor])),
        _row("coupling", "bell housing and coupling", 1, "motor power", "W", power, power, "", _ESTIMATE,
             laws.coupling * power**laws.coupling_power),
        _row("relief valve", f"set at {(high if choice.control == RELIEF else relief_factor() * high) / BAR:.4g} bar", 1,
             "full pump flow", "L/min", flow, flow, "", _ESTIMATE, laws.relief * flow**laws.relief_power),
        _row("supply line", catalogue.labels["tube"][supply], 1, "working pressure", "bar", relief_factor() * high / BAR,
             rating, mean, tube_origin[supply], tube_mass(supply, line_length)),
        _row("suction line", catalogue.labels["tube"][suction], 1, "flow at velocity guide", "L/min", flow, inlet, "",
             tube_origin[suction], tube_mass(suction, suction_length)),
        _row("return line", catalogue.labels["tube"][back], 1, "flow at the loss allowed", "L/min", return_need, capacity,
             peak, tube_origin[back], float(tables.return_mass[back])),
        _row("filter", "return filter with bypass", 1, "rated flow at 30 mm²/s", "L/min", plant.filter_flow / L_MIN,
             plant.filter_flow / L_MIN, "cold start", _ESTIMATE,
             tables.plant.filter_mass * (plant.filter_flow / L_MIN) ** tables.plant.filter_power),
        _row("reservoir", f"{total * 1e3:.4g} L", 1, "total volume", "L", needed_total * 1e3, total * 1e3, mean, _ESTIMATE,
             tables.plant.reservoir_mass * (total * 1e3) ** tables.plant.reservoir_power),
        _row("oil in the reservoir", task.medium.label, 1, "volume", "L", oil * 1e3, oil * 1e3, mean, _FORMULA, oil * density),
    ]  # fmt: skip
    if choice.control == UNLOADING:
        rows.append(
            _row("unloading valve", "pilot-operated, with check", 1, "full pump flow", "L/min", flow, flow, "", _ESTIMATE,
                 laws.unloading * flow**laws.unloading_power)
        )  # fmt: skip
    if has_store:
        volume = float(catalogue.accumulators.volume[choice.accumulator])
        held = float(tables.held[choice.setting]) * volume
        share = tables.plant.unloading_reserve if choice.control == UNLOADING else 1.0
        gives = float(tables.delivered[choice.setting]) * volume * share * 1e3
        rows.append(
            _row("accumulator", catalogue.labels["accumulator"][choice.accumulator], 1, "fast delivery", "L",
                 plant.store_needed * 1e3, gives, peak, catalogue.origins["accumulator"][choice.accumulator],
                 float(catalogue.accumulators.mass[choice.accumulator]) + held * density)
        )  # fmt: skip
    if plant.cooler_heat > 0.0:
        rows.append(
            _row("cooler", "air-blast with fan", 1, "heat at the oil limit", "W", plant.cooler_heat, plant.cooler_heat, mean,
                 _ESTIMATE, tables.plant.cooler_mass * (plant.cooler_heat * 1e-3) ** tables.plant.cooler_power)
        )  # fmt: skip
    return rows


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
