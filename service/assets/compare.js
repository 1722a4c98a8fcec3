// Sizings side by side: a table of their main numbers and every part. Knows how to line them up; judges nothing.

import { element } from "/assets/form.js";

export function short(value) {
  if (typeof value !== "number") return value ?? "–";
  return String(Number(value.toPrecision(4)));
}

const NUMBERS = [
  ["Mass", "kg", (s) => s.design?.totals.mass_kg],
  ["Mean electric power", "W", (s) => s.design?.totals.mean_power_w],
  ["Peak electric power", "W", (s) => s.design?.totals.peak_power_w],
  ["Peak current", "A", (s) => s.design?.totals.peak_current_a],
  ["Standing by", "W", (s) => s.design?.totals.standby_power_w],
  ["Run time", "h", (s) => s.design?.totals.run_time_h],
  ["Supply pressure", "bar", (s) => s.design?.supply_pressure_bar],
  ["Pump flow", "L/min", (s) => s.design?.centre.pump_flow_l_min],
  ["Heat into the oil", "W", (s) => s.design?.centre.heat_to_oil_w],
  ["Oil temperature", "°C", (s) => s.design?.centre.oil_temperature_c],
];

const counts = (sizing) => {
  const found = {};
  for (const warning of sizing.warnings) found[warning.signal_word] = (found[warning.signal_word] ?? 0) + 1;
  return ["danger", "warning", "caution", "notice"].filter((word) => found[word]).map((word) => `${found[word]} ${word}`).join(", ") || "none";
};

const partOf = (sizing, name) => {
  const part = sizing.design?.parts.find((candidate) => candidate.part === name);
  return part ? `${part.count > 1 ? `${part.count} × ` : ""}${part.choice.replaceAll("_", " ")}, ${short(part.mass_kg)} kg` : "–";
};

function row(label, values) {
  const [first, ...others] = values;
  return element("tr", {}, element("th", { scope: "row", text: label }), element("td", { text: first }),
    ...others.map((value) => element("td", { class: value === first ? undefined : "differs", text: value })));
}

const heading = (text, width) => element("tr", { class: "group" }, element("th", { scope: "colgroup", colspan: width + 1, text }));

export function comparison(sizings) {
  const head = element("thead", {}, element("tr", {}, element("td"),
    ...sizings.map((s) => element("th", { scope: "col" }, s.name || "unnamed", element("br"), element("span", { class: "faint", text: s.id.slice(0, 6) })))));
  const parts = [...new Set(sizings.flatMap((s) => (s.design?.parts ?? []).map((part) => part.part)))];
  const body = element("tbody", {},
    row("Outcome", sizings.map((s) => s.outcome.replaceAll("_", " "))),
    ...NUMBERS.map(([label, unit, get]) => row(label, sizings.map((s) => ((get(s) ?? null) === null ? "–" : `${short(get(s))} ${unit}`)))),
    row("Warnings", sizings.map(counts)),
    row("Pump control", sizings.map((s) => s.design?.centre.control ?? "–")),
    row("Medium", sizings.map((s) => s.design?.medium_label ?? "–")),
    row("Decided by", sizings.map((s) => s.search.binding.join("; ").replaceAll("_", " ") || "–")),
    heading("Parts", sizings.length),
    ...parts.map((name) => row(name, sizings.map((s) => partOf(s, name)))));
  return [element("caption", { class: "faint", text: "≠ marks what differs from the first" }), head, body];
}
