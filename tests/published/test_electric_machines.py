"""Electric machines at work: heat, power, shear and gearing against a second route or the check file.

Values named "check file" stand in the project's check values, section on coils and electric machines.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from models.demand import Demand
from models.electric import candidate, operation
from models.electric.candidate import MACHINE
from models.electric.catalogue import as_record, constants, coolings, insulation_classes, wires
from models.electric.cautions import electric_cautions
from models.electric.choose import _loads, _supply, size_electric
from models.electric.families import FAMILIES
from models.electric.rotary import BELT, build_rotaries, motors, transmission_parts, usable_transmissions
from models.electric.sizing_records import Choices, ElectricDesign, Surroundings
from models.quantity import ZERO_CELSIUS
from models.ride.build import build_demand
from models.spec import Spec, complete
from tests.kernels import from_python

fit, mean_losses, settle = map(from_python, (candidate.fit, operation.mean_losses, operation.settle))
operate, burst_temperature = from_python(operation.operate), from_python(operation.burst_temperature)
case_conductance = from_python(operation.case_conductance)


def demand_of(document: dict[str, Any]) -> tuple[Demand, Surroundings]:
    spec = complete(Spec.model_validate(document))[0]
    return build_demand(spec), Surroundings(spec.bus.voltage, spec.ambient, spec.bus.peak_current, spec.bus.energy)


def bench_rig(force: float, speed: float, hertz: float, volts: float) -> tuple[Demand, Surroundings]:
    corner = {
        "sprung_mass_kg": 0.3,
        "unsprung_mass_kg": 0.06,
        "wheel_rate_n_mm": 0.12,
        "tyre_rate_n_mm": 1.5,
        "bump_travel_mm": 10.0,
        "droop_travel_mm": 10.0,
    }
    motion = {"wheel_velocity_m_s": speed, "wheel_force_n": force, "frequency_hz": hertz}
    duty = [{"kind": "suspension_velocity", "front": motion}]
    return demand_of({"corners_fitted": "one", "front": corner, "duty": duty, "bus": {"voltage_v": volts}})


def parts(wanted: Choices, demand: Demand, around: Surroundings) -> tuple[np.void, np.void]:
    supply = _supply(around, wanted)
    return supply, _loads(demand, around, wanted, supply)[0][0]


# --- one machine by hand --------------------------------------------------------------------------------------------


def test_a_tubular_machine_on_a_sinusoid_by_hand() -> None:
    """Forces, heat and bus power of one candidate in plain Python: four quadrants, no phase stated, so that force and
    velocity are a quarter period apart and the mean mechanical power is nothing."""
    demand, around = bench_rig(3.0, 0.15, 3.0, 12.0)
    wanted = Choices(spring_shares=(1.0,))
    supply, load = parts(wanted, demand, around)
    row = FAMILIES["tubular"].row(40_000, 0.02, 0.0)[0]
    cooling = as_record(coolings()["still_air"])
    found = fit(row, load, supply, wires().diameters, math.inf)
    copper, case_heat, force = mean_losses(row, load, supply, found.fill)
    friction = float(row["friction"])
    rms = math.hypot(3.0 / math.sqrt(2.0), friction)
    assert force == pytest.approx(rms, rel=1e-9)
    constant = float(row["motor_constant"]) * math.sqrt(found.fill)
    assert copper == pytest.approx(rms**2 / constant**2, rel=1e-9)
    mean_speed, rms_speed = 2.0 / math.pi * 0.15, 0.15 / math.sqrt(2.0)
    iron = float(row["iron_linear"]) * mean_speed + float(row["iron_square"]) * rms_speed**2
    assert case_heat == pytest.approx(iron + friction * mean_speed, rel=1e-9)

    # temperatures by nested root finding on the two heat balances
    link, coupling, slope = (float(row[n]) for n in ("link", "magnet_coupling", "magnet_slope"))

    def loss_at(winding: float, case: float) -> float:
        magnet = case + coupling * (winding - case)
        return copper * (1.0 + 0.00393 * (winding - 293.15)) / (1.0 + slope * (magnet - 293.15)) ** 2

    def winding_over(case: float) -> float:
        return float(brentq(lambda w: link * (w - case) - loss_at(w, case), case, case + 200.0, xtol=1e-9))

    def surplus(case: float) -> float:
        leaves = case_conductance(row, cooling, case, supply) * (case - around.ambient)
        return loss_at(winding_over(case), case) + case_heat - leaves

    case = float(brentq(surplus, around.ambient + 1e-6, around.ambient + 100.0, xtol=1e-9))
    heated = settle(row, cooling, supply, copper, case_heat, math.inf)
    assert heated.case == pytest.approx(case, abs=0.02)
    assert heated.winding == pytest.approx(winding_over(case), abs=0.05)

    work = operate(row, load, cooling, supply, found, copper, case_heat, heated)
    swing = (3.0 / math.sqrt(2.0)) * rms_speed / math.pi  # mean of the positive half of F·v, a quarter period apart
    assert work.delivered == pytest.approx(swing, rel=1e-9)
    assert work.absorbed == pytest.approx(swing, rel=1e-9)
    hot = loss_at(heated.winding, heated.case)
    fixed = constants()
    rated = max(found.peak_power / fixed["electronics_peak_ratio"], hot + case_heat, 1.0)
    fraction = fixed["electronics_loss"] * rated ** fixed["electronics_loss_exponent"]
    idle = fixed["electronics_standby"] * rated ** fixed["electronics_standby_exponent"]
    running = hot + case_heat
    driving, driven = swing + 0.5 * running, swing - 0.5 * running
    back = min(max(driven, 0.0) * (1.0 - fraction), fixed["regeneration"] * swing)
    bus = (driving + max(-driven, 0.0)) * (1.0 + fraction) + idle - back
    assert work.bus == pytest.approx(bus, rel=1e-4)


def test_burst_by_an_independent_integration() -> None:
    """Winding over a case that keeps the burst's heat: SciPy-free Euler in small steps against the closed form."""
    demand, around = bench_rig(3.0, 0.15, 3.0, 12.0)
    wanted = Choices(spring_shares=(1.0,))
    supply, load = parts(wanted, demand, around)
    load["burst_time"][0], load["burst_force"][0] = 6.0, 5.0
    row = FAMILIES["tubular"].row(40_000, 0.02, 0.0)[0]
    cooling = as_record(coolings()["still_air"])
    found = fit(row, load, supply, wires().diameters, math.inf)
    copper, case_heat, _ = mean_losses(row, load, supply, found.fill)
    heated = settle(row, cooling, supply, copper, case_heat, math.inf)
    burst = burst_temperature(row, load, supply, found.fill, heated)
    constant = float(row["motor_constant"] * row["end_share"]) ** 2 * found.fill
    constant *= (1.0 + float(row["magnet_slope"]) * (heated.magnet - 293.15)) ** 2
    loss = (5.0 + float(row["friction"])) ** 2 / constant
    winding, step = heated.winding, 1e-4
    for _ in range(60_000):
        rate = loss * (1.0 + 0.00393 * (winding - 293.15)) - float(row["link"]) * (winding - heated.case)
        winding += step * rate / (float(row["winding_capacity"]) * found.fill)
    assert winding <= burst + 0.05
    assert burst - winding < 0.5 * (burst - heated.winding)


