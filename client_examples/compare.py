"""Hydraulic against all-electric, and where one overtakes the other, for both examples.

    python client_examples/compare.py [address] [points along each axis] [example ...]

For each example it prints the verdict, then what is found along each axis: vehicle scale, supply duty, share of the
weight on a parallel spring, motor constant, friction. Both sides are sized anew at every point.
"""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Iterator

from ramwright_client import ProgressBar, Ramwright
from ramwright_results import Comparison, Crossover

EXAMPLES = ("model", "truck")


def wrapped(text: str, indent: int) -> str:
    return textwrap.fill(text, 110, initial_indent=" " * indent, subsequent_indent=" " * (indent + 2))


def crossings(curve: Crossover) -> str:
    """Where one side overtakes the other in mass or power, or that it does not."""
    found = [c for c in curve.crossings if c.metric in ("mass", "mean_power")]
    if not found:
        return "no crossover in mass or mean power"
    places = [f"{c.metric.replace('_', ' ')} at {c.value:.3g} ({c.below} below, {c.above} above)" for c in found]
    return f"crossover in {'; '.join(places)}"


def told(answer: Comparison) -> Iterator[str]:
    """The lines to print of one comparison."""
    yield answer.name
    if answer.comparison is None:
        yield "  nothing is asked of an axle"
        return
    for side in answer.comparison.sides:
        yield wrapped(side.verdict.sentence, 2)
    for curve in answer.crossovers:
        span = f"{curve.points[0].value:g} to {curve.points[-1].value:g}"
        yield f"  Along {curve.axis.replace('_', ' ')} from {span} ({curve.means}): {crossings(curve)}"
        for statement in curve.statements:
            yield wrapped(statement, 4)


def main(arguments: list[str]) -> None:
    address = arguments[0] if arguments else "http://127.0.0.1:8000"
    points = int(arguments[1]) if len(arguments) > 1 else 8
    with Ramwright(address) as service:
        for example in arguments[2:] or EXAMPLES:
            spec = service.example(example)
            print("\n".join(told(service.compare(spec, ProgressBar(), axis="all", points=points))))


if __name__ == "__main__":
    main(sys.argv[1:])
