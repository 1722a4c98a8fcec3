"""The hydraulic side: a sized plant read as figures, and a plant sized anew for a scenario moved along an axis.

Knows the sizing and what each axis means for a spec. Compares nothing.
"""

from __future__ import annotations

from collections.abc import Callable

from models.comparison.crossover import Scenario
from models.comparison.side import AxleFigures, HottestPart, Lack, SideFigures
from models.demand import Demand
from models.quantity import OutOfRange, plain
from models.sizing.account import BAR, Account
from models.sizing.describe import CONTROL_NAMES, acts_as, fastest_disturbance, reservoir_balance, totals
from models.sizing.factored import PartFactors
from models.sizing.parts import parts_list
from models.sizing.sizing import least_plant
from models.sizing.task import CONTROLS, PARALLEL
from models.spec import Axle, Position, Spec

BEYOND_NUMBERS = 1e5
"""Need over allowance from which nothing was allowed and the ratio says nothing. Source: [estimate]."""


def hydraulic_figures(state: Account, spring_share: float) -> SideFigures:
    """The figures of a plant, feasible or not; a parallel spring carries `spring_share` of the weight."""
    task, plant = state.tables.task, state.plant
    spec, demand, bus = task.spec, task.demand, totals(state)
    absorbed = float((task.duties.share * task.duties.absorbed).sum())
    follows = _follows_because(state)
    return SideFigures(
        side="hydraulic",
        label=f"central supply of {plain(task.settings.high[state.choice.setting] / BAR, 4)} bar, "
        f"{CONTROL_NAMES[CONTROLS[state.choice.control]]}",
        feasible=state.feasible,
        lacks=tuple(
            Lack(c.concerns, c.name.replace("_", " "), c.use if c.use < BEYOND_NUMBERS else None)
            for c in state.constraints
            if not c.met
        ),
        spring_share=spring_share,
        sets_force=not follows,
        corners=demand.corners,
        axles=tuple(_axle(state, index) for index in range(len(demand.axles))),
        mass=bus.mass,
        mean_power=bus.mean_power,
        peak_power=bus.peak_power,
        peak_current=bus.peak_current,
        standby_power=bus.standby_power,
        heat_per_corner=(plant.power + absorbed) / demand.corners,
        temperatures=(HottestPart("oil", reservoir_balance(state)[1], spec.oil_hot),),
        run_time=bus.run_time,
        parts=sum(part.count for part in parts_list(state)),
        loss_of_power=_loss_of_power(spring_share, spec.arrangement),
        follows_because=follows,
    )


def _axle(state: Account, index: int) -> AxleFigures:
    """Forces at standstill, friction taken off, in the direction in which the demand comes nearest to them: for moments
    at the highest rail pressure, held at the lowest."""
    task, facts, s = state.tables.task, state.facts[index], state.choice.setting
    settings, axle = task.settings, task.demand.axles[index]
    forces = [point.force for duty in axle.duties for point in duty.points]
    push, pull = max(0.0, *forces), max(0.0, *(-force for force in forces))
    high, low, back = (float(x[s]) for x in (settings.high, settings.supply_low, settings.back))
    bias = float(settings.bias[s])
    reached = []
    for asked, inlet, outlet in ((push, facts.cap, facts.annulus), (pull, facts.annulus, facts.cap)):
        ends = (high * inlet - bias * outlet, low * inlet - back * outlet)
        moment, held = (max(0.0, float(end) - facts.friction) for end in ends)
        if asked > 0.0:
            reached.append((moment / asked, moment, held))
    _, peak, steady = min(reached)
    valve = float(task.catalogue.valves.bandwidth[state.choice.corners[index].valve])
    return AxleFigures(axle.position, axle.corners, peak, steady, min(valve, float(facts.frequency)))


def _follows_because(state: Account) -> str:
    """Why a corner sets no force, from the axle where that is worst; empty where every corner does."""
    axles = state.tables.task.demand.axles
    kinds = [acts_as(state, index)[0] for index in range(len(axles))]
    if "slow_leveller" in kinds:
        return f"at the {axles[kinds.index('slow_leveller')].position}, valve or oil column is slower than the duty"
    followers = [index for index, kind in enumerate(kinds) if kind != "force_actuator"]
    if not followers:
        return ""
    worst = [(*fastest_disturbance(state, index), index) for index in followers]
    error, wanted, index = max(worst, key=lambda row: row[0] / row[1])
    beside = state.tables.task.axles[index].arrangement == PARALLEL
    through, unit = ("the stiff oil column", "N") if beside else ("oil and spring", "N rms")
    return (
        f"at the {axles[index].position}, wheel motion drives {plain(error)} {unit} through {through} before the valve "
        f"answers, against {plain(wanted)} {unit} wanted"
    )


