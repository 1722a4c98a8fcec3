"""Post a spec, plot what comes back with matplotlib, save a picture: envelope, flow, power, mass against power.

    pip install httpx matplotlib
    python client_examples/plot_sizing.py [address] [example] [picture.png]

Every plot of the report is also to be had as SVG or CSV at its own address; here the sizing's own numbers are drawn.
"""

from __future__ import annotations

import sys
from typing import Any

import matplotlib

matplotlib.use("Agg")

import matplotlib.pyplot as plt
from matplotlib.axes import Axes
from ramwright_client import Ramwright

STYLES = ("-", "--", ":", "-.")


def draw_figure(axes: Axes, figure: dict[str, Any]) -> None:
    """One of the sizing's figures: curves with their labels, axes with their units."""
    lines = 0
    for curve in figure["curves"]:
        if curve["marks"]:
            axes.plot(curve["x"], curve["y"], "o", color="black", label=curve["label"])
        else:
            axes.plot(curve["x"], curve["y"], STYLES[lines % 4], color="black", label=curve["label"])
            lines += 1
    axes.set(title=figure["title"], xlabel=f"{figure['x_label']} [{figure['x_unit']}]")
    axes.set_ylabel(f"{figure['y_label']} [{figure['y_unit']}]")
    axes.legend(fontsize="small")


def draw_power(axes: Axes, sizing: dict[str, Any]) -> None:
    """Where the mean electric power goes, largest last so that it stands on top."""
    ledger = next(ledger for ledger in sizing["ledgers"] if ledger["name"] == "power")
    terms = sorted((t for t in ledger["terms"] if t["value"]), key=lambda term: term["value"])
    axes.barh([t["name"] for t in terms], [t["value"] for t in terms], color="0.7", edgecolor="black")
    axes.set(title=f"Mean power, {ledger['total']:.4g} W in all", xlabel="power [W]")
    axes.tick_params(axis="y", labelsize="small")


def draw_choice(axes: Axes, sizing: dict[str, Any]) -> None:
    """The chosen design among those no other beats."""
    others, totals = sizing["search"]["alternatives"], sizing["design"]["totals"]
    axes.plot(
        [o["mass_kg"] for o in others], [o["mean_power_w"] for o in others], "x", color="black", label="not beaten"
    )
    axes.plot(totals["mass_kg"], totals["mean_power_w"], "o", color="black", label="chosen")
    axes.set(title="Mass against mean power", xlabel="mass [kg]", ylabel="mean electric power [W]")
    axes.legend(fontsize="small")


def main(arguments: list[str]) -> None:
    address = arguments[0] if arguments else "http://127.0.0.1:8000"
    example = arguments[1] if len(arguments) > 1 else "truck"
    picture = arguments[2] if len(arguments) > 2 else f"{example}.png"
    with Ramwright(address) as service:
        sizing = service.size(service.example(example))
    figures = {figure["name"]: figure for figure in sizing["figures"]}
    paper, ((first, second), (third, fourth)) = plt.subplots(2, 2, figsize=(13, 9), layout="constrained")
    envelope = next(figure for name, figure in figures.items() if name.startswith("force-velocity"))
    draw_figure(first, envelope)
    draw_figure(second, figures["flow-cycle"])
    draw_power(third, sizing)
    draw_choice(fourth, sizing)
    paper.suptitle(f"{sizing['name'] or 'unnamed'}: {sizing['outcome'].replace('_', ' ')}")
    paper.savefig(picture, dpi=110)
    print(f"{picture}: {sizing['design']['totals']['mass_kg']:.4g} kg, {sizing['outcome']}")


if __name__ == "__main__":
    main(sys.argv[1:])
