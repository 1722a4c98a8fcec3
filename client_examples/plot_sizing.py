"""Post a spec, plot what comes back with matplotlib, save a picture: envelope, flow, power, mass against power.

    pip install httpx matplotlib
    python client_examples/plot_sizing.py [address] [example] [picture.png]

Every plot of the report is also to be had as SVG or CSV at its own address; here the sizing's own numbers are drawn.
"""

from __future__ import annotations

import sys

import matplotlib

matplotlib.use("Agg")

import matplotlib.pyplot as plt
from matplotlib.axes import Axes
from ramwright_client import ProgressBar, Ramwright
from ramwright_results import Design, Figure, Ledger, Search

STYLES = ("-", "--", ":", "-.")


def draw_figure(axes: Axes, figure: Figure) -> None:
    """One of the sizing's figures: curves with their labels, axes with their units."""
    lines = 0
    for curve in figure.curves:
        if curve.marks:
            axes.plot(curve.x, curve.y, "o", color="black", label=curve.label)
        else:
            axes.plot(curve.x, curve.y, STYLES[lines % 4], color="black", label=curve.label)
            lines += 1
    axes.set(title=figure.title, xlabel=f"{figure.x_label} [{figure.x_unit}]")
    axes.set_ylabel(f"{figure.y_label} [{figure.y_unit}]")
    axes.legend(fontsize="small")


def draw_power(axes: Axes, ledger: Ledger) -> None:
    """Where the mean electric power goes, largest last so that it stands on top."""
    terms = sorted((term for term in ledger.terms if term.value), key=lambda term: term.value)
    axes.barh([term.name for term in terms], [term.value for term in terms], color="0.7", edgecolor="black")
    axes.set(title=f"Mean power, {ledger.total:.4g} {ledger.unit} in all", xlabel=f"power [{ledger.unit}]")
    axes.tick_params(axis="y", labelsize="small")


def draw_choice(axes: Axes, design: Design, search: Search) -> None:
    """The chosen design among those no other beats."""
    others, totals = search.alternatives, design.totals
    axes.plot([o.mass_kg for o in others], [o.mean_power_w for o in others], "x", color="black", label="not beaten")
    axes.plot(totals.mass_kg, totals.mean_power_w, "o", color="black", label="chosen")
    axes.set(title="Mass against mean power", xlabel="mass [kg]", ylabel="mean electric power [W]")
    axes.legend(fontsize="small")


def main(arguments: list[str]) -> None:
    address = arguments[0] if arguments else "http://127.0.0.1:8000"
    example = arguments[1] if len(arguments) > 1 else "truck"
    picture = arguments[2] if len(arguments) > 2 else f"{example}.png"
    with Ramwright(address) as service:
        sizing = service.size(service.example(example), watch=ProgressBar())
    if sizing.design is None:
        sys.exit(f"{example}: nothing to draw, since the spec asks no force")
    paper, ((first, second), (third, fourth)) = plt.subplots(2, 2, figsize=(13, 9), layout="constrained")
    draw_figure(first, next(figure for figure in sizing.figures if figure.name.startswith("force-velocity")))
    draw_figure(second, sizing.figure("flow-cycle"))
    draw_power(third, sizing.ledger("power"))
    draw_choice(fourth, sizing.design, sizing.search)
    paper.suptitle(f"{sizing.name or 'unnamed'}: {sizing.outcome.replace('_', ' ')}")
    paper.savefig(picture, dpi=110)
    print(f"{picture}: {sizing.design.totals.mass_kg:.4g} kg, {sizing.outcome}")


if __name__ == "__main__":
    main(sys.argv[1:])
