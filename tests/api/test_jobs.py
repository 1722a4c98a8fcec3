"""Jobs: queued, told, watched, cancelled, failed, forgotten; each owner's own; whichever process is asked.

What is expected of the exchange is written in RFC 7240 (Prefer), RFC 9110 (202, 409), RFC 9457 (problems) and the HTML
Living Standard, section 9.2 (server-sent events).
"""

from __future__ import annotations

import json
import re
import threading
import time
from collections.abc import Callable, Iterator
from typing import Any
from urllib.parse import quote

import pytest
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service import job_book
from service.app import create_app
from service.job_book import JobBook
from service.jobs import Jobs, Progress
from service.problems import Problem
from service.settings import Settings
from service.web import WATCHERS, Office
from tests.conftest import problem_of

ASYNC = {"Prefer": "respond-async"}
OWNER = ""
RFC3339 = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z")


class Gate:
    """A work that waits at a gate, telling its progress all the while."""

    def __init__(self) -> None:
        self.begun, self.opened = threading.Event(), threading.Event()

    def work(self, progress: Progress) -> str:
        self.begun.set()
        while not self.opened.wait(0.02):
            progress("at the gate", 0.25)
        return "/v1/about"


@pytest.fixture
def gate() -> Iterator[Gate]:
    gate = Gate()
    yield gate
    gate.opened.set()


