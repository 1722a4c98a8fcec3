// The working page: starts from an example or blank, checks while one types, sizes, shows reports, compares, hands out
// files. Knows the service's addresses; all numbers and texts come from the service.

import { build, clearErrors, element, showDefaults, showErrors, useSchemas } from "/assets/form.js";
import { comparison, short } from "/assets/compare.js";
import { follow } from "/assets/job.js";

const at = (id) => document.getElementById(id);
const PAUSE = 450;
const kept = new Map();
let root;
let waiting;
let asked = 0;

async function call(path, options = {}) {
  const headers = { ...options.headers };
  if (at("token").value) headers.Authorization = `Bearer ${at("token").value}`;
  const reply = await fetch(path, { ...options, headers });
  if (reply.status === 401) for (const id of ["token", "token-label"]) at(id).hidden = false;
  return reply;
}

const post = (path, spec, headers = {}) => call(path, { method: "POST", headers: { "Content-Type": "application/json", ...headers }, body: JSON.stringify(spec) });

function say(text) { at("status").textContent = text; }

function sentence(error) {
  const allowed = Array.isArray(error.allowed) ? error.allowed.join(", ") : error.allowed;
  return [error.detail, allowed && `allowed: ${allowed}`, error.suggestion && `nearest: ${error.suggestion}`].filter(Boolean).join("; ");
}

function refuse(problem, move) {
  const { homeless, first } = showErrors(at("form"), problem.errors, sentence);
  const general = homeless.map((error) => sentence(error));
  if (!problem.errors.length) general.push(problem.detail);
  at("general").replaceChildren(...general.map((text) => element("p", { text })));
  if (move) (first ?? at("general")).focus?.();
}

async function check() {
  const mine = ++asked;
  const reply = await post("/v1/specs/check", root.read() ?? {});
  const answer = await reply.json();
  if (mine !== asked) return;
  clearErrors(document);
  if (reply.ok) showDefaults(at("form"), answer.defaults_used);
  else refuse(answer, false);
  say(reply.ok ? "The spec can be sized." : `${problemCount(answer)} to mend.`);
}
const problemCount = (problem) => `${Math.max(problem.errors.length, 1)} thing${problem.errors.length > 1 ? "s" : ""}`;

// what is under way: the job to cancel, once the service has named it
let underWay;

async function size() {
  clearTimeout(waiting);
  asked += 1;
  const spec = root.read() ?? {};
  const began = performance.now();
  at("size").disabled = true;
  at("work").hidden = false;
  showProgress("sent", 0);
  say("Sizing …");
  try {
    const answer = await sized(spec);
    clearErrors(document);
    if (answer.cancelled) {
      say("Cancelled; nothing was kept.");
      at("size").disabled = false;
      at("size").focus();
    } else if (answer.problem) {
      refuse(answer.problem, true);
      say(`Not sized: ${problemCount(answer.problem)} to mend.`);
    } else {
      kept.set(answer.id, answer);
      listSizings();
      await read(answer.id);
      say(`Sized in ${Math.round(performance.now() - began)} ms: ${answer.outcome.replaceAll("_", " ")}.`);
    }
  } catch (failure) {
    say(`Not sized: the service does not answer, or lost the work (${failure.message}).`);
  } finally {
    underWay = undefined;
    at("size").disabled = false;
    at("work").hidden = true;
    at("cancel").disabled = false;
  }
}

// the sizing of a spec, a problem, or word that it was cancelled
async function sized(spec) {
  let reply = await post("/v1/sizings", spec, { Prefer: "respond-async" });
  while (reply.status === 429 || reply.status === 503) {
    say("The service is busy or still getting ready; waiting for a place.");
    await new Promise((done) => setTimeout(done, 1000 * Number(reply.headers.get("Retry-After") ?? 2)));
    reply = await post("/v1/sizings", spec, { Prefer: "respond-async" });
  }
  const answer = await reply.json();
  if (!reply.ok) return { problem: answer };
  if (reply.status !== 202) return answer;
  underWay = answer.links.self;
  const job = await follow(call, answer, (told) => showProgress(told.progress.text, told.progress.share));
  if (job.state === "done") return (await call(job.result)).json();
  return job.state === "failed" ? { problem: job.problem } : { cancelled: true };
}

// the bar carries share and text for a screen reader, which reads them when it is asked; the status line stays quiet
function showProgress(text, share) {
  const percent = Math.round(100 * share);
  at("progress").value = share;
  at("progress").setAttribute("aria-valuetext", `${percent} %, ${text}`);
  at("doing").textContent = `${percent} %, ${text.replaceAll("_", " ")}`;
}

async function cancel() {
  at("cancel").disabled = true;
  if (underWay) await call(underWay, { method: "DELETE" });
  at("cancel").disabled = false;
}

const FILES = [["JSON", "", "json"], ["Parts CSV", "/parts?format=csv", "csv"], ["Circuit SVG", "/circuit", "svg"], ["Report", "/report", "html"]];

