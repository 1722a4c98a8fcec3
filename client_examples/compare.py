"""Hydraulic against all-electric, and where one overtakes the other, for both examples.

    python client_examples/compare.py [address] [points along each axis] [example ...]

For each example it prints the verdict, then what is found along each axis: vehicle scale, supply duty, share of the
weight on a parallel spring, motor constant, friction. Both sides are sized anew at every point.
"""

from __future__ import annotations

import sys
import textwrap
from typing import Any

from ramwright_client import Ramwright

EXAMPLES = ("model", "truck")


def wrapped(text: str, first: str = "", rest: str = "  ") -> str:
    return textwrap.fill(text, 110, initial_indent=first, subsequent_indent=rest)


def crossings(curve: dict[str, Any]) -> str:
    """Where one side overtakes the other in mass or power, or that it does not."""
    found = [c for c in curve["crossings"] if c["metric"] in ("mass", "mean_power")]
    if not found:
        return "no crossover in mass or mean power"
    places = [
        f"{c['metric'].replace('_', ' ')} at {c['value']:.3g} ({c['below']} below, {c['above']} above)" for c in found
    ]
    return "crossover in " + "; ".join(places)


def told(answer: dict[str, Any]) -> list[str]:
    """The lines to print of one comparison."""
    lines = [answer["name"]]
    lines += [wrapped(side["verdict"]["sentence"], "  ", "  ") for side in answer["comparison"]["sides"]]
    for curve in answer["crossovers"]:
        low, high = (curve["points"][end]["value"] for end in (0, -1))
        axis = curve["axis"].replace("_", " ")
        lines.append(f"  Along {axis} from {low:g} to {high:g} ({curve['means']}): {crossings(curve)}")
        lines += [wrapped(statement, "    ", "      ") for statement in curve["statements"]]
    return lines


def main(arguments: list[str]) -> None:
    address = arguments[0] if arguments else "http://127.0.0.1:8000"
    points = int(arguments[1]) if len(arguments) > 1 else 8
    with Ramwright(address, timeout=300.0) as service:
        for example in arguments[2:] or EXAMPLES:
            print("\n".join(told(service.compare(service.example(example), axis="all", points=points))))


if __name__ == "__main__":
    main(sys.argv[1:])
