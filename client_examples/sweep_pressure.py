"""What the supply pressure does to a design: the same spec at one pressure after another, as a table.

    python client_examples/sweep_pressure.py [address] [example] [pressure in bar ...]

Each run allows one supply pressure and leaves every other choice to the service.
"""

from __future__ import annotations

import copy
import sys

from ramwright_client import Ramwright
from ramwright_results import Sizing

PRESSURES = {"model": (10.0, 16.0, 25.0, 40.0), "truck": (63.0, 100.0, 125.0, 160.0, 200.0)}


HEAD = "pressure bar  outcome                 front cylinder                             mass kg  mean W  peak A"


def row(pressure: float, sizing: Sizing) -> str:
    """One line of the table; of an infeasible sizing the requirements that no plant met."""
    start = f"{pressure:12g}  {sizing.outcome:<22}"
    if sizing.design is None or sizing.design.front is None or sizing.outcome == "infeasible":
        return start + "  misses " + ", ".join(miss.constraint for miss in sizing.search.unmet)
    totals = sizing.design.totals
    numbers = f"{totals.mass_kg:9.3g} {totals.mean_power_w:7.4g} {totals.peak_current_a:7.3g}"
    return f"{start}  {sizing.design.front.cylinder:<41}{numbers}"


def main(arguments: list[str]) -> None:
    address = arguments[0] if arguments else "http://127.0.0.1:8000"
    example = arguments[1] if len(arguments) > 1 else "truck"
    pressures = [float(text) for text in arguments[2:]] or PRESSURES.get(example, PRESSURES["truck"])
    with Ramwright(address) as service:
        spec = service.example(example)
        print(HEAD)
        for pressure in pressures:
            changed = copy.deepcopy(spec)
            changed.setdefault("stock", {})["pressure_bar"] = [pressure]
            print(row(pressure, service.size(changed)))


if __name__ == "__main__":
    main(sys.argv[1:])