def _loss_of_power(spring_share: float, arrangement: str | None) -> str:
    if arrangement == "corner_accumulator":
        return (
            "the gas springs go on carrying the body, which sinks as the valves leak: needs pilot-operated checks or "
            "normally closed valves at the corners"
        )
    held = (
        "valves that centre hold the cylinders stiffly until leakage has let the pressure go, valves that stay open "
        "let them move"
    )
    if spring_share == 1.0:
        return f"{held}; then the body is on its springs with what damping is kept beside them"
    return f"{held}; then the body sinks: needs pilot-operated checks or normally closed valves at the cylinders"


def no_plant(demand: Demand, spring_share: float, why: str) -> SideFigures:
    """The hydraulic side where no plant can be told."""
    return SideFigures(
        side="hydraulic",
        label="central supply",
        feasible=False,
        lacks=(Lack("plant", why, None),),
        spring_share=spring_share,
        sets_force=False,
        corners=demand.corners,
        axles=(),
        mass=None,
        mean_power=None,
        peak_power=None,
        peak_current=None,
        standby_power=None,
        heat_per_corner=None,
        temperatures=(),
        run_time=None,
        parts=None,
        loss_of_power="no design",
    )


def hydraulic_side(spec: Spec) -> Callable[[Scenario], SideFigures]:
    """A callable that sizes the least plant of a completed spec, its medium named, for a scenario.

    The demand is the scenario's own. With the scale the vehicle grows by Froude's law, limits of pressure and size and
    all lines with the length, a limit of mass with its cube, the bus as on the electric side. Sizes on the user's shelf
    and measured parts stay as they are, but for the friction of a measured cylinder.
    """

    def at(scenario: Scenario) -> SideFigures:
        factors = PartFactors(scenario.motor_constant_factor, scenario.friction_factor)
        try:
            state = least_plant(moved_spec(spec, scenario), scenario.demand, factors)
        except OutOfRange as error:
            return no_plant(scenario.demand, scenario.spring_share, str(error))
        if state is None:
            return no_plant(scenario.demand, scenario.spring_share, "no combination of the sizes meets every limit")
        return hydraulic_figures(state, scenario.spring_share)

    return at


GEOMETRY = {"wheelbase": 1, "track": 1, "cg_height": 1, "pitch_inertia": 5, "roll_inertia": 5}
AXLE = {
    "sprung_mass": 3.0, "unsprung_mass": 3.0, "wheel_rate": 2.0, "tyre_rate": 2.0, "retained_damping": 2.5,
    "reference_damping": 2.5, "anti_roll_rate": 4.0, "roll_centre_height": 1.0, "bump_travel": 1.0, "droop_travel": 1.0,
}  # fmt: skip
"""Powers of the length with which a vehicle grows. Source: Froude's law, as in `crossover.scaled_demand`."""


def _axles(spec: Spec) -> tuple[tuple[Position, Axle | None], ...]:
    return ("front", spec.front), ("rear", spec.rear)


def _scaled_axle(axle: Axle, scale: float) -> Axle:
    told = {name: getattr(axle, name) for name in AXLE}
    return axle.model_copy(update={n: v * scale ** AXLE[n] for n, v in told.items() if v is not None})


def moved_spec(spec: Spec, scenario: Scenario) -> Spec:
    """The spec's limits, layout, bus and measured friction at a scenario."""
    scale, around, limits, layout = scenario.scale, scenario.surroundings, spec.limits, spec.layout

    def times(value: float | None, factor: float) -> float | None:
        return None if value is None else value * factor

    changes: dict[str, object] = {}
    if scale != 1.0:
        changes |= {p: None if axle is None else _scaled_axle(axle, scale) for p, axle in _axles(spec)}
        changes |= {name: times(getattr(spec, name), scale**power) for name, power in GEOMETRY.items()}
        changes["limits"] = limits.model_copy(
            update={
                "pressure": times(limits.pressure, scale),
                "mass": times(limits.mass, scale**3),
                "cylinder_outer_diameter": around.outer_diameter,
                "retracted_length": around.retracted_length,
            }
        )
        lengths = ("supply_line", "suction_line", "front_line", "rear_line", "hose")
        changes["layout"] = layout.model_copy(update={name: times(getattr(layout, name), scale) for name in lengths})
        changes["bus"] = spec.bus.model_copy(update={"peak_current": around.peak_current, "energy": around.energy})
    cylinder = spec.measured.cylinder
    if cylinder is not None and scenario.friction_factor != 1.0:
        pressure = cylinder.breakaway_pressure * scenario.friction_factor
        rubbed = cylinder.model_copy(update={"breakaway_pressure": pressure})
        changes["measured"] = spec.measured.model_copy(update={"cylinder": rubbed})
    return spec.model_copy(update=changes) if changes else spec