def until(condition: Callable[[], Any], seconds: float = 600.0) -> Any:
    """What the condition gives once it holds; a first run compiles its kernels for minutes."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = condition()
        if found:
            return found
        time.sleep(0.02)
    raise AssertionError("it did not come to pass")


def ended(client: FlaskClient, address: str) -> dict[str, Any]:
    def look() -> dict[str, Any] | None:
        job: dict[str, Any] = client.get(address).json
        return job if job["state"] in ("done", "failed", "cancelled") else None

    found: dict[str, Any] = until(look)
    return found


def events(text: str) -> list[dict[str, Any]]:
    """The data of each event of a stream, as the Living Standard says to read it."""
    found = []
    for block in text.split("\n\n"):
        data = [line.removeprefix("data: ") for line in block.splitlines() if line.startswith("data: ")]
        if data:
            found.append(json.loads("\n".join(data)))
    return found


def test_sizing_as_a_job(client, model):
    reply = client.post("/v1/sizings", json=model, headers=ASYNC)
    assert reply.status_code == 202
    assert reply.headers["Preference-Applied"] == "respond-async"
    assert reply.headers["Location"] == f"/v1/jobs/{reply.json['id']}" == reply.json["links"]["self"]
    assert reply.json["kind"] == "sizing"
    job = ended(client, reply.headers["Location"])
    assert job["state"] == "done", job
    assert job["progress"]["share"] == 1.0
    assert job["problem"] is None
    assert all(RFC3339.fullmatch(job[name]) for name in ("created_at", "started_at", "ended_at", "expires_at"))
    assert job["created_at"] <= job["started_at"] <= job["ended_at"] < job["expires_at"]
    sizing = client.get(job["result"])
    assert job["result"] == job["links"]["result"]
    # the same spec posted again, with and without the preference, is answered from the store
    again = client.post("/v1/sizings", json=model, headers=ASYNC)
    assert (again.status_code, again.data) == (200, sizing.data)
    assert "Preference-Applied" not in again.headers
    assert client.post("/v1/sizings", json=model).data == sizing.data


@pytest.mark.parametrize(
    ("prefer", "status"),
    [
        ("respond-async, wait=10", 202),
        ("Respond-Async", 202),
        ("handling=lenient", 201),
        ("respond-asynchronously", 201),
    ],
)
def test_preference_is_read_as_rfc_7240_writes_it(client, model, prefer, status):
    reply = client.post("/v1/sizings", json=model, headers={"Prefer": prefer})
    assert reply.status_code == status
    if status == 202:
        ended(client, reply.headers["Location"])


def test_what_cannot_be_read_is_refused_before_a_job_begins(client):
    problem_of(client.post("/v1/sizings", json={"zork": 1}, headers=ASYNC), 422)


def test_a_refusal_found_by_the_work_is_the_problem_of_the_job(client, truck):
    truck |= {"medium": "mineral_vg22", "oil_cold_c": -50.0}
    direct = client.post("/v1/sizings", json=truck)
    assert problem_of(direct, 422)["type"] == "/docs#problem-outside-data"
    job = ended(client, client.post("/v1/sizings", json=truck, headers=ASYNC).headers["Location"])
    assert job["state"] == "failed"
    assert job["result"] is None
    assert job["problem"] == direct.json


def test_an_unforeseen_failure_says_so_and_nothing_more(client, office: Office):
    def work(progress: Progress) -> str:
        raise ZeroDivisionError("confidential")

    job = ended(client, office.jobs.start("test", OWNER, work).links["self"])
    assert job["state"] == "failed"
    assert job["problem"]["status"] == 500
    assert "confidential" not in json.dumps(job)
    # the thread lives on
    assert (
        ended(client, office.jobs.start("test", OWNER, lambda progress: "/v1/about").links["self"])["state"] == "done"
    )


def test_same_spec_under_way_is_one_job(client, office: Office, model, gate):
    office.jobs.start("test", OWNER, gate.work)
    first, second = (client.post("/v1/sizings", json=model, headers=ASYNC).json for _ in range(2))
    assert first["state"] == "queued"
    assert first["id"] == second["id"]
    client.delete(first["links"]["self"])
    third = client.post("/v1/sizings", json=model, headers=ASYNC).json
    assert third["id"] != first["id"]
    gate.opened.set()
    assert ended(client, third["links"]["self"])["state"] == "done"


def test_cancel_of_a_running_job(client, office: Office, gate):
    address = office.jobs.start("test", OWNER, gate.work).links["self"]
    gate.begun.wait(10.0)
    until(lambda: client.get(address).json["progress"] == {"text": "at the gate", "share": 0.25})
    reply = client.delete(address)
    assert reply.status_code == 202
    assert reply.json["cancelling"] or reply.json["state"] == "cancelled"
    job = ended(client, address)
    assert (job["state"], job["cancelling"], job["result"]) == ("cancelled", False, None)
    problem_of(client.delete(address), 409)


def test_cancel_of_a_waiting_job(client, office: Office, gate, model):
    office.jobs.start("test", OWNER, gate.work)
    address = client.post("/v1/sizings", json=model, headers=ASYNC).headers["Location"]
    reply = client.delete(address)
    assert (reply.status_code, reply.json["state"]) == (200, "cancelled")
    gate.opened.set()
    last = office.jobs.start("test", OWNER, lambda progress: "/v1/about")
    ended(client, last.links["self"])
    assert client.get(address).json["state"] == "cancelled"
    assert office.store.count() == 0


def test_a_cancelled_sizing_is_not_stored(client, office: Office, truck):
    address = client.post("/v1/sizings", json=truck | {"medium": "auto"}, headers=ASYNC).headers["Location"]
    until(lambda: client.get(address).json["state"] != "queued")
    client.delete(address)
    job = ended(client, address)
    assert office.store.count() == (1 if job["state"] == "done" else 0)
    assert job["state"] == "cancelled"


def test_ended_jobs_cannot_be_cancelled(client, office: Office):
    address = office.jobs.start("test", OWNER, lambda progress: "/v1/about").links["self"]
    ended(client, address)
    assert problem_of(client.delete(address), 409)["type"] == "/docs#problem-ended"


def test_progress_never_falls_and_stays_within_one(client, office: Office, gate):
    seen: list[float] = []

    def work(progress: Progress) -> str:
        for share in (0.5, 0.2, 7.0, float("nan")):
            progress("on", share)
            time.sleep(0.11)
            seen.append(office.jobs.get(OWNER, job_id[0]).progress.share)
        return "/v1/about"

    office.jobs.start("test", OWNER, gate.work)
    job_id = [office.jobs.start("test", OWNER, work).id]
    gate.opened.set()
    ended(client, f"/v1/jobs/{job_id[0]}")
    assert seen == [0.5, 0.5, 1.0, 1.0]


def test_events_are_the_job_until_it_has_ended(client, office: Office, gate):
    address = office.jobs.start("test", OWNER, gate.work).links["self"]
    threading.Timer(0.6, gate.opened.set).start()
    reply = client.get(f"{address}/events", headers={"Accept": "text/event-stream"})
    assert reply.content_type == "text/event-stream; charset=utf-8"
    assert reply.headers["Cache-Control"] == "no-store"
    told = events(reply.text)
    assert told[0]["state"] in ("queued", "running")
    assert {"text": "at the gate", "share": 0.25} in [job["progress"] for job in told]
    assert told[-1] == client.get(address).json
    assert [job["state"] for job in told].count("done") == 1
    assert reply.text.startswith("retry: ")
    assert "id: ended\ndata:" in reply.text
    # who comes back after the last event is told to stay away; who never had it gets it
    assert client.get(f"{address}/events", headers={"Last-Event-ID": "ended"}).status_code == 204
    assert [job["state"] for job in events(client.get(f"{address}/events").text)] == ["done"]


def test_a_quiet_stream_gives_signs_of_life(client, office: Office, monkeypatch):
    monkeypatch.setattr("service.jobs.HEARTBEAT", 0.2)
    quiet = threading.Event()
    address = office.jobs.start("test", OWNER, lambda progress: "/v1/about" if quiet.wait(20.0) else "").links["self"]
    threading.Timer(1.0, quiet.set).start()
    assert client.get(f"{address}/events").text.count(": still there\n\n") >= 2


def test_streams_are_bounded_and_a_client_that_leaves_frees_its_place(client, office: Office, gate):
    address = office.jobs.start("test", OWNER, gate.work).links["self"]
    streams = [client.get(f"{address}/events", buffered=False) for _ in range(WATCHERS)]
    refused = client.get(f"{address}/events")
    assert problem_of(refused, 503)
    assert refused.headers["Retry-After"]
    streams.pop().close()
    again = client.get(f"{address}/events", buffered=False)
    assert again.status_code == 200
    for stream in (*streams, again):
        stream.close()


def test_a_full_queue_is_503_and_one_callers_share_429(settings, model, gate):
    book = JobBook.at(settings.store)
    jobs = Jobs(book, waiting=3, of_one_caller=2)
    jobs.start("test", "a", gate.work)
    jobs.start("test", "a", gate.work)
    with pytest.raises(Problem) as caught:
        jobs.start("test", "a", gate.work)
    assert (caught.value.status, caught.value.headers["Retry-After"]) == (429, "5")
    jobs.start("test", "b", gate.work)
    with pytest.raises(Problem) as caught:
        jobs.start("test", "c", gate.work)
    assert (caught.value.status, caught.value.headers["Retry-After"]) == (503, "5")


def test_full_queue_over_http(client, office: Office, gate, model):
    for _ in range(8):
        office.jobs.start("test", OWNER, gate.work)
    reply = client.post("/v1/sizings", json=model, headers=ASYNC)
    problem_of(reply, 429)
    assert reply.headers["Retry-After"]
    assert client.post("/v1/sizings", json=model).status_code == 201


def test_a_job_is_its_owners(settings):
    client = create_app(Settings(settings.store, ("first", "second"), warm_up=False)).test_client()
    mine, other = ({"Authorization": f"Bearer {token}"} for token in ("first", "second"))
    spec = client.get("/v1/examples/model", headers=mine).json
    address = client.post("/v1/sizings", json=spec, headers=mine | ASYNC).headers["Location"]
    for call in (client.get(address, headers=other), client.delete(address, headers=other)):
        problem_of(call, 404)
    problem_of(client.get(f"{address}/events", headers=other), 404)
    problem_of(client.get(address), 401)
    until(lambda: client.get(address, headers=mine).json["state"] == "done")
    assert client.get(client.get(address, headers=mine).json["result"], headers=other).status_code == 404


def test_another_process_answers_for_a_job_and_cancels_it(settings, gate):
    here, there = Jobs(JobBook.at(settings.store)), Jobs(JobBook.at(settings.store))
    id = here.start("test", OWNER, gate.work).id
    gate.begun.wait(10.0)
    assert there.get(OWNER, id).state == "running"
    assert there.cancel(OWNER, id).state in ("running", "cancelled")
    assert [job.state for job in there.watch(OWNER, id) if job][-1] == "cancelled"


def test_a_job_is_lost_with_its_process(settings, gate, monkeypatch):
    jobs = Jobs(JobBook.at(settings.store))
    id = jobs.start("test", OWNER, gate.work).id
    gate.begun.wait(10.0)
    monkeypatch.setattr(job_book, "SILENCE", 0.0)  # as if the process had not been heard of for that long
    with pytest.raises(Problem) as caught:
        jobs.get(OWNER, id)
    assert caught.value.status == 404
    assert "lost when the service stops" in caught.value.detail
    assert list(jobs.watch(OWNER, id)) == []


def test_an_ended_job_is_forgotten_and_struck_out(settings, monkeypatch):
    book = JobBook.at(settings.store)
    jobs = Jobs(book)
    id = jobs.start("test", OWNER, lambda progress: "/v1/about").id
    until(lambda: jobs.get(OWNER, id).ended)
    book.beat()
    assert jobs.get(OWNER, id).state == "done"
    monkeypatch.setattr(job_book, "KEPT", -1.0)
    book.beat()
    monkeypatch.undo()
    assert book.get(OWNER, id) is None


def test_unfinished_work_leaves_the_book_with_its_process(settings, gate):
    book = JobBook.at(settings.store)
    id = Jobs(book).start("test", OWNER, gate.work).id
    other = JobBook.at(settings.store)
    other.leave()
    assert other.get(OWNER, id) is not None
    book.leave()
    assert other.get(OWNER, id) is None


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(id=st.text(min_size=1, max_size=60).filter(lambda text: "/" not in text and text not in (".", "..")))
def test_any_other_id_is_404(client, id):
    for call in (client.get, client.delete):
        problem_of(call(f"/v1/jobs/{quote(id)}"), 404)
    problem_of(client.get(f"/v1/jobs/{quote(id)}/events"), 404)


def test_jobs_and_their_events_keep_to_the_contract(client, office: Office):
    from openapi_schema_validator import OAS31Validator

    contract = client.get("/openapi.json").json
    validator = OAS31Validator({"$ref": "#/components/schemas/Job", "components": contract["components"]})

    def work(progress: Progress) -> str:
        raise Problem("invalid", "as an example")

    for job in (office.jobs.start("test", OWNER, work), office.jobs.start("test", OWNER, lambda progress: "/v1/about")):
        for told in events(client.get(job.links["events"]).text):
            validator.validate(told)
    named = [p["name"] for p in contract["paths"]["/v1/sizings"]["post"]["parameters"]]
    assert named == ["Prefer"]
    assert {"200", "202", "404", "409"} <= set(contract["paths"]["/v1/jobs/{id}"]["delete"]["responses"])