# --- ranges of the trade --------------------------------------------------------------------------------------------


def shear(design: ElectricDesign) -> float:
    """Continuous force over the area of the gap that faces magnets, N/cm², of a tubular machine as described."""
    machine = design.machines[0]
    words = machine.described.split()
    diameter = 1e-3 * float(words[words.index("mm,") - 1])
    poles = float(words[words.index("poles") - 1])
    pitch = float(words[words.index("diameter") - 1]) * diameter
    return machine.force_continuous / (math.pi * diameter * poles * pitch) / 1e4


def test_continuous_shear_lies_where_machines_of_each_cooling_lie(truck: dict[str, Any]) -> None:
    """Check file (Pyrhönen; Hendershot and Miller, secondary copy): small enclosed 0.35 to 0.7 N/cm², industrial 0.7 to
    2.1, liquid-cooled about 5, which a winding without teeth does not reach."""
    demand, around = demand_of(truck)
    wanted = Choices(objective="balanced", spring_shares=(1.0,), families=("tubular",))
    found = {design.cooling: shear(design) for design in size_electric(demand, around, wanted).designs}
    assert 0.35 < found["still_air"] < 0.7
    assert 0.7 < found["finned_moving_air"] < 2.1
    assert found["finned_moving_air"] < found["liquid"] < 5.0


def test_gearing_efficiencies() -> None:
    """Check file, memory: ball screw 0.9, spur stage 0.9, planetary stage 0.85."""
    by_label = {t.label: t.efficiency for t in usable_transmissions(0.02)}
    assert by_label["screw of 10 mm lead"] == pytest.approx(0.9)
    assert by_label["belt on a pulley of 10 mm radius behind spur gear 3:1"] == pytest.approx(0.9 * 0.95)
    assert by_label["belt on a pulley of 10 mm radius behind planetary gear 7:1"] == pytest.approx(0.85 * 0.95)


