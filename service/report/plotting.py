"""Plots as small SVG: curves on two axes, and named bars one under the other, joined to a cascade where asked.

Renders, computes nothing but positions on paper. Reads in grey: curves are told apart by dash, weight and mark, bars by
their labels. No scripts, no fonts, nothing from elsewhere; colours come from the page (`currentColor`).
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from service.report.text import attribute, markup, number

WIDTH, HEIGHT = 520.0, 350.0
LEFT, RIGHT, TOP, BOTTOM = 74.0, 16.0, 16.0, 52.0
KEY_LINE = 20.0
BAR, GAP, NAME_WIDTH, VALUE_WIDTH = 20.0, 8.0, 204.0, 62.0
NAME_CHARACTERS, NAME_LINE = 27, 15.0
"""Names of bars are broken after so many characters into lines so far apart."""

DASHES = ("", "7 4", "2 3", "11 3 2 3", "4 2 1 2 1 2", "14 5")
WEIGHTS = (2.2, 1.8, 2.0, 1.6, 1.8, 1.4)
STYLE = (
    "text{font:13px system-ui,sans-serif;fill:currentColor}"
    ".grid{stroke:currentColor;stroke-opacity:.16}.zero{stroke:currentColor;stroke-opacity:.55}"
    ".curve{fill:none;stroke:currentColor;stroke-linejoin:round}"
    ".mark{fill:none;stroke:currentColor;stroke-width:1.8}.full{fill:currentColor}"
    ".bar{fill:currentColor;fill-opacity:.28;stroke:currentColor}.less{fill-opacity:.06}"
    ".total{fill-opacity:.62}.step{stroke:currentColor;stroke-dasharray:2 2}"
)


@dataclass(frozen=True)
class Line:
    """A curve to draw: values along each axis; `marks` are points unjoined."""

    label: str
    x: Sequence[float]
    y: Sequence[float]
    marks: bool = False


@dataclass(frozen=True)
class Axis:
    """An axis: its text with the unit, and whether it is logarithmic."""

    text: str
    log: bool = False


@dataclass(frozen=True)
class BarLine:
    """A named bar; `total` draws it from zero and darker."""

    label: str
    value: float
    total: bool = False


def ticks(low: float, high: float) -> list[float]:
    """Round values from below `low` to above `high`, at least two."""
    if high <= low:
        spread = abs(low) or 1.0
        low, high = low - 0.5 * spread, low + 0.5 * spread
    rough = (high - low) / 5.0
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(m * power for m in (1.0, 2.0, 2.5, 5.0, 10.0) if m * power >= rough * 0.999)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [round(i * step, 12) for i in range(first, last + 1)]


def log_ticks(low: float, high: float) -> list[float]:
    """Powers of ten from below `low` to above `high`, both above zero."""
    first, last = math.floor(math.log10(low) + 1e-9), math.ceil(math.log10(high) - 1e-9)
    return [10.0**i for i in range(first, max(last, first + 1) + 1)]


def chart(title: str, about: str, x_axis: Axis, y_axis: Axis, lines: Sequence[Line]) -> str:
    """Curves on one pair of axes, as an SVG document."""
    kept = [_on_axes(line, x_axis.log, y_axis.log) for line in lines]
    xs = [value for line in kept for value in line.x]
    ys = [value for line in kept for value in line.y]
    if not xs:
        return _document(title, about, WIDTH, HEIGHT, ['<text x="20" y="40">no values</text>'])
    x_ticks = log_ticks(min(xs), max(xs)) if x_axis.log else ticks(min(xs), max(xs))
    y_ticks = log_ticks(min(ys), max(ys)) if y_axis.log else ticks(min(*ys, 0.0), max(ys))
    height = HEIGHT + KEY_LINE * len(kept)

    def across(value: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * _share(value, x_ticks, x_axis.log)

    def up(value: float) -> float:
        return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * _share(value, y_ticks, y_axis.log)

    body = []
    for value in x_ticks:
        x, kind = across(value), "zero" if value == 0.0 and not x_axis.log else "grid"
        body.append(f'<path class="{kind}" d="M{x:.1f} {TOP:g}V{HEIGHT - BOTTOM:g}"/>')
        body.append(f'<text x="{x:.1f}" y="{HEIGHT - BOTTOM + 18:g}" text-anchor="middle">{number(value)}</text>')
    for value in y_ticks:
        y, kind = up(value), "zero" if value == 0.0 and not y_axis.log else "grid"
        body.append(f'<path class="{kind}" d="M{LEFT:g} {y:.1f}H{WIDTH - RIGHT:g}"/>')
        body.append(f'<text x="{LEFT - 8:g}" y="{y + 4.5:.1f}" text-anchor="end">{number(value)}</text>')
    middle, centre = 0.5 * (LEFT + WIDTH - RIGHT), 0.5 * (TOP + HEIGHT - BOTTOM)
    body.append(f'<text x="{middle:g}" y="{HEIGHT - 12:g}" text-anchor="middle">{markup(x_axis.text)}</text>')
    turned = f'transform="rotate(-90 16 {centre:g})"'
    body.append(f'<text x="16" y="{centre:g}" text-anchor="middle" {turned}>{markup(y_axis.text)}</text>')
    curves = marks = 0
    for row, line in enumerate(kept):
        y = HEIGHT + KEY_LINE * row + 8.0
        if line.marks:
            body += [_mark(marks, across(a), up(b)) for a, b in zip(line.x, line.y, strict=True)]
            body.append(_mark(marks, LEFT + 17.0, y))
            marks += 1
        else:
            pen = f'stroke-width="{WEIGHTS[curves % 6]:g}" stroke-dasharray="{DASHES[curves % 6] or "none"}"'
            path = "L".join(f"{across(a):.1f} {up(b):.1f}" for a, b in zip(line.x, line.y, strict=True))
            body.append(f'<path class="curve" {pen} d="M{path}"/><path class="curve" {pen} d="M{LEFT:g} {y:g}h34"/>')
            curves += 1
        body.append(f'<text x="{LEFT + 44:g}" y="{y + 4.5:g}">{markup(line.label)}</text>')
    return _document(title, about, WIDTH, height, body)


def bars(title: str, about: str, axis: str, lines: Sequence[BarLine], cascade: bool = False) -> str:
    """Named bars, each with its value; in a cascade each bar begins where the one above it ended."""
    names = [textwrap.wrap(line.label, NAME_CHARACTERS) for line in lines]
    heights = [max(BAR, NAME_LINE * len(name)) for name in names]
    tops = [TOP + sum(heights[:row]) + GAP * row for row in range(len(lines))]
    ends, level = [], 0.0
    for line in lines:
        start = level if cascade and not line.total else 0.0
        ends.append((start, start + line.value))
        level = start + line.value if not line.total else level
    low, high = min(0.0, *(min(e) for e in ends)), max(0.0, *(max(e) for e in ends))
    scale = ticks(low, high)
    floor = TOP + sum(heights) + GAP * len(lines)
    height = floor + 46.0

    def across(value: float) -> float:
        return NAME_WIDTH + (WIDTH - NAME_WIDTH - VALUE_WIDTH) * _share(value, scale, False)

    body = []
    for value in scale:
        x, kind = across(value), "zero" if value == 0.0 else "grid"
        body.append(f'<path class="{kind}" d="M{x:.1f} {TOP - 6:g}V{floor:g}"/>')
        body.append(f'<text x="{x:.1f}" y="{floor + 17:g}" text-anchor="middle">{number(value)}</text>')
    middle = 0.5 * (across(scale[0]) + across(scale[-1]))
    body.append(f'<text x="{middle:.1f}" y="{floor + 38:g}" text-anchor="middle">{markup(axis)}</text>')
    for row, (line, (start, end)) in enumerate(zip(lines, ends, strict=True)):
        y = tops[row] + 0.5 * (heights[row] - BAR)
        left, right = sorted((across(start), across(end)))
        kind = "bar total" if line.total else "bar less" if line.value < 0.0 else "bar"
        body.append(
            f'<rect class="{kind}" x="{left:.1f}" y="{y:g}" width="{max(right - left, 0.8):.1f}" height="{BAR:g}"/>'
        )
        if cascade and row + 1 < len(lines) and not lines[row + 1].total:
            below = tops[row + 1] + 0.5 * (heights[row + 1] - BAR)
            body.append(f'<path class="step" d="M{across(end):.1f} {y + BAR:g}V{below:g}"/>')
        first = y + 15.0 - 0.5 * NAME_LINE * (len(names[row]) - 1)
        for step, part in enumerate(names[row]):
            down = first + NAME_LINE * step
            body.append(f'<text x="{NAME_WIDTH - 8:g}" y="{down:g}" text-anchor="end">{markup(part)}</text>')
        body.append(f'<text x="{right + 6:.1f}" y="{y + 15:g}">{number(line.value, 3)}</text>')
    return _document(title, about, WIDTH, height, body)


def _share(value: float, scale: Sequence[float], log: bool) -> float:
    if log:
        value, low, high = math.log(value), math.log(scale[0]), math.log(scale[-1])
        return (value - low) / (high - low)
    return (value - scale[0]) / (scale[-1] - scale[0])


def _on_axes(line: Line, log_x: bool, log_y: bool) -> Line:
    pairs = [(a, b) for a, b in zip(line.x, line.y, strict=True) if (a > 0.0 or not log_x) and (b > 0.0 or not log_y)]
    return Line(line.label, [p[0] for p in pairs], [p[1] for p in pairs], line.marks)


def _mark(kind: int, x: float, y: float) -> str:
    shapes = (
        f'<circle class="full" cx="{x:.1f}" cy="{y:.1f}" r="4.5"/>',
        f'<path class="mark" d="M{x - 6:.1f} {y - 6:.1f}l12 12m0-12l-12 12"/>',
        f'<rect class="mark" x="{x - 4.5:.1f}" y="{y - 4.5:.1f}" width="9" height="9"/>',
        f'<path class="mark" d="M{x:.1f} {y - 6:.1f}l6 11h-12z"/>',
        f'<circle class="mark" cx="{x:.1f}" cy="{y:.1f}" r="5"/>',
    )
    return shapes[kind % len(shapes)]


def _document(title: str, about: str, width: float, height: float, body: Sequence[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" role="img" '
        f"aria-label={attribute(title)}><title>{markup(title)}</title><desc>{markup(about)}</desc>"
        f"<style>{STYLE}</style>{''.join(body)}</svg>"
    )
