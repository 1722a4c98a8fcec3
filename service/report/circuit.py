"""The circuit drawing of a sizing: which parts it holds, how they are joined, and where each stands on paper.

Knows the circuit: reservoir, pump, protection, store, a valve and a cylinder a corner, return. Draws what the design
holds and nothing else; every part is a group with its name in `data-part`, as many as the parts list counts. Drawn at
rest and not to scale. Sizes and settings are read from the sizing. Shapes are in `symbols`.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

from service.report import symbols as s
from service.report.text import attribute, markup, number, with_unit, words

WIDTH, HEIGHT = 1320, 1010
RAIL_P, RAIL_T = 432, 460
RETURN, PUMP, RELIEF, UNLOADING, STORE = 110, 440, 680, 870, 1090
RIM, LEVEL, FLOOR, DIP = 868, 884, 922, 906
LINE_HEIGHT = 14.5

CORNERS: Mapping[str, Sequence[tuple[str, str]]] = {
    "front": (("fl", "front left"), ("fr", "front right")),
    "rear": (("rl", "rear left"), ("rr", "rear right")),
}


def circuit(sizing: Mapping[str, Any]) -> str:
    """The drawing as an SVG document."""
    design = sizing["design"]
    parts = {part["part"]: part for part in design["parts"]}
    corners = [
        (position, *names)
        for position in ("front", "rear")
        if design[position] is not None
        for names in CORNERS[position][: parts[f"{position} cylinder"]["count"]]
    ]
    if len(corners) == 1:
        corners = [(corners[0][0], corners[0][1], "the one corner")]
    middles = [WIDTH * (i + 0.5) / len(corners) for i in range(len(corners))]
    body = [
        _rails(middles, "accumulator" in parts),
        _return(design, parts),
        _supply(design, parts),
        _reservoir(design, parts),
    ]
    if "accumulator" in parts:
        body.append(_store(design, parts))
    body += [
        s.place(x, 0, _corner(position, short, name, design[position], parts))
        for x, (position, short, name) in zip(middles, corners, strict=True)
    ]
    body.append(_legend(design))
    title = f"Hydraulic circuit: {sizing['name'] or 'unnamed'}"
    about = f"{design['centre']['control']}, {len(corners)} corners, {number(design['supply_pressure_bar'])} bar"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        f"aria-label={attribute(title)}><title>{markup(title)}</title><desc>{markup(about)}</desc>"
        f'<style>{s.STYLE}</style><rect class="paper" width="{WIDTH}" height="{HEIGHT}"/>{"".join(body)}</svg>'
    )


def _part(name: str, drawing: str, item: str = "") -> str:
    where = f" data-item={attribute(item)}" if item else ""
    return f"<g data-part={attribute(name)}{where}>{drawing}</g>"


def _notes(x: float, y: float, lines: Sequence[str], anchor: str = "start", kind: str = "") -> str:
    """Lines of text one under the other, the first one's foot at `y`."""
    rows = "".join(
        f'<text x="{x:g}" y="{y + LINE_HEIGHT * i:g}" text-anchor="{anchor}" class="{kind}">{markup(line)}</text>'
        for i, line in enumerate(lines)
    )
    return rows


def _wrapped(text: str, width: int, lines: int = 4) -> list[str]:
    return textwrap.wrap(text, width, max_lines=lines, placeholder=" …")


def _rails(middles: Sequence[float], store: bool) -> str:
    low, high = min(RETURN, *middles), max(middles)
    ends = [x - 10 for x in middles] + [PUMP] + ([STORE - 40] if store else [])
    supply = s.path(f"M{min(ends):g} {RAIL_P}H{max(ends):g}", "work")
    back = s.path(f"M{low:g} {RAIL_T}H{high + 10:g}", "return")
    dots = "".join(s.dot(x, RAIL_P) for x in ends if min(ends) < x < max(ends))
    dots += "".join(s.dot(x + 10, RAIL_T) for x in middles[:-1])
    letters = _notes(min(ends) - 16, RAIL_P + 4, ["P"], kind="port") + _notes(low - 16, RAIL_T + 4, ["T"], kind="port")
    return f'<g data-item="rails">{supply}{back}{dots}{letters}</g>'


