// A form built from a JSON schema. Knows how a schema becomes fields and how a document is read from them; knows no
// spec in particular. Each field carries the JSON pointer of its value, so that an error finds its place.

let schemas = {};
let serial = 0;

export function useSchemas(all) { schemas = all; }

const element = (tag, attributes = {}, ...children) => {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name === "text") made.textContent = value;
    else if (value !== undefined && value !== false) made.setAttribute(name, value === true ? "" : value);
  }
  made.append(...children);
  return made;
};
export { element };

function resolve(schema) {
  let found = schema ?? {};
  while (found.$ref) found = { ...schemas[found.$ref.split("/").pop()], ...withoutRef(found) };
  const branches = (found.anyOf ?? []).map(resolve).filter((branch) => branch.type !== "null");
  if (found.anyOf && branches.length === 1) return { ...branches[0], ...without(found, "anyOf"), optional: true };
  if (found.anyOf) return { ...found, anyOf: branches };
  if (found.allOf?.length === 1) return { ...resolve(found.allOf[0]), ...without(found, "allOf") };
  return found;
}
const without = (record, name) => Object.fromEntries(Object.entries(record).filter(([key]) => key !== name));
const withoutRef = (record) => without(record, "$ref");

// A name of the wire ends with its unit; the label leaves that out, since the unit stands beside it.
export function title(name, unit) {
  const bare = (unit ?? "").replace("1/", "per").replace("°C", "c").replace("°", "deg").replace("µ", "u").replace("²", "2").replace("³", "3")
    .replace(/[^a-z0-9]/gi, "").toLowerCase();
  const steps = name.split("_");
  const end = bare ? steps.findIndex((_, i) => i > 0 && steps.slice(i).join("") === bare) : -1;
  const text = (end > 0 ? steps.slice(0, end) : steps).join(" ").replace(/^cg /, "centre of gravity ");
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function unitOf(part) {
  const found = resolve(part);
  return found["x-unit"] ?? (found.items ? resolve(found.items)["x-unit"] : undefined);
}

function limits(schema) {
  const { minimum: low, maximum: high } = schema;
  if (low !== undefined && high !== undefined) return `${plain(low)} to ${plain(high)}`;
  if (low !== undefined) return `at least ${plain(low)}`;
  return high !== undefined ? `at most ${plain(high)}` : "";
}

// digits in threes and a true minus sign
const plain = (value) => value.toLocaleString("en", { maximumFractionDigits: 9 }).replaceAll(",", "\u202f").replace("-", "−");

const escaped = (step) => String(step).replaceAll("~", "~0").replaceAll("/", "~1");

// A node: `dom` to show, `read()` the value or undefined, `write(value)`.
export function build(schema, name, pointer, required) {
  const found = resolve(schema);
  if (found.oneOf || (found.anyOf && found.anyOf.every((branch) => resolve(branch).properties?.kind))) return chosen(found, name, pointer, required);
  if (found.anyOf) return either(found, name, pointer, required);
  if (found.properties) return group(found, name, pointer, required);
  if (found.type === "array" && resolve(found.items).properties) return list(found, name, pointer);
  if (found.type === "array" && (resolve(found.items).oneOf || resolve(found.items).anyOf)) return list(found, name, pointer);
  if (found.type === "array") return several(found, name, pointer);
  return field(found, name, pointer, required);
}

function framed(label, schema, pointer, control, help) {
  const unit = unitOf(schema);
  const errors = element("div", { class: "errors", id: `${control.id}-errors` });
  control.setAttribute("aria-describedby", `${control.id}-help ${control.id}-errors`);
  control.dataset.pointer = pointer;
  return element("div", { class: "field", "data-at": pointer },
    element("label", { for: control.id }, label, ...(unit && unit !== "1" ? [element("span", { class: "unit", text: ` ${unit}` })] : [])),
    control, element("p", { class: "help", id: `${control.id}-help`, text: help }), errors);
}

const words = (value) => String(value).replaceAll("_", " ").replace("true", "yes").replace("false", "no");

function field(schema, name, pointer, required) {
  const id = `f${++serial}`;
  const label = title(name, unitOf(schema));
  if (schema.const !== undefined) return { dom: element("span", { hidden: true }), read: () => (required ? schema.const : undefined), write() {}, empty: () => true };
  const fallback = schema.default !== undefined && schema.default !== null ? String(schema.default) : "";
  const bounds = limits(schema);
  const help = [schema.description, bounds && `(${bounds})`, required && "(needed)"].filter(Boolean).join(" ");
  let control;
  if (schema.enum || schema.type === "boolean") {
    const values = schema.enum ?? [true, false];
    control = element("select", { id },
      element("option", { value: "", text: fallback ? `default: ${words(fallback)}` : required ? "choose" : "–" }),
      ...values.map((value) => element("option", { value: JSON.stringify(value), text: words(value) })));
    return {
      dom: framed(label, schema, pointer, control, help),
      read: () => (control.value === "" ? undefined : JSON.parse(control.value)),
      write: (value) => { control.value = value === undefined ? "" : JSON.stringify(value); },
    };
  }
  const isNumber = schema.type === "number" || schema.type === "integer";
  control = element("input", { id, type: "text", inputmode: isNumber ? "decimal" : undefined, placeholder: fallback, autocomplete: "off" });
  control.dataset.fallback = fallback;
  return {
    dom: framed(label, schema, pointer, control, help),
    read: () => (control.value.trim() === "" ? undefined : isNumber ? asNumber(control.value) : control.value),
    write: (value) => { control.value = value === undefined ? "" : String(value); },
  };
}

// what is no number is sent as it stands, and the service says what is wrong with it
function asNumber(text) {
  const value = Number(text.trim().replace(",", "."));
  return Number.isFinite(value) ? value : text;
}

function several(schema, name, pointer) {
  const id = `f${++serial}`;
  const item = resolve(schema.items);
  const control = element("input", { id, type: "text", autocomplete: "off" });
  const allowed = item.enum ? `any of ${item.enum.join(", ").replaceAll("_", " ")}` : item.type === "boolean" ? "true, false" : limits(item);
  const help = [schema.description ?? "", `Several, separated by blanks${allowed ? ` (${allowed})` : ""}`].filter(Boolean).join(". ");
  const parse = (text) => (item.type === "number" || item.type === "integer" ? asNumber(text) : item.type === "boolean" && /^(true|false)$/.test(text) ? text === "true" : text);
  return {
    dom: framed(title(name, unitOf(schema)), schema, pointer, control, help),
    read: () => { const parts = control.value.split(/[\s;]+/).filter(Boolean); return parts.length ? parts.map(parse) : undefined; },
    write: (value) => { control.value = value === undefined ? "" : value.join(" "); },
  };
}

function membersOf(schema, pointer) {
  const needed = new Set(schema.required ?? []);
  return Object.entries(schema.properties).map(([key, part]) => [key, build(part, key, `${pointer}/${escaped(key)}`, needed.has(key))]);
}

function readMembers(members) {
  const found = {};
  for (const [key, node] of members) {
    const value = node.read();
    if (value !== undefined) found[key] = value;
  }
  return found;
}
// whether a node holds nothing the user gave
const isEmpty = (node) => (node.empty ? node.empty() : node.read() === undefined);

function group(schema, name, pointer, required) {
  const members = membersOf(schema, pointer);
  const grid = element("div", { class: "fields" }, ...members.map(([, node]) => node.dom));
  const errors = element("div", { class: "errors" });
  const about = schema.description ? [element("p", { class: "help", text: schema.description })] : [];
  const dom = required || name === undefined
    ? element("fieldset", { "data-at": pointer }, ...(name ? [element("legend", { text: title(name) })] : []), ...about, errors, grid)
    : element("details", { "data-at": pointer }, element("summary", { text: title(name) }), ...about, errors, grid);
  return {
    dom,
    empty: () => members.every(([, node]) => isEmpty(node)),
    read: () => (!required && members.every(([, node]) => isEmpty(node)) ? undefined : readMembers(members)),
    write: (value) => {
      for (const [key, node] of members) node.write(value?.[key]);
      if (value !== undefined && dom.tagName === "DETAILS") dom.open = true;
    },
  };
}

function list(schema, name, pointer) {
  let nodes = [];
  const rows = element("div");
  const errors = element("div", { class: "errors" });
  const add = element("button", { type: "button", class: "small", text: `Add to ${title(name).toLowerCase()}` });
  const dom = element("fieldset", { class: "list", "data-at": pointer }, element("legend", { text: title(name) }), errors, rows, add);
  const show = (values) => {
    nodes = values.map((value, index) => {
      const node = build(schema.items, `${name} ${index + 1}`, `${pointer}/${index}`, true);
      node.write(value);
      return node;
    });
    rows.replaceChildren(...nodes.map((node, index) => {
      const remove = element("button", { type: "button", class: "small", text: `Remove ${title(name).toLowerCase()} ${index + 1}` });
      remove.addEventListener("click", () => { const kept = nodes.map((n) => n.read()); kept.splice(index, 1); show(kept); add.focus(); changed(dom); });
      return element("div", {}, node.dom, ...(nodes.length > 1 ? [remove] : []));
    }));
  };
  add.addEventListener("click", () => {
    show([...nodes.map((node) => node.read()), undefined]);
    rows.lastElementChild.querySelector("input, select")?.focus();
    changed(dom);
  });
  return { dom, empty: () => nodes.every(isEmpty), read: () => (nodes.length ? nodes.map((node) => node.read()) : undefined), write: (value) => show(value ?? [undefined]) };
}
const changed = (dom) => dom.dispatchEvent(new Event("change", { bubbles: true }));

// one of several records told apart by their `kind`
function chosen(schema, name, pointer) {
  const branches = (schema.oneOf ?? schema.anyOf).map(resolve);
  const kinds = branches.map((branch) => resolve(branch.properties.kind)).map((kind) => kind.const ?? kind.enum?.[0]);
  const select = element("select", { id: `f${++serial}` }, ...kinds.map((kind) => element("option", { value: kind, text: kind.replaceAll("_", " ") })));
  const inner = element("div");
  let node;
  const show = (kind, value) => {
    select.value = kind;
    node = build(branches[kinds.indexOf(kind)], name, pointer, true);
    node.write(value);
    inner.replaceChildren(node.dom);
  };
  select.addEventListener("change", () => show(select.value, undefined));
  const dom = element("div", { class: "list" }, framed("Kind", {}, `${pointer}/kind`, select, ""), inner);
  show(kinds[0], undefined);
  return { dom, empty: () => isEmpty(node), read: () => ({ ...node.read(), kind: select.value }), write: (value) => show(kinds.includes(value?.kind) ? value.kind : kinds[0], value) };
}

// a name or a record of one's own
function either(schema, name, pointer, required) {
  const record = schema.anyOf.map(resolve).find((branch) => branch.properties);
  const text = field({ ...without(schema, "anyOf"), type: "string" }, name, pointer, required);
  if (!record) return text;
  const own = group(record, `own ${name}`, pointer, false);
  const dom = element("div", { class: "list fields" }, text.dom, own.dom);
  return {
    dom,
    empty: () => isEmpty(own) && isEmpty(text),
    read: () => own.read() ?? text.read(),
    write: (value) => {
      const isRecord = typeof value === "object" && value !== null;
      text.write(isRecord ? undefined : value);
      own.write(isRecord ? value : undefined);
    },
  };
}

export function clearErrors(root) {
  for (const slot of root.querySelectorAll(".errors")) slot.replaceChildren();
  for (const wrong of root.querySelectorAll(".wrong")) wrong.classList.remove("wrong");
  for (const control of root.querySelectorAll("[aria-invalid]")) control.removeAttribute("aria-invalid");
}

// Show each error at its pointer or the nearest place above it; returns those that found no place, and the first control.
export function showErrors(root, errors, text) {
  const places = new Map([...root.querySelectorAll("[data-at]")].map((place) => [place.dataset.at, place]));
  const homeless = [];
  let first;
  for (const error of errors) {
    let pointer = error.pointer;
    while (pointer && !places.has(pointer)) pointer = pointer.slice(0, pointer.lastIndexOf("/"));
    const place = pointer ? places.get(pointer) : undefined;
    if (!place) { homeless.push(error); continue; }
    place.querySelector(".errors").append(element("p", { text: text(error) }));
    place.classList.toggle("wrong", place.classList.contains("field"));
    for (let above = place; above && above !== root; above = above.parentElement) if (above.tagName === "DETAILS") above.open = true;
    const control = place.querySelector("input, select");
    if (place.classList.contains("field")) control?.setAttribute("aria-invalid", "true");
    first ??= control;
  }
  return { homeless, first };
}

export function showDefaults(root, used) {
  for (const control of root.querySelectorAll("input[data-fallback]")) control.placeholder = control.dataset.fallback;
  for (const { pointer, value } of used) {
    const choice = root.querySelector(`select[data-pointer="${CSS.escape(pointer)}"] option[value=""]`);
    if (choice) choice.textContent = `default: ${words(value)}`;
    const control = root.querySelector(`input[data-pointer="${CSS.escape(pointer)}"]`);
    if (control) control.placeholder = typeof value === "number" ? String(Number(value.toPrecision(5))) : String(value);
  }
}
