"""What the supply pressure does to a design: the same spec at one pressure after another, as a table.

    python client_examples/sweep_pressure.py [address] [example] [pressure in bar ...]

Each run allows one supply pressure and leaves every other choice to the service.
"""

from __future__ import annotations

import copy
import sys
from typing import Any

from ramwright_client import Ramwright

PRESSURES = {"model": (10.0, 16.0, 25.0, 40.0), "truck": (63.0, 100.0, 125.0, 160.0, 200.0)}


def row(pressure: float, sizing: dict[str, Any]) -> str:
    """One line of the table."""
    return f"{pressure:12g}  {sizing['outcome']}"


def main(arguments: list[str]) -> None:
    address = arguments[0] if arguments else "http://127.0.0.1:8000"
    example = arguments[1] if len(arguments) > 1 else "truck"
    pressures = [float(text) for text in arguments[2:]] or PRESSURES.get(example, PRESSURES["truck"])
    with Ramwright(address) as service:
        spec = service.example(example)
        print("pressure bar  outcome")
        for pressure in pressures:
            changed = copy.deepcopy(spec)
            changed.setdefault("stock", {})["pressure_bar"] = [pressure]
            print(row(pressure, service.size(changed)))


if __name__ == "__main__":
    main(sys.argv[1:])
