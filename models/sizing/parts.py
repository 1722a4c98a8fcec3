"""The parts list of a plant: what each part had to be, what was chosen, where its size comes from, what it weighs.

The wet masses sum to the plant's own mass, which the search computed by itself.
"""

from __future__ import annotations

import numpy as np

from models.hydraulics.gas_spring import orifice_bore
from models.sizing.account import (
    BAR,
    FULL_TRAVEL,
    L_MIN,
    Account,
    corner_constraints,
    corner_gas,
    governing_duty,
    leakage,
    line_tubes,
    reservoir_oil,
    torques,
)
from models.sizing.catalogue import rule
from models.sizing.central import RELIEF, U_QMAX, UNLOADING, line_mass
from models.sizing.design import Part
from models.sizing.search import RESERVOIR_VOLUMES, unit_laws
from models.sizing.sizes import USER, Origin
from models.sizing.task import relief_factor

_ESTIMATE = Origin("estimate", "estimated")
_FORMULA = Origin("common_practice", "common_practice")


def parts_list(state: Account) -> tuple[Part, ...]:
    """Every part with what was required, what was chosen, and its wet mass; the masses sum to the plant's."""
    rows: list[Part] = []
    for index in range(len(state.choice.corners)):
        rows += _corner_parts(state, index)
    return (*rows, *_central_parts(state))


def _row(
    part: str,
    choice: str,
    count: int,
    measure: str,
    unit: str,
    required: float,
    chosen: float,
    duty: str,
    origin: Origin,
    mass: float,
) -> Part:
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
    single_acting = facts.annulus == 0.0
    area = (facts.cap if single_acting else min(facts.cap, facts.annulus)) * 1e6
    force = constraint["force"]
    opening = constraint.get("valve_opening", force)
    flow = float(catalogue.valves.rated_flow[choice.valve]) / L_MIN
    origins = catalogue.origins
    measured = task.spec.measured
    cylinder_origin = USER if measured.cylinder is not None else origins["cylinder"][choice.cylinder]
    valve_origin = USER if measured.valve is not None else origins["valve"][choice.valve]
    bore = float(catalogue.cylinders.bore[choice.cylinder]) * 1e3
    line_loss = float(catalogue.lines.rating[choice.line]) / BAR
    limit = relief_factor() * float(task.settings.high[state.choice.setting]) / BAR
    rows = [
        _row(
            f"{where} cylinder",
            catalogue.labels["cylinder"][choice.cylinder],
            n,
            "piston area" if single_acting else "smaller piston area",
            "mm²",
            area * min(force.use, 1e3),
            area,
            force.governed_by,
            cylinder_origin,
            n * facts.cylinder_mass,
        ),
        _row(
            f"{where} valve",
            catalogue.labels["valve"][choice.valve],
            n,
            "rated flow at 35 bar a land",
            "L/min",
            flow * min(opening.use, 1e3),
            flow,
            opening.governed_by,
            valve_origin,
            n * facts.valve_mass,
        ),
        _row(
            f"{where} lines",
            catalogue.labels["line"][choice.line],
            int(axle.lines) * n,
            "working pressure",
            "bar",
            limit,
            line_loss,
            force.governed_by,
            origins["line"][choice.line],
            n * facts.line_mass,
        ),
        _row(
            f"{where} sensors",
            "position and pressure" if single_acting else "position and two pressures",
            n,
            "for a cylinder bore of",
            "mm",
            bore,
            bore,
            "",
            _ESTIMATE,
            n * facts.sensor_mass,
        ),
    ]
    if choice.checks:
        peak = facts.cap * float(axle.speeds.max()) / L_MIN
        rows.append(
            _row(
                f"{where} anti-cavitation checks",
                "check valve to return",
                2 * n,
                "flow",
                "L/min",
                peak,
                peak,
                opening.governed_by,
                _ESTIMATE,
                n * facts.check_mass,
            )
        )
    return rows + _gas_parts(state, index)


