"""Hydraulic symbols as SVG, each drawn about its own origin: what ISO 1219-1 describes, by this project's own strokes.

Knows shapes and proportions: a circle of one module for pump and motor, three quarters for instruments, a third for a
check valve; a square of one module for each valve position. Knows no circuit. The standard is remembered, not at hand:
proportions were seen on a page about basic shapes, most of the symbols are from memory.
"""

from __future__ import annotations

MODULE = 40.0
"""Diameter of a pump's circle and side of a valve's square, in the drawing's units."""

RADIUS = 0.5 * MODULE
INSTRUMENT = 0.375 * MODULE
CHECK = MODULE / 6.0

STYLE = (
    "text{font:12px system-ui,sans-serif;fill:currentColor}.name{font-weight:600}.port{font-size:11px;font-weight:600}"
    ".small{font-size:11px}"
    "path,circle,rect{fill:none;stroke:currentColor;stroke-width:1.6}"
    ".work{stroke-width:2.6}.return{stroke-width:1.6}.pilot{stroke-width:1.2;stroke-dasharray:8 4}"
    ".signal{stroke-width:1;stroke-dasharray:1.5 4;stroke-linecap:round}"
    ".enclosure{stroke-width:1;stroke-dasharray:16 4 2 4}.full{fill:currentColor;stroke:none}"
    ".paper{fill:var(--paper,#fff);stroke:none}.solid{fill:var(--paper,#fff)}"
)


def place(x: float, y: float, drawing: str) -> str:
    """A drawing moved to (x, y)."""
    return f'<g transform="translate({x:g} {y:g})">{drawing}</g>'


def path(steps: str, kind: str = "") -> str:
    """A stroke; `kind` is a line kind of STYLE."""
    return f'<path class="{kind}" d="{steps}"/>' if kind else f'<path d="{steps}"/>'


def dot(x: float, y: float) -> str:
    """A junction."""
    return f'<circle class="full" cx="{x:g}" cy="{y:g}" r="3.6"/>'


def arrow(x: float, y: float, dx: float, dy: float, size: float = 6.0) -> str:
    """A filled arrowhead at (x, y) that points along (dx, dy)."""
    length = (dx * dx + dy * dy) ** 0.5
    a, b = size * dx / length, size * dy / length
    return (
        f'<path class="full" d="M{x:.1f} {y:.1f}L{x - 1.5 * a - 0.6 * b:.1f} {y - 1.5 * b + 0.6 * a:.1f}'
        f'L{x - 1.5 * a + 0.6 * b:.1f} {y - 1.5 * b - 0.6 * a:.1f}z"/>'
    )


def spring(x: float, y: float, length: float, turns: int = 3, width: float = 5.0) -> str:
    """A zigzag from (x, y) to the right; a negative length runs to the left."""
    step = length / (2 * turns)
    points = "".join(f"L{x + step * (i + 0.5):.1f} {y + (width if i % 2 else -width):g}" for i in range(2 * turns))
    return path(f"M{x:g} {y:g}{points}L{x + length:g} {y:g}")


def pump() -> str:
    """A fixed pump: one full triangle at the rim, pointing out along the flow (upward)."""
    return f'<circle class="solid" r="{RADIUS:g}"/><path class="full" d="M0 {-RADIUS:g}l9 15h-18z"/>'


def motor(variable: bool) -> str:
    """An electric motor; an arrow across it where its speed is set."""
    across = path("M-24 22L23 -21") + arrow(26, -24, 1, -0.92) if variable else ""
    x, y = (-5, 1) if variable else (0, 4.5)
    letter = f'<text class="name" text-anchor="middle" x="{x:g}" y="{y:g}">M</text>'
    return f'<circle class="solid" r="{RADIUS:g}"/>{letter}{across}'


def shaft(length: float) -> str:
    """A shaft with its coupling and the arrow of rotation, from the origin to the right."""
    half = 0.5 * length
    return (
        path(f"M0 -2.5H{length:g}M0 2.5H{length:g}M{half - 3:g} -8v16M{half + 3:g} -8v16")
        + path(f"M{half - 9:g} 14A14 14 0 0 0 {half + 8:g} 15")
        + arrow(half + 10, 13, 1, -0.7, 4.5)
    )


def check(downstream_up: bool = True, spring_loaded: bool = False) -> str:
    """A check valve on a vertical line, free upward or downward: ball on a V seat."""
    s = 1.0 if downstream_up else -1.0
    zigzag = f'<g transform="rotate({-90 if downstream_up else 90})">{spring(CHECK, 0, 15, 2, 4)}</g>'
    return (
        f'<circle class="solid" r="{CHECK:.2f}"/>'
        + path(f"M-9 {s * -3:g}L0 {s * 10:g}L9 {s * -3:g}")
        + (zigzag if spring_loaded else "")
    )


def level_check(to_right: bool) -> str:
    """A check valve on a level line, free to the right or to the left."""
    return f'<g transform="rotate({90 if to_right else -90})">{check()}</g>'


