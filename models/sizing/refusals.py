"""Why each part's next smaller size was not taken: the requirement it breaks, or what it would cost.

One part of the chosen plant is swapped for its neighbour and the whole account drawn again; nothing else is re-chosen.
"""

from __future__ import annotations

import numpy as np

from models.quantity import plain
from models.sizing.account import Account, Choice, CornerChoice, account
from models.sizing.design import Refused
from models.sizing.task import relief_factor


def _smaller(values: np.ndarray, row: int, same: np.ndarray) -> int | None:
    """Row with the next smaller value among rows where `same` holds; None when there is none."""
    pool = np.flatnonzero(same & (values < values[row] * (1.0 - 1e-9)))
    return int(pool[np.argmax(values[pool])]) if pool.size else None


def _swaps(state: Account) -> list[tuple[str, str, str, Choice]]:
    """(part, chosen, smaller, choice with the smaller one)."""
    task, choice = state.tables.task, state.choice
    catalogue, labels = task.catalogue, task.catalogue.labels
    found: list[tuple[str, str, str, Choice]] = []
    for index, axle in enumerate(task.demand.axles):
        corner = choice.corners[index]
        cylinders, c = catalogue.cylinders, corner.cylinder
        alike = (
            (cylinders.through == cylinders.through[c])
            & (cylinders.clearance == cylinders.clearance[c])
            & (cylinders.break_out == cylinders.break_out[c])
        )
        share = cylinders.rod / cylinders.bore
        bore_pool = np.flatnonzero(alike & (cylinders.bore < cylinders.bore[c] * (1 - 1e-9)))
        swaps: list[tuple[str, str, str, CornerChoice]] = []
        if bore_pool.size:
            largest = cylinders.bore[bore_pool].max()
            same = bore_pool[cylinders.bore[bore_pool] == largest]
            smaller = int(same[np.argmin(np.abs(share[same] - share[c]))])
            swaps.append(
                (
                    "bore",
                    labels["cylinder"][c],
                    labels["cylinder"][smaller],
                    corner._replace(cylinder=smaller),
                )
            )
        rod = _smaller(cylinders.rod, c, alike & (cylinders.bore == cylinders.bore[c]))
        if rod is not None:
            swaps.append(("rod", labels["cylinder"][c], labels["cylinder"][rod], corner._replace(cylinder=rod)))
        valves, v = catalogue.valves, corner.valve
        valve = _smaller(valves.rated_flow, v, valves.family == valves.family[v])
        if valve is not None:
            swaps.append(("valve", labels["valve"][v], labels["valve"][valve], corner._replace(valve=valve)))
        lines, n = catalogue.lines, corner.line
        strong = lines.rating >= relief_factor() * float(task.settings.high[choice.setting])
        line = _smaller(lines.bore, n, strong)
        if line is None:
            line = _smaller(lines.bore, n, lines.rating >= 0.6 * lines.rating[n])
        if line is not None:
            swaps.append(("line", labels["line"][n], labels["line"][line], corner._replace(line=line)))
        shells, k = catalogue.corner_accumulators, corner.store
        if shells.volume[k] > 0.0:
            kind = np.array([label.split(",")[0] for label in labels["corner accumulator"]])
            store = _smaller(shells.volume, k, (kind == kind[k]) & (shells.max_pressure == shells.max_pressure[k]))
            if store is not None:
                old, new = labels["corner accumulator"][k], labels["corner accumulator"][store]
                swaps.append(("corner accumulator", old, new, corner._replace(store=store)))
        for part, old, new, changed in swaps:
            corners = tuple(changed if i == index else k for i, k in enumerate(choice.corners))
            found.append((f"{axle.position} {part}", old, new, choice._replace(corners=corners)))
    found += _central_swaps(state)
    return found


def _central_swaps(state: Account) -> list[tuple[str, str, str, Choice]]:
    task, choice = state.tables.task, state.choice
    catalogue, labels, settings = task.catalogue, task.catalogue.labels, task.settings
    found = []
    pumps, p = catalogue.pumps, choice.pump
    family = np.array([label.split(",")[0] for label in labels["pump"]])
    pump = _smaller(pumps.displacement, p, family == family[p])
    if pump is not None:
        found.append(("pump", labels["pump"][p], labels["pump"][pump], choice._replace(pump=pump)))
    motors, m = catalogue.motors, choice.motor
    power = motors.rated_torque * motors.rated_speed
    motor = _smaller(power, m, np.abs(motors.rated_speed / motors.rated_speed[m] - 1.0) < 1e-6)
    if motor is not None:
        found.append(("motor", labels["motor"][m], labels["motor"][motor], choice._replace(motor=motor)))
    stores, a = catalogue.accumulators, choice.accumulator
    if stores.volume[a] > 0.0:
        kind = np.array([label.split(",")[0] for label in labels["accumulator"]])
        store = _smaller(stores.volume, a, (kind == kind[a]) & (stores.max_pressure >= settings.high[choice.setting]))
        if store is not None:
            old, new = labels["accumulator"][a], labels["accumulator"][store]
            found.append(("accumulator", old, new, choice._replace(accumulator=store)))
    s = choice.setting
    biased = settings.bias > 0.0
    alike = (settings.window == settings.window[s]) & (biased == biased[s])
    lower = _smaller(settings.high, s, alike)
    if lower is not None:
        found.append(
            (
                "supply pressure",
                f"{settings.high[s] / 1e5:.4g} bar",
                f"{settings.high[lower] / 1e5:.4g} bar",
                choice._replace(setting=lower),
            )
        )
    return found


def refusals(state: Account, objective: str) -> tuple[Refused, ...]:
    """One line per part that has a smaller neighbour."""
    rows = []
    for part, chosen, smaller, choice in _swaps(state):
        other = account(state.tables, choice)
        broken = [c for c in other.constraints if not c.met]
        if broken:
            worst = max(broken, key=lambda c: c.use)
            matter = f"{worst.concerns} {worst.name.replace('_', ' ')}"
            text = f"{matter}: needs {plain(worst.need, 4)}, has {plain(worst.allowance, 4)} {worst.unit}"
            rows.append(Refused(part, chosen, smaller, worst.name, text))
            continue
        mass = other.plant.mass - state.plant.mass
        power = other.plant.power - state.plant.power
        text = (
            f"would serve, at {mass:+.4g} kg, {power:+.4g} W and {other.plant.current - state.plant.current:+.4g} A: "
            f"worse under the objective '{objective}'"
        )
        rows.append(Refused(part, chosen, smaller, "objective", text))
    return tuple(rows)