function listSizings() {
  at("results").hidden = false;
  const marked = new Set(markedIds());
  at("sizings").replaceChildren(...[...kept.values()].map((sizing) => {
    const name = sizing.name || "unnamed";
    const label = `${name}, ${sizing.id.slice(0, 6)}`;
    const box = element("input", { type: "checkbox", value: sizing.id, "aria-label": `Compare ${label}` });
    box.checked = marked.has(sizing.id) || kept.size <= 3;
    box.addEventListener("change", compare);
    const open = element("button", { type: "button", class: "small", text: "Read", "aria-label": `Read the report of ${label}` });
    open.addEventListener("click", () => read(sizing.id));
    const files = FILES.filter(([, path]) => sizing.design || !path).map(([text, path, ending]) => {
      const button = element("button", { type: "button", class: "small", text, "aria-label": `Download ${text} of ${label}` });
      button.addEventListener("click", () => download(`/v1/sizings/${sizing.id}${path}`, `ramwright-${sizing.id.slice(0, 8)}.${ending}`));
      return button;
    });
    const totals = sizing.design?.totals;
    return element("tr", {}, element("td", {}, box), element("td", {}, name, element("br"), element("span", { class: "faint", text: sizing.id.slice(0, 6) })),
      element("td", { text: sizing.outcome.replaceAll("_", " ") }), element("td", { class: "n", text: totals ? `${short(totals.mass_kg)} kg` : "–" }),
      element("td", { class: "n", text: totals ? `${short(totals.mean_power_w)} W` : "–" }), element("td", {}, open, ...files));
  }));
  compare();
}

const markedIds = () => [...at("sizings").querySelectorAll("input:checked")].map((box) => box.value);

function compare() {
  const chosen = markedIds().map((id) => kept.get(id));
  at("comparison").hidden = chosen.length < 2;
  if (chosen.length > 1) at("compared").replaceChildren(...comparison(chosen));
}

async function read(id) {
  const sizing = kept.get(id);
  at("reading").hidden = false;
  at("report").hidden = !sizing.design;
  at("no-design").hidden = Boolean(sizing.design);
  if (!sizing.design) {
    const reasons = sizing.search.unmet.map((miss) => element("li", { text: `${miss.concerns} ${miss.constraint.replaceAll("_", " ")}: ${miss.would_help}` }));
    at("no-design").replaceChildren(element("p", { text: "There is no design to show: an axle is asked no force." }), element("ul", {}, ...reasons));
    at("report-title").focus();
    return;
  }
  const reply = await call(`/v1/sizings/${id}/report`, { headers: { Accept: "text/html" } });
  const text = await reply.text();
  const frame = at("report");
  frame.title = `Report of ${sizing.name || "the sizing"}`;
  const fit = () => { frame.style.height = `${frame.contentDocument.documentElement.scrollHeight + 4}px`; };
  await new Promise((done) => {
    frame.addEventListener("load", () => { fit(); done(); }, { once: true });
    frame.srcdoc = text;
  });
  at("report-title").focus({ preventScroll: true });
  at("results").scrollIntoView();
}

async function download(path, name) {
  const reply = await call(path, { headers: { Accept: "*/*" } });
  const link = element("a", { href: URL.createObjectURL(await reply.blob()), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

function curl() {
  const body = JSON.stringify(root.read() ?? {}, null, 1).replaceAll("'", "'\\''");
  const token = at("token").value ? " \\\n  -H \"Authorization: Bearer $RAMWRIGHT_TOKEN\"" : "";
  const text = `curl -s ${location.origin}/v1/sizings \\\n  -H 'Content-Type: application/json'${token} \\\n  -d '${body}'`;
  at("curl-text").textContent = text;
  at("curl-text").hidden = false;
  navigator.clipboard?.writeText(text).then(() => say("Copied."), () => say("The command stands below, to be copied by hand."));
}

async function start(name) {
  const spec = name ? await (await call(`/v1/examples/${name}`)).json() : undefined;
  root.write(spec);
  toJson();
  await check();
}

function toJson() { at("json").value = JSON.stringify(root.read() ?? {}, null, 2); }

function takeJson() {
  try {
    root.write(JSON.parse(at("json").value));
    check();
  } catch (failure) {
    say(`That is not JSON: ${failure.message}`);
  }
}

async function open() {
  const [contract, examples, media] = await Promise.all(["/openapi.json", "/v1/examples", "/v1/media"].map((path) => call(path).then((reply) => reply.json())));
  useSchemas(contract.components.schemas);
  root = build({ $ref: "#/components/schemas/Spec" }, undefined, "", true);
  at("form").append(root.dom);
  if (!examples.examples) { refuse(examples, false); return; }
  at("start").append(...examples.examples.map(({ name, title }) => element("option", { value: name, text: title })));
  const names = element("datalist", { id: "media" }, element("option", { value: "auto", text: "try each" }),
    ...media.media.map(({ id, label }) => element("option", { value: id, text: label })));
  at("form").append(names);
  at("form").querySelector('[data-pointer="/medium"]')?.setAttribute("list", "media");
  at("start").addEventListener("change", () => start(at("start").value));
  at("form").addEventListener("submit", (event) => { event.preventDefault(); size(); });
  for (const kind of ["input", "change"]) {
    at("form").addEventListener(kind, () => { clearTimeout(waiting); waiting = setTimeout(() => { toJson(); check(); }, PAUSE); });
  }
  at("cancel").addEventListener("click", cancel);
  at("curl").addEventListener("click", curl);
  at("take-json").addEventListener("click", takeJson);
  addEventListener("resize", () => { const page = at("report").contentDocument; if (page) at("report").style.height = `${page.documentElement.scrollHeight + 4}px`; });
  root.write(undefined);
  toJson();
  document.body.dataset.ready = "true";
}

at("token").addEventListener("change", () => { if (!document.body.dataset.ready) { at("form").replaceChildren(); open(); } });
open();