def _corner(position: str, short: str, name: str, corner: Mapping[str, Any], parts: Mapping[str, Any]) -> str:
    """One corner about x = 0: cylinder above, valve below, down to both rails."""
    cylinder = [
        *_wrapped(corner["cylinder"], 52, 1),
        f"stroke {with_unit(corner['stroke_mm'], 'mm')}, outside ⌀{with_unit(corner['outer_diameter_mm'], 'mm')}",
    ]
    gas = corner["gas"]
    if gas is None and corner["spring_between_n_mm"] is not None:
        cylinder.append(f"in line with a spring of {with_unit(corner['spring_between_n_mm'], 'N/mm', 3)}")
    found = [
        _notes(0, 20, [f"{short}  {name}"], "middle", "name"),
        _part(
            f"{position} cylinder",
            _notes(0, 40, cylinder, "middle", "small") + s.place(0, 96, s.cylinder(corner["through_rod"])),
            short,
        ),
    ]
    line_a = s.path("M-46 112V290H-10V330", "work") + _notes(-60, 128, ["A"], kind="port")
    text = [*_wrapped(corner["line"].replace(", ", " + "), 17, 4), f"bore {with_unit(corner['line_bore_mm'], 'mm')}"]
    if gas is None:
        line_b = s.path("M46 112V290H10V330", "work") + _notes(52, 128, ["B"], kind="port")
        found.append(_part(f"{position} lines", line_a, f"{short} A"))
        found.append(_part(f"{position} lines", line_b + _notes(56, 208, text, kind="small"), f"{short} B"))
    else:
        found.append(_part(f"{position} lines", line_a + _notes(-56, 200, text, "end", "small"), short))
        found.append(_gas_spring(position, short, gas, parts))
    sensors = (
        s.path("M-46 160H-76" + ("M46 160H76" if gas is None else ""))
        + s.dot(-46, 160)
        + (s.dot(46, 160) + s.place(76, 160, s.transducer("p")) if gas is None else "")
        + s.place(-76, 160, s.transducer("p"))
        + s.path("M112 96V114")
        + s.path("M104 96H112")
        + s.place(112, 124, s.transducer("s"))
    )
    found.append(_part(f"{position} sensors", sensors, short))
    if f"{position} anti-cavitation checks" in parts:
        feed = s.path("M10 394H-112V262H0V230", "return") + s.dot(10, 394) + s.dot(0, 230)
        found.append(f'<g data-item="check feed {short}">{feed}</g>')
        for side, x in (("A", -46), ("B", 46)):
            joint = s.path(f"M0 230H{x}", "return") + s.dot(x, 230) + s.place(x / 2, 230, s.level_check(x > 0))
            found.append(_part(f"{position} anti-cavitation checks", joint, f"{short} {side}"))
        found.append(_notes(0, 214, ["anti-cav."], "middle", "small"))
    ports = s.path(f"M-10 370V{RAIL_P}", "work") + s.path(f"M10 370V{RAIL_T}", "return")
    letters = _notes(-24, 324, ["A"], kind="port") + _notes(16, 324, ["B"], kind="port")
    letters += _notes(-24, 391, ["P"], kind="port") + _notes(16, 391, ["T"], kind="port")
    text = [
        *_wrapped(words(corner["valve"]).split(",")[0], 22, 1),  # its numbers stand below
        f"{corner['spool']} spool, {with_unit(corner['valve_bandwidth_hz'], 'Hz', 3)}",
        f"{with_unit(corner['valve_rated_flow_l_min'], 'L/min', 3)} at 35 bar/land",
    ]
    valve = ports + s.place(0, 350, s.servo_valve()) + letters + _notes(32, 390, text, kind="small")
    found.append(_part(f"{position} valve", valve, short))
    return "".join(found)


def _gas_spring(position: str, short: str, gas: Mapping[str, Any], parts: Mapping[str, Any]) -> str:
    """The gas spring on a corner's A line, its orifice, the vented rod side and the valve's plugged port."""
    text = [
        *_wrapped(gas["accumulator"], 18, 3),
        f"precharge {with_unit(gas['precharge_bar'], 'bar', 3)}",
        f"at rest {with_unit(gas['static_pressure_bar'], 'bar', 3)}",
    ]
    store = s.path("M-46 256H30V240", "work") + s.dot(-46, 256) + s.place(30, 240, s.accumulator())
    found = [
        _part(f"{position} corner accumulator", store + _notes(52, 176, text, kind="small"), short),
        f'<g data-item="vent {short}">{s.place(46, 112, s.vent())}</g>',
        f'<g data-item="plug {short}">{s.place(10, 330, s.plug())}</g>',
    ]
    if f"{position} damping orifice" in parts:
        bore = f"⌀{with_unit(gas['orifice_bore_mm'], 'mm', 3)}"
        drawing = s.place(-8, 256, s.orifice()) + _notes(-8, 279, [bore], "middle", "small")
        found.append(_part(f"{position} damping orifice", drawing, short))
    return "".join(found)