def pressure_valve(external: bool) -> str:
    """A relief valve (own pilot) or an unloading valve (`external`: the pilot comes from outside), inlet on top.

    One square, arrow offset from the line, adjustable spring on the right, pilot on the left.
    """
    h = 0.5 * MODULE
    pilot = path(f"M{-h - 14:g} 0H{-h:g}" if external else f"M0 {-h - 8:g}H{-h - 12:g}V0H{-h:g}", "pilot")
    return (
        f'<rect class="solid" x="{-h:g}" y="{-h:g}" width="{MODULE:g}" height="{MODULE:g}"/>'
        + path(f"M7 {-h:g}V{h - 7:g}")
        + arrow(7, h, 0, 1)
        + spring(h, 0, 24)
        + path("M22 12L45 -13")
        + arrow(47, -15, 1, -1, 5)
        + pilot
        + (arrow(-h, 0, 1, 0, 5) if external else "")
    )


def accumulator() -> str:
    """A gas-charged accumulator, oil port at the origin below: upright capsule, divider, open triangle for the gas."""
    return (
        '<rect class="solid" x="-15" y="-72" width="30" height="72" rx="15"/>'
        + path("M-15 -36H15")
        + path("M-6 -60H6L0 -50z")
    )


def orifice() -> str:
    """A fixed restriction on a level line: two arcs that pinch it."""
    return path("M-9 -8Q0 1 9 -8M-9 8Q0 -1 9 8")


def vent() -> str:
    """An opening to the air below a port: open triangle."""
    return path("M0 0V12M-6 12H6L0 21z")


def plug() -> str:
    """A plugged port above a valve."""
    return path("M0 0V-9M-5 -9H5")


def filter_with_bypass() -> str:
    """A filter on a vertical line, flow downward, with a spring-loaded bypass check to its left."""
    return (
        path("M0 -34H-44V-8M-44 10V34H0", "return")
        + place(-44, 1, check(downstream_up=False, spring_loaded=True))
        + '<path class="solid" d="M0 -20L20 0L0 20L-20 0z"/>'
        + path("M-20 0H20", "pilot")
        + dot(0, -34)
        + dot(0, 34)
    )


def cooler() -> str:
    """A cooler on a vertical line: square on its corner, arrows that lead heat out."""
    return (
        '<path class="solid" d="M0 -20L20 0L0 20L-20 0z"/>'
        + path("M5 0H24M-5 0H-24")
        + arrow(31, 0, 1, 0)
        + arrow(-31, 0, -1, 0)
    )


def gauge() -> str:
    """A pressure gauge: circle with a pointer."""
    return f'<circle class="solid" r="{INSTRUMENT:g}"/>' + path("M-7 8L6 -7") + arrow(8, -9, 1, -1.1, 4.5)


def transducer(letter: str) -> str:
    """A sensor with an electric signal: circle with the letter of what it measures."""
    return f'<circle class="solid" r="11"/><text class="small" text-anchor="middle" y="4">{letter}</text>'


def cylinder(through_rod: bool) -> str:
    """A double-acting cylinder, 120 by 32 about the origin, ports A at (-46, 16) and B at (46, 16)."""
    rod = "M5 -3.5H104V3.5H5" if not through_rod else "M5 -3.5H104V3.5H5M-5 -3.5H-104V3.5H-5"
    return (
        '<rect class="solid" x="-60" y="-16" width="120" height="32"/>'
        + path(rod)
        + '<rect class="solid" x="-5" y="-16" width="10" height="32"/>'
    )


def servo_valve() -> str:
    """A 4/3 valve with infinite positions, shut in the middle: A (-10, -20), B (10, -20) above; P, T (±10, 20) below.

    Two lines along it for infinite positions, at each end a spring and a solenoid that can be set to any force.
    """
    m = MODULE
    squares = "".join(
        f'<rect class="solid" x="{-1.5 * m + i * m:g}" y="-20" width="{m:g}" height="{m:g}"/>' for i in range(3)
    )
    lines = path(f"M{-1.5 * m:g} -25H{1.5 * m:g}M{-1.5 * m:g} 25H{1.5 * m:g}")
    straight = path("M-50 20V-14M-30 -20V14") + arrow(-50, -20, 0, -1) + arrow(-30, 20, 0, 1)
    shut = path("M-10 -20v9m-5 0h10M10 -20v9m-5 0h10M-10 20v-9m-5 0h10M10 20v-9m-5 0h10")
    crossed = path("M30 20L47 -14M50 20L33 -14") + arrow(50, -20, 20, -40) + arrow(30, -20, -20, -40)
    ends = (
        '<rect class="solid" x="-78" y="-18" width="18" height="16"/>'
        '<rect class="solid" x="60" y="-18" width="18" height="16"/>'
        + path("M-77 -3L-63 -16M61 -3L75 -16")
        + arrow(-61, -18, 1, -1, 4)
        + arrow(77, -18, 1, -1, 4)
        + spring(-60, 10, -20, 3, 5)
        + spring(60, 10, 20, 3, 5)
    )
    return squares + lines + straight + shut + crossed + ends