def _gas_parts(state: Account, index: int) -> list[Part]:
    task, corner = state.tables.task, state.choice.corners[index]
    gas = corner_gas(state.tables, index, state.choice.setting, corner)
    if gas is None:
        return []
    where, n, facts = task.demand.axles[index].position, task.axles[index].corners, state.facts[index]
    rows = [
        _row(
            f"{where} corner accumulator",
            task.catalogue.labels["corner accumulator"][corner.store],
            n,
            "gas at full droop, hot",
            "L",
            float(min(gas.need[0], 1e6)) * 1e3,
            float(gas.allowance[0]) * 1e3,
            FULL_TRAVEL,
            task.catalogue.origins["corner accumulator"][corner.store],
            n * facts.store_mass,
        )
    ]
    wish = task.axles[index].gas
    if wish.damping > 0.0:
        flow = facts.cap * wish.wheel_rms
        bore = float(orifice_bore(wish.damping / facts.cap**2, flow, task.oils.density[1], task.oils.viscosity[1]))
        rows.append(
            _row(
                f"{where} damping orifice",
                f"round, sharp-edged, {bore * 1e3:.3g} mm",
                n,
                "bore",
                "mm",
                bore * 1e3,
                bore * 1e3,
                "wheel motion",
                _ESTIMATE,
                n * facts.orifice_mass,
            )
        )
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
        pump_origin = motor_origin = USER
    tube_origin = catalogue.origins["tube"]
    rows = [
        _row(
            "pump",
            catalogue.labels["pump"][choice.pump],
            1,
            "delivered flow, hot",
            "L/min",
            need,
            flow,
            mean if has_store else peak,
            pump_origin,
            float(catalogue.pumps.mass[choice.pump]),
        ),
        _row(
            "motor with electronics",
            catalogue.labels["motor"][choice.motor],
            1,
            "rated torque",
            "N·m",
            hot * task.spec.safety.torque_margin * task.margins.power,
            rated,
            mean,
            motor_origin,
            float(catalogue.motors.mass[choice.motor]),
        ),
        _row(
            "coupling",
            "bell housing and coupling",
            1,
            "motor power",
            "W",
            power,
            power,
            "",
            _ESTIMATE,
            laws.coupling * power**laws.coupling_power,
        ),
        _row(
            "relief valve",
            f"set at {(high if choice.control == RELIEF else relief_factor() * high) / BAR:.4g} bar",
            1,
            "full pump flow",
            "L/min",
            flow,
            flow,
            "",
            _ESTIMATE,
            laws.relief * flow**laws.relief_power,
        ),
        _row(
            "supply line",
            catalogue.labels["tube"][supply],
            1,
            "working pressure",
            "bar",
            relief_factor() * high / BAR,
            rating,
            mean,
            tube_origin[supply],
            tube_mass(supply, line_length),
        ),
        _row(
            "suction line",
            catalogue.labels["tube"][suction],
            1,
            "flow at velocity guide",
            "L/min",
            flow,
            inlet,
            "",
            tube_origin[suction],
            tube_mass(suction, suction_length),
        ),
        _row(
            "return line",
            catalogue.labels["tube"][back],
            1,
            "flow at the loss allowed",
            "L/min",
            return_need,
            capacity,
            peak,
            tube_origin[back],
            float(tables.return_mass[back]),
        ),
        _row(
            "filter",
            "return filter with bypass",
            1,
            "rated flow at 30 mm²/s",
            "L/min",
            plant.filter_flow / L_MIN,
            plant.filter_flow / L_MIN,
            "cold start",
            _ESTIMATE,
            tables.plant.filter_mass * (plant.filter_flow / L_MIN) ** tables.plant.filter_power,
        ),
        _row(
            "reservoir",
            f"{total * 1e3:.4g} L",
            1,
            "total volume",
            "L",
            needed_total * 1e3,
            total * 1e3,
            mean,
            _ESTIMATE,
            tables.plant.reservoir_mass * (total * 1e3) ** tables.plant.reservoir_power,
        ),
        _row(
            "oil in the reservoir",
            task.medium.label,
            1,
            "volume",
            "L",
            oil * 1e3,
            oil * 1e3,
            mean,
            _FORMULA,
            oil * density,
        ),
    ]
    if choice.control == UNLOADING:
        rows.append(
            _row(
                "unloading valve",
                "pilot-operated, with check",
                1,
                "full pump flow",
                "L/min",
                flow,
                flow,
                "",
                _ESTIMATE,
                laws.unloading * flow**laws.unloading_power,
            )
        )
    else:
        rows.append(
            _row(
                "pump check valve",
                "opens from pump to rail",
                1,
                "full pump flow",
                "L/min",
                flow,
                flow,
                "",
                _ESTIMATE,
                laws.check * flow**laws.check_power,
            )
        )
    if has_store:
        volume = float(catalogue.accumulators.volume[choice.accumulator])
        held = float(tables.held[choice.setting]) * volume
        share = tables.plant.unloading_reserve if choice.control == UNLOADING else 1.0
        gives = float(tables.delivered[choice.setting]) * volume * share * 1e3
        rows.append(
            _row(
                "accumulator",
                catalogue.labels["accumulator"][choice.accumulator],
                1,
                "fast delivery",
                "L",
                plant.store_needed * 1e3,
                gives,
                peak,
                catalogue.origins["accumulator"][choice.accumulator],
                float(catalogue.accumulators.mass[choice.accumulator]) + held * density,
            )
        )
    if plant.cooler_heat > 0.0:
        rows.append(
            _row(
                "cooler",
                "air-blast with fan",
                1,
                "heat at the oil limit",
                "W",
                plant.cooler_heat,
                plant.cooler_heat,
                mean,
                _ESTIMATE,
                tables.plant.cooler_mass * (plant.cooler_heat * 1e-3) ** tables.plant.cooler_power,
            )
        )
    return rows