def _return(design: Mapping[str, Any], parts: Mapping[str, Any]) -> str:
    """From the T rail down: gauge, bias, cooler, filter, reservoir."""
    centre = design["centre"]
    found = [
        _part(
            "return line",
            s.path(f"M{RETURN} {RAIL_T}V{DIP}", "return")
            + _notes(RETURN + 10, 836, _wrapped(centre["return_line"], 20), kind="small"),
        ),
        _gauge(RETURN, 488, "T", -1),
    ]
    if design["return_bias_bar"] > 0.0:
        bias = s.place(RETURN, 532, s.check(downstream_up=False, spring_loaded=True))
        note = _notes(RETURN + 20, 536, [f"return bias {with_unit(design['return_bias_bar'], 'bar')}"], kind="small")
        found.append(f'<g data-item="return bias">{bias}{note}</g>')
    if "cooler" in parts:
        text = [
            parts["cooler"]["choice"],
            with_unit(centre["cooler_heat_w"], "W"),
            f"oil to {with_unit(centre['oil_temperature_c'], '°C', 3)}",
        ]
        found.append(_part("cooler", s.place(RETURN, 624, s.cooler()) + _notes(RETURN + 40, 614, text, kind="small")))
    rated = with_unit(centre["filter_rated_flow_l_min"], "L/min", 3)
    text = [*_wrapped(parts["filter"]["choice"], 24, 2), f"rated {rated}", "at 30 mm²/s"]
    found.append(
        _part("filter", s.place(RETURN, 746, s.filter_with_bypass()) + _notes(RETURN + 30, 736, text, kind="small"))
    )
    return "".join(found)


def _gauge(x: float, y: float, port: str, side: int) -> str:
    pipe = s.path(f"M{x:g} {y:g}h{side * 26:g}") + s.dot(x, y) + s.place(x + side * 41, y, s.gauge())
    return f'<g data-item="gauge point {port}">{pipe}</g>'


def _supply(design: Mapping[str, Any], parts: Mapping[str, Any]) -> str:
    """From the reservoir up through pump, protection and check to the P rail."""
    centre, unloading = design["centre"], "unloading valve" in parts
    pump_y, motor_x = 730, PUMP - 130
    speed_set = centre["control"].startswith("speed")
    found = [
        _part(
            "suction line",
            s.path(f"M{PUMP} {DIP}V{pump_y + s.RADIUS:g}", "work")
            + _notes(PUMP + 10, 812, _wrapped(centre["suction_line"], 18), kind="small"),
        ),
        _part(
            "supply line",
            s.path(f"M{PUMP} {pump_y - s.RADIUS:g}V{RAIL_P}", "work")
            + _notes(PUMP + 10, 500, _wrapped(centre["supply_line"], 18), kind="small"),
        ),
        _part("coupling", s.place(motor_x + s.RADIUS, pump_y, s.shaft(130 - 2 * s.RADIUS))),
    ]
    text = [
        *_wrapped(centre["pump"], 30, 2),
        f"{with_unit(centre['pump_flow_l_min'], 'L/min', 3)} at {with_unit(centre['speed_rpm'], 'rpm', 3)}",
    ]
    drain = ""
    if "piston" in centre["pump"]:
        drain = s.path(f"M{PUMP + 15} {pump_y + 13}H{PUMP + 190}V{DIP}", "pilot") + _notes(
            PUMP + 176, pump_y + 28, ["L"], kind="port"
        )
    ports = _notes(PUMP - 16, pump_y - 26, ["P"], kind="port") + _notes(PUMP - 16, pump_y + 36, ["S"], kind="port")
    found.append(
        _part(
            "pump", s.place(PUMP, pump_y, s.pump()) + ports + drain + _notes(PUMP + 28, pump_y - 14, text, kind="small")
        )
    )
    found.append(_motor(design, parts, motor_x, pump_y, speed_set))
    relief = s.path(f"M{PUMP} 600H{RELIEF}V630", "work") + s.path(f"M{RELIEF} 670V{DIP}", "return") + s.dot(PUMP, 600)
    note = [
        f"set at {with_unit(centre['relief_setting_bar'], 'bar')}",
        with_unit(parts["relief valve"]["chosen"], "L/min", 3),
    ]
    found.append(
        _part(
            "relief valve",
            relief
            + s.place(RELIEF, 650, s.pressure_valve(external=False))
            + _notes(RELIEF + 56, 654, note, kind="small"),
        )
    )
    found.append(_gauge(PUMP, 560, "P", -1))
    if not unloading:
        found.append(_part("pump check valve", s.place(PUMP, 530, s.check())))
    else:
        branch = s.path(f"M{RELIEF} 600H{UNLOADING}V630", "work") + s.path(f"M{UNLOADING} 670V{DIP}", "return")
        pilot = s.path(f"M{PUMP} 470H{UNLOADING - 34}V650", "pilot") + s.dot(PUMP, 470)
        note = [
            *_wrapped(parts["unloading valve"]["choice"], 24, 2),
            f"out at {with_unit(design['supply_pressure_bar'], 'bar')}",
            f"in above {with_unit(design['lowest_rail_pressure_bar'], 'bar')}",
        ]
        found.append(
            _part(
                "unloading valve",
                branch
                + pilot
                + s.dot(RELIEF, 600)
                + s.place(UNLOADING, 650, s.pressure_valve(external=True))
                + s.place(PUMP, 530, s.check())
                + _notes(UNLOADING - 48, 644, ["X"], kind="port")
                + _notes(UNLOADING + 56, 640, note, kind="small"),
            )
        )
    return "".join(found)


