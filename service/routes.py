"""Every address of the service on one page. A route reads, calls and replies; it never calculates."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Annotated, Any, Literal, cast

from flask import Response, current_app, render_template, request
from flask_openapi3 import APIBlueprint, OpenAPI
from pydantic import BaseModel, Field

from models.quantity import ZERO_CELSIUS, OutOfRange, on_wire, to_wire
from service import comparisons, jobs, ready_specs, reference
from service.contract import COMPARISON_BODY, PREFER, SPEC_BODY, document, posted, replies
from service.differ import compare
from service.identity import versions
from service.job_book import Job
from service.problems import KINDS, Problem, outside_data
from service.proofs import find_or_prove
from service.reading import DEEPEST, LARGEST_BODY
from service.report import show
from service.sizings import check, demand, find_or_queue, find_or_size
from service.store import Stored
from service.turnstile import PLACES, WAITING, WAITING_OF_ONE_CALLER
from service.web import (
    EVENTS,
    WATCHERS,
    Query,
    asset_reply,
    caller,
    events_reply,
    job_reply,
    json_reply,
    office,
    posted_comparison,
    posted_spec,
    rendered_reply,
    sizing_reply,
    wants_job,
)


def _app() -> OpenAPI:
    return cast(OpenAPI, current_app)


routes = APIBlueprint("ramwright", __name__)

JSON, PAGE, CSV, SVG = "application/json", "text/html", "text/csv", "image/svg+xml"

OFFERED: Mapping[str, tuple[str, ...]] = {
    "docs": (PAGE,),
    "work_page": (PAGE,),
    "asset": ("text/css", "text/javascript"),
    "get_sizing": (JSON, PAGE, CSV, SVG),
    "get_report": (PAGE,),
    "get_parts": (JSON, CSV),
    "get_circuit": (SVG,),
    "get_plot": (SVG, CSV),
    "get_comparison_plot": (SVG, CSV),
    "get_proof": (JSON, CSV),
    "get_job_events": (EVENTS,),
}
"""Media types of routes that answer with more or other than JSON, the usual one first."""

MOST_SEEDS, MOST_SECONDS = 20, 300.0
"""Of a proof run again on request."""

FORMATS: Mapping[str, str] = {"json": JSON, "html": PAGE, "csv": CSV, "svg": SVG}
"""Values of `format` and their media types."""


class IdPath(BaseModel):
    id: str = Field(description="Id")


class NamePath(BaseModel):
    name: str = Field(description="Name")


class PlotPath(BaseModel):
    id: str = Field(description="Id")
    name: str = Field(description="Name of a plot, as the address of all plots lists it")


class FormatQuery(Query):
    format: Literal["json", "html", "csv", "svg"] | None = Field(
        default=None, description="Format of the reply, before what Accept asks for; not every address has each"
    )


class AgainstQuery(FormatQuery):
    against: str | None = Field(default=None, description="Id of another sizing: the reply lists what differs")


class ProofQuery(FormatQuery):
    seeds: Annotated[int, Field(ge=1, le=MOST_SEEDS, description="Random courses of each random duty")] = 1
    duration: Annotated[float, on_wire("s", 20.0, MOST_SECONDS, "Seconds of driving of each random course")] = 20.0


class PreferHeader(BaseModel):
    """Stands for `PREFER` where an operation has other parameters too; `wants_job` reads it."""

    prefer: str | None = Field(default=None, alias="Prefer", description=PREFER["parameters"][0]["description"])


class StateQuery(Query):
    temperature: Annotated[float, on_wire("c", -100.0, 400.0, "Temperature")] = ZERO_CELSIUS + 40.0
    pressure: Annotated[float, on_wire("bar", -1.0, 1_000.0, "Gauge pressure")] = 0.0


@routes.post(
    "/v1/sizings",
    summary="Size a spec, or find the sizing of the same spec",
    openapi_extensions=SPEC_BODY | PREFER,
    responses=posted(
        (201, "A new sizing, its address in Location", "Sizing"),
        (200, "The sizing of the same spec, as it was first answered", "Sizing"),
        (202, "A job, its address in Location: with `Prefer: respond-async`, or where it takes some seconds", "Job"),
        problems=(429, 503),
    ),
)
def post_sizing() -> Response:
    office().need_ready()
    posted = posted_spec()
    if wants_job():
        found = find_or_queue(posted, caller(), office().rooms, office().jobs)
        return job_reply(found, 202) if isinstance(found, Job) else sizing_reply(found, 200)
    sized = find_or_size(posted, caller(), office().rooms, office().turnstile, office().jobs)
    if isinstance(sized, Job):
        return job_reply(sized, 202)
    stored, is_new = sized
    return sizing_reply(stored, 201 if is_new else 200)


@routes.get(
    "/v1/sizings/<id>",
    summary="A sizing, or what differs between it and another",
    responses=replies(
        (200, "The sizing, its report, parts list or circuit; with `against`, a Comparison", "SizingOrComparison"),
        (304, "The caller holds it already", None),
        problems=(422,),
    ),
)
def get_sizing(path: IdPath, query: AgainstQuery) -> Response:
    this = _kept(path.id)
    if query.against is not None:
        return json_reply(to_wire(compare(json.loads(this.body), json.loads(_kept(query.against).body))))
    kind = _wanted(query.format)
    if kind == JSON:
        return sizing_reply(this, 200)
    render = {PAGE: show.report, CSV: show.parts_csv, SVG: show.circuit_svg}[kind]
    return rendered_reply(this, kind, render(_designed(this)))


@routes.get(
    "/v1/sizings/<id>/report",
    summary="The report of a sizing: a page to read and print that needs nothing else",
    responses=replies((200, "A page", "html"), (304, "The caller holds it already", None)),
)
def get_report(path: IdPath) -> Response:
    this = _kept(path.id)
    return rendered_reply(this, PAGE, show.report(_designed(this)))


@routes.get(
    "/v1/sizings/<id>/parts",
    summary="The parts list, as JSON or as CSV with bare numbers and units in the header",
    responses=replies((200, "The parts", "PartList"), (304, "The caller holds it already", None), problems=(422,)),
)
def get_parts(path: IdPath, query: FormatQuery) -> Response:
    this = _kept(path.id)
    if _wanted(query.format) == CSV:
        return rendered_reply(this, CSV, show.parts_csv(_designed(this)))
    return json_reply({"id": path.id, "parts": _designed(this)["design"]["parts"]})


@routes.get(
    "/v1/sizings/<id>/circuit",
    summary="The circuit drawing",
    responses=replies((200, "An SVG drawing", "svg"), (304, "The caller holds it already", None)),
)
def get_circuit(path: IdPath) -> Response:
    this = _kept(path.id)
    return rendered_reply(this, SVG, show.circuit_svg(_designed(this)))


@routes.get(
    "/v1/sizings/<id>/plots",
    summary="The plots of a sizing",
    responses=replies((200, "Names, titles and addresses", "PlotList")),
)
def list_plots(path: IdPath) -> Response:
    return json_reply(show.plot_list(path.id, f"/v1/sizings/{path.id}", _designed(_kept(path.id))))


@routes.get(
    "/v1/sizings/<id>/plots/<name>",
    summary="A plot as SVG, or its numbers as CSV",
    responses=replies((200, "An SVG drawing", "svg"), (304, "The caller holds it already", None), problems=(422,)),
)
def get_plot(path: PlotPath, query: FormatQuery) -> Response:
    this = _kept(path.id)
    return _plot_reply(this, _designed(this), path.name, query.format)


@routes.get(
    "/v1/sizings/<id>/proof",
    summary="The proof in time: verdict, limits, events and traces, as JSON or in columns; run again over more seeds",
    responses=replies(
        (200, "The proof", "ProofPage"),
        (202, "A job, its address in Location: a proof run again for long, or with `Prefer: respond-async`", "Job"),
        (304, "The caller holds it already", None),
        problems=(422, 429, 503),
    ),
)
def get_proof(path: IdPath, query: ProofQuery, header: PreferHeader) -> Response:
    sizing = _kept(path.id)
    stored = office().proofs.get(caller(), path.id)
    if stored is None:
        raise Problem("not-found", "no design of this sizing meets its spec, so none was run in time")
    as_csv = _wanted(query.format) == CSV
    if query.seeds > 1 or query.duration > 20.0:
        office().need_ready()
        found = find_or_prove(
            json.loads(sizing.body), query.seeds, query.duration, caller(), office().rooms, office().turnstile,
            office().jobs, wants_job(),
        )  # fmt: skip
        if isinstance(found, Job):
            return job_reply(found, 202)
        stored = found
    return rendered_reply(stored, CSV, show.proof_csv(json.loads(stored.body))) if as_csv else sizing_reply(stored, 200)


def _plot_reply(stored: Stored, shown: Mapping[str, Any], name: str, format: str | None) -> Response:
    plot = show.plots_of(shown).get(name)
    if plot is None:
        raise Problem("not-found", f"there is no plot {name[:80]!r}; its address without the name lists them")
    kind = _wanted(format)
    return rendered_reply(stored, kind, plot.csv if kind == CSV else plot.svg)


def _wanted(format: str | None) -> str:
    offered = OFFERED[str(request.endpoint).rsplit(".", 1)[-1]]
    if format is None:
        return (request.accept_mimetypes.best_match(offered) if request.accept_mimetypes else None) or offered[0]
    if FORMATS[format] not in offered:
        raise Problem("not-acceptable", f"this address answers with {' or '.join(offered)}")
    return FORMATS[format]


def _kept(id: str) -> Stored:
    stored = office().store.get(caller(), id)
    if stored is None:
        raise Problem("not-found", "there is no sizing of that id, or it is not yours")
    return stored


def _designed(stored: Stored) -> dict[str, Any]:
    """The sizing, when it has a design to show: a demand that asks nothing has none."""
    sizing: dict[str, Any] = json.loads(stored.body)
    if sizing["design"] is None:
        raise Problem("not-found", "the actuators of this sizing are asked nothing, so there is no design to show")
    return sizing


@routes.post(
    "/v1/demands",
    summary="What the actuators must do, without a sizing; all arrangements where the spec names none",
    openapi_extensions=SPEC_BODY,
    responses=posted((200, "The demand", "DemandAnswer"), problems=(429, 503)),
)
def post_demand() -> Response:
    office().need_ready()
    return json_reply(demand(posted_spec(), caller(), office().turnstile))


@routes.post(
    "/v1/comparisons",
    summary="Hydraulic against all-electric on one demand; with an axis, where one overtakes the other",
    openapi_extensions=COMPARISON_BODY | PREFER,
    responses=posted(
        (201, "A new comparison, its address in Location", "ComparisonAnswer"),
        (200, "The comparison of the same request, as it was first answered", "ComparisonAnswer"),
        (202, "With `Prefer: respond-async`, where it is not stored yet: a job, its address in Location", "Job"),
        problems=(429, 503),
    ),
)
def post_comparison() -> Response:
    office().need_ready()
    posted = posted_comparison()
    if wants_job():
        found = comparisons.find_or_queue(posted, caller(), office().comparisons, office().jobs)
        return job_reply(found, 202) if isinstance(found, Job) else sizing_reply(found, 200, "comparisons")
    stored, is_new = comparisons.find_or_compare(posted, caller(), office().comparisons, office().turnstile)
    return sizing_reply(stored, 201 if is_new else 200, "comparisons")


@routes.get(
    "/v1/comparisons/<id>",
    summary="A comparison",
    responses=replies((200, "The comparison", "ComparisonAnswer"), (304, "The caller holds it already", None)),
)
def get_comparison(path: IdPath) -> Response:
    return sizing_reply(_compared(path.id), 200)


def _compared(id: str) -> Stored:
    stored = office().comparisons.get(caller(), id)
    if stored is None:
        raise Problem("not-found", "there is no comparison of that id, or it is not yours")
    return stored


@routes.get(
    "/v1/comparisons/<id>/plots",
    summary="The plots of a comparison: both sides along each axis it walked",
    responses=replies((200, "Names, titles and addresses", "PlotList")),
)
def list_comparison_plots(path: IdPath) -> Response:
    shown = json.loads(_compared(path.id).body)
    return json_reply(show.plot_list(path.id, f"/v1/comparisons/{path.id}", shown))


@routes.get(
    "/v1/comparisons/<id>/plots/<name>",
    summary="A plot of a comparison as SVG, or its numbers as CSV",
    responses=replies((200, "An SVG drawing", "svg"), (304, "The caller holds it already", None), problems=(422,)),
)
def get_comparison_plot(path: PlotPath, query: FormatQuery) -> Response:
    stored = _compared(path.id)
    return _plot_reply(stored, json.loads(stored.body), path.name, query.format)


@routes.post(
    "/v1/specs/check",
    summary="The effective spec with each default used; nothing is computed",
    openapi_extensions=SPEC_BODY,
    responses=posted((200, "The spec as it would be sized", "CheckedSpec")),
)
def check_spec() -> Response:
    return json_reply(check(posted_spec()))


@routes.get(
    "/v1/jobs/<id>",
    summary="A job: its state, how far it has come, and where its result stands",
    responses=replies((200, "The job", "Job")),
)
def get_job(path: IdPath) -> Response:
    return job_reply(office().jobs.get(caller(), path.id), 200)


@routes.get(
    "/v1/jobs/<id>/events",
    summary="A job as server-sent events: each one the job, whenever it has changed, until it has ended",
    responses=replies(
        (200, "A stream of events", "events"),
        (204, "The caller has had the last event", None),
        problems=(503,),
    ),
)
def get_job_events(path: IdPath) -> Response:
    return events_reply(caller(), path.id)


@routes.delete(
    "/v1/jobs/<id>",
    summary="Cancel a job",
    responses=replies(
        (200, "It was still waiting and is cancelled", "Job"),
        (202, "It runs, and is asked to stop; it may still get done", "Job"),
        problems=(409,),
    ),
)
def cancel_job(path: IdPath) -> Response:
    job = office().jobs.cancel(caller(), path.id)
    return job_reply(job, 200 if job.ended else 202)


@routes.get("/v1/media", summary="The media a spec may name", responses=replies((200, "Media", "MediumList")))
def list_media() -> Response:
    return json_reply(to_wire(reference.media_list()))


@routes.get(
    "/v1/media/<id>",
    summary="A medium's data, and its state at a pressure and temperature",
    responses=replies((200, "The medium", "MediumPage"), problems=(422,)),
)
def get_medium(path: IdPath, query: StateQuery) -> Response:
    try:
        return json_reply(to_wire(reference.medium_page(path.id, query.pressure, query.temperature)))
    except OutOfRange as error:
        raise outside_data(error, "/temperature_c", place="query") from None


@routes.get("/v1/tables", summary="The tables the search draws on", responses=replies((200, "Tables", "TableList")))
def list_tables() -> Response:
    return json_reply(to_wire(reference.table_list()))


@routes.get("/v1/tables/<name>", summary="A table", responses=replies((200, "The table", "TablePage")))
def get_table(path: NamePath) -> Response:
    return json_reply(to_wire(reference.table_page(path.name)))


@routes.get("/v1/sources", summary="Citations", responses=replies((200, "Citations", "SourceList")))
def list_sources() -> Response:
    return json_reply(to_wire(reference.source_list()))


@routes.get("/v1/sources/<id>", summary="A citation", responses=replies((200, "The citation", "SourcePage")))
def get_source(path: IdPath) -> Response:
    return json_reply(to_wire(reference.source_page(path.id)))


@routes.get("/v1/examples", summary="Ready specs", responses=replies((200, "Ready specs", "ExampleList")))
def list_examples() -> Response:
    return json_reply(to_wire(ready_specs.example_list()))


@routes.get(
    "/v1/examples/<name>", summary="A ready spec, to be posted as it is", responses=replies((200, "The spec", "Spec"))
)
def get_example(path: NamePath) -> Response:
    return json_reply(ready_specs.example(path.name))


@routes.get("/v1/about", summary="Versions and limits", responses=replies((200, "Versions and limits", "About")))
def about() -> Response:
    limits = {
        "body_bytes": LARGEST_BODY,
        "nesting_levels": DEEPEST,
        "sizings_at_once": PLACES,
        "sizings_waiting": WAITING,
        "sizings_waiting_of_one_caller": WAITING_OF_ONE_CALLER,
        "jobs_at_once": jobs.THREADS,
        "jobs_waiting": jobs.WAITING,
        "jobs_waiting_of_one_caller": jobs.WAITING_OF_ONE_CALLER,
        "event_streams": WATCHERS,
    }
    of = versions()
    return json_reply(
        {
            "name": "ramwright",
            "model_version": of.model,
            "data_version": of.data,
            "licence": "MIT",
            "limits": limits,
            "links": {"page": "/", "docs": "/docs", "contract": "/openapi.json", "examples": "/v1/examples"},
        }
    )


@routes.get("/livez", summary="Whether the service runs", responses=replies((200, "It runs", "Status")))
def live() -> Response:
    return json_reply({"status": "live"})


@routes.get(
    "/readyz",
    summary="Whether the service can size",
    responses=replies((200, "It can", "Status"), problems=(503,)),
)
def ready() -> Response:
    office().need_ready()
    return json_reply({"status": "ready"})


@routes.get("/openapi.json", summary="This contract", responses=replies((200, "The OpenAPI document", "Contract")))
def contract() -> Response:
    return json_reply(document(_app()))


@routes.get("/", summary="A page to work with", responses=replies((200, "A page", "html")))
def work_page() -> Response:
    return asset_reply("work.html")


@routes.get(
    "/assets/<name>",
    summary="A file the page needs",
    responses=replies((200, "A style sheet or a script", None), (304, "The caller holds it already", None)),
)
def asset(path: NamePath) -> Response:
    return asset_reply(path.name)


@routes.get("/docs", summary="This contract as a page", responses=replies((200, "A page", "html")))
def docs() -> Response:
    page = render_template("docs.html", contract=document(_app()), kinds=KINDS)
    return Response(page, content_type="text/html; charset=utf-8")