def test_inertia_and_load_torque_are_equal_at_the_best_ratio() -> None:
    """With force and acceleration in step the torque is F·ρ + J·a/ρ, least at ρ = √(J·a/F) (derived): of a fine grid of
    ratios the one of least copper loss lies next to it."""
    demand, around = bench_rig(3.0, 0.4, 8.0, 12.0)
    supply, load = parts(Choices(spring_shares=(1.0,)), demand, around)
    grid = np.geomspace(3e-4, 3e-2, 400)
    gears = np.array([(float(BELT), travel, 0.0, 1.0, 1.0) for travel in grid])
    rows = np.zeros(len(grid), MACHINE)
    build_rotaries(rows, motors()[:1], transmission_parts(gears, 3.0, 0.02), 0.0)
    losses = [mean_losses(row, load, supply, 0.55)[0] for row in rows]
    inertia = float(rows[0]["inertance"]) * grid[0] ** 2
    acceleration = 2.0 * math.pi * 8.0 * 0.4
    best = math.sqrt(inertia * acceleration / 3.0)
    assert grid[int(np.argmin(losses))] == pytest.approx(best, rel=0.02)


def test_insulation_class_told_is_the_lowest_that_suffices(model: dict[str, Any]) -> None:
    """IEC 60085 classes with the stated allowance for the hot spot."""
    demand, around = demand_of(model)
    for design in size_electric(demand, around, Choices(objective="mass")).designs:
        for machine in design.machines:
            hottest = max(machine.winding_temperature, machine.burst_temperature) + constants()["hot_spot_allowance"]
            enough = [c for c in insulation_classes() if c >= hottest]
            assert machine.insulation_class == enough[0]


# --- honesty --------------------------------------------------------------------------------------------------------


def test_a_servo_is_never_called_a_force_actuator(model: dict[str, Any]) -> None:
    demand, around = demand_of(model)
    sizing = size_electric(demand, around)
    servos = [design for design in sizing.designs if design.family == "servo" and design.feasible]
    assert servos
    for design in servos:
        assert not design.sets_force
        assert "position_only" in {w.code for w in electric_cautions(design, around)}
    assert all(best is None or best.sets_force for best in sizing.best)


def test_warnings_come_with_what_triggers_them(model: dict[str, Any]) -> None:
    demand, around = demand_of(model)
    sizing = size_electric(demand, around)

    def codes(family: str, share: float, surroundings: Surroundings = around) -> set[str]:
        (design,) = [d for d in sizing.designs if (d.family, d.cooling, d.spring_share) == (family, "still_air", share)]
        return {w.code for w in electric_cautions(design, surroundings)}

    assert "magnet_handling" in codes("tubular", 1.0)
    assert "magnet_handling" not in codes("rotary", 1.0)
    assert "reflected_inertia" in codes("rotary", 1.0)
    assert "reflected_inertia" not in codes("tubular", 1.0)
    assert "position_only" not in codes("rotary", 1.0)
    assert "voltage_class_b" not in codes("tubular", 1.0)
    assert "voltage_class_b" in codes("tubular", 1.0, Surroundings(400.0, around.ambient))
    assert "touch_temperature" not in codes("tubular", 1.0)
    assert "force_bandwidth" not in codes("tubular", 1.0)
    assert "force_bandwidth" in codes("servo", 1.0)
    with_weight = [d for d in sizing.designs if d.family == "tubular" and d.spring_share == 0.0]
    (said,) = [w for w in electric_cautions(with_weight[0], around) if w.code == "loss_of_power"]
    assert said.value == 100.0


def test_a_hot_duty_in_a_cool_mix_is_warned_of(model: dict[str, Any]) -> None:
    """A duty of a twentieth of the time, sized on the mix: alone it would overheat the lightest machine."""
    model["duty"][0]["share_of_time"] = 0.05
    model["duty"][0]["duration_s"] = 0.3
    demand, around = demand_of(model)
    wanted = Choices(objective="mass", spring_shares=(1.0,), families=("tubular",), coolings=("still_air",))
    (design,) = size_electric(demand, around, wanted).designs
    assert not design.machines[0].hottest_duty_may_last
    assert "winding_burst" in {w.code for w in electric_cautions(design, around)}
    model["duty"][0]["share_of_time"] = 1.0
    (steady,) = size_electric(*demand_of(model), wanted).designs
    assert steady.machines[0].hottest_duty_may_last
    assert "winding_burst" not in {w.code for w in electric_cautions(steady, around)}


def test_hot_surfaces_are_warned_of() -> None:
    demand, around = bench_rig(5.0, 0.2, 3.0, 12.0)
    wanted = Choices(objective="mass", spring_shares=(0.0,), families=("tubular",), coolings=("still_air",))
    (design,) = size_electric(demand, around, wanted).designs
    assert design.machines[0].case_temperature > ZERO_CELSIUS + 65.0
    assert "touch_temperature" in {w.code for w in electric_cautions(design, around)}