def _motor(design: Mapping[str, Any], parts: Mapping[str, Any], x: float, y: float, speed_set: bool) -> str:
    text = [
        *_wrapped(words(design["centre"]["motor"]), 19, 3),
        f"rated {with_unit(parts['motor with electronics']['chosen'], parts['motor with electronics']['unit'], 3)}",
    ]
    control = ""
    if speed_set:
        control = (
            f'<rect class="solid" x="{x - 18}" y="{y - 82}" width="36" height="26"/>'
            + _notes(x, y - 65, ["p → n"], "middle", "small")
            + s.path(f"M{x} {y - 56}V{y - s.RADIUS:g}", "signal")
            + s.path(f"M{PUMP} 474H{PUMP - 40}")
            + s.dot(PUMP, 474)
            + s.place(PUMP - 51, 474, s.transducer("p"))
            + s.path(f"M{PUMP - 62} 474H{x}V{y - 82}", "signal")
            + s.arrow(x, y - 82, 0, 1, 4.5)
        )
    return _part(
        "motor with electronics",
        s.place(x, y, s.motor(speed_set)) + control + _notes(x, y + 42, text, "middle", "small"),
    )


def _store(design: Mapping[str, Any], parts: Mapping[str, Any]) -> str:
    centre = design["centre"]
    text = [
        *_wrapped(centre["accumulator"], 30, 2),
        f"precharge {with_unit(centre['precharge_bar'], 'bar')} at 20 °C",
        f"gives {with_unit(parts['accumulator']['chosen'], 'L', 3)}",
        f"stores {with_unit(centre['stored_energy_j'], 'J', 3)}",
    ]
    drawing = (
        s.path(f"M{STORE - 40} {RAIL_P}V586H{STORE}V572", "work")
        + s.place(STORE, 572, s.accumulator())
        + _notes(STORE + 28, 512, text, kind="small")
    )
    return _part("accumulator", drawing) + _notes(
        STORE - 40,
        606,
        ["Not drawn, not in the parts list: shut-off, vent,", "own relief and gauge; see the warnings."],
        kind="small",
    )


def _reservoir(design: Mapping[str, Any], parts: Mapping[str, Any]) -> str:
    right = (UNLOADING if "unloading valve" in parts else RELIEF) + 40
    tank = s.path(f"M{RETURN - 60} {RIM}V{FLOOR}H{right}V{RIM}")
    centre = design["centre"]
    volume = with_unit(centre["reservoir_volume_l"], "L")
    oil = f"{with_unit(centre['reservoir_oil_l'], 'L', 3)} of {design['medium_label']}"
    level = (
        s.path(f"M{RETURN - 60} {LEVEL}H{right}", "pilot")
        + '<path d="M318 875h12l-6 9z"/>'
        + _notes(right + 12, LEVEL + 6, _wrapped(oil, 64, 1), kind="small")
    )
    return _part("reservoir", tank + _notes(right + 12, FLOOR - 4, [f"reservoir {volume}"], kind="small")) + _part(
        "oil in the reservoir", level
    )


def _legend(design: Mapping[str, Any]) -> str:
    kinds = (
        ("work", "supply and working line"),
        ("return", "return"),
        ("pilot", "pilot, drain, oil level"),
        ("signal", "signal"),
    )
    found, x = [], 50
    for kind, text in kinds:
        found.append(s.path(f"M{x} 956h44", kind) + _notes(x + 52, 960, [text], kind="small"))
        x += 76 + 7 * len(text)
    found.append(s.dot(x + 4, 956) + _notes(x + 16, 960, ["joined; lines that only cross are not"], kind="small"))
    note = (
        "p pressure, s position, n speed. Pressures above atmosphere. At rest, not to scale. Symbols and port letters "
        "as ISO 1219-1 has them, most from memory; each part is drawn as often as it is fitted."
    )
    return f'<g data-item="legend">{"".join(found)}{_notes(50, 986, [note], kind="small")}</g>'
