"""Bodies that cannot be read at all, and requests that fail before their body matters: 400 to 415, and nothing kept."""

from __future__ import annotations

import json

import pytest

from service.reading import DEEPEST, LARGEST_BODY
from tests.conftest import problem_of

POSTS = ("/v1/sizings", "/v1/specs/check")
JSON = {"Content-Type": "application/json"}


@pytest.mark.parametrize("url", POSTS)
@pytest.mark.parametrize(
    ("body", "code"),
    [
        (b"", "not_json"),
        (b"{", "not_json"),
        (b"{'name': 1}", "not_json"),
        (b'{"name": "a",}', "not_json"),
        (b'{"name": "a"} {}', "not_json"),
        (b'{"cg_height_mm": NaN}', "not_finite"),
        (b'{"cg_height_mm": Infinity}', "not_finite"),
        (b'{"cg_height_mm": -Infinity}', "not_finite"),
        (b'{"name": "\xff"}', "not_utf8"),
        ('{"name": "a"}'.encode("utf-16"), "not_utf8"),
        (b'{"name": "\\ud800"}', "lone_surrogate"),
        (b'{"cg_height_mm": ' + b"9" * 5000 + b"}", "number_too_long"),
        (b"[" * 100_000, "too_deep"),
        (b'{"a":' * 40 + b"1" + b"}" * 40, "too_deep"),
    ],
)
def test_unreadable_body_is_400(client, office, url, body, code):
    problem = problem_of(client.post(url, data=body, headers=JSON), 400)
    assert [error["code"] for error in problem["errors"]] == [code]
    assert office.store.count() == 0


def test_deep_nesting_is_refused_but_not_brackets_in_texts(client, truck):
    truck["name"] = "[" * 100
    assert client.post("/v1/specs/check", json=truck).status_code == 200
    nested = "[" * (DEEPEST - 1) + "]" * (DEEPEST - 1)
    body = '{"name": ' + nested + "}"
    problem_of(client.post("/v1/specs/check", data=body, headers=JSON), 422)


def test_names_that_stand_twice_are_all_named(client):
    body = b'{"name": "a", "bus": {"voltage_v": 24, "voltage_v": 48}, "name": "b"}'
    problem = problem_of(client.post("/v1/specs/check", data=body, headers=JSON), 400)
    assert {error["pointer"] for error in problem["errors"]} == {"/name", "/bus/voltage_v"}
    assert {error["code"] for error in problem["errors"]} == {"repeated_name"}


@pytest.mark.parametrize("url", POSTS)
@pytest.mark.parametrize(
    "content_type",
    [
        "text/plain",
        "application/x-www-form-urlencoded",
        "application/json; charset=utf-16",
        "multipart/form-data",
        None,
    ],
)
def test_wrong_media_type_is_415(client, truck, url, content_type):
    problem_of(client.post(url, data=json.dumps(truck), content_type=content_type), 415)


def test_compressed_body_is_415(client, truck):
    headers = JSON | {"Content-Encoding": "gzip"}
    problem_of(client.post("/v1/sizings", data=json.dumps(truck), headers=headers), 415)


def test_large_body_is_413(client, office):
    body = b'{"name": "' + b"a" * 10_000_000 + b'"}'
    problem = problem_of(client.post("/v1/sizings", data=body, headers=JSON), 413)
    assert problem["errors"] == []
    assert office.store.count() == 0


def test_body_at_the_limit_is_read(client, truck):
    body = json.dumps(truck).encode()
    padded = body + b" " * (LARGEST_BODY - len(body))
    assert client.post("/v1/specs/check", data=padded, headers=JSON).status_code == 200
    problem_of(client.post("/v1/specs/check", data=padded + b" ", headers=JSON), 413)


@pytest.mark.parametrize("url", ["/v1", "/v1/sizing", "/v1/sizings/0", "/v1/media/zork", "/v1/tables/zork"])
def test_unknown_address_is_404(client, url):
    problem_of(client.get(url), 404)


@pytest.mark.parametrize(("method", "url"), [("GET", "/v1/sizings"), ("DELETE", "/v1/about"), ("POST", "/v1/media")])
def test_wrong_method_is_405_and_names_the_right_ones(client, method, url):
    reply = client.open(url, method=method)
    problem_of(reply, 405)
    assert reply.headers["Allow"]


@pytest.mark.parametrize("accept", ["image/png", "text/html", "application/xml;q=0.9", "application/json;q=0"])
def test_format_that_is_not_offered_is_406(client, office, truck, accept):
    problem_of(client.post("/v1/sizings", json=truck, headers={"Accept": accept}), 406)
    assert office.store.count() == 0


@pytest.mark.parametrize(
    "accept", ["application/json", "*/*", "application/*", "text/html;q=0.5, application/json;q=0.1"]
)
def test_format_that_is_offered_is_served(client, accept):
    reply = client.get("/v1/about", headers={"Accept": accept})
    assert reply.status_code == 200
    assert reply.content_type == "application/json"


def test_unforeseen_failure_is_a_bare_500(client, office, truck, monkeypatch):
    def fail(spec):
        raise RuntimeError("secret of the spec")

    monkeypatch.setattr("models.pipeline.size", fail)
    reply = client.post("/v1/sizings", json=truck)
    problem = problem_of(reply, 500)
    assert "secret" not in json.dumps(problem)
    assert office.store.count() == 0


def test_answer_that_is_not_finite_is_not_kept(client, office, truck, monkeypatch):
    broken = ({"value": float("nan")}, {"proof": None})
    monkeypatch.setattr("service.sizings._computed", lambda posted, id, progress: broken)
    problem_of(client.post("/v1/sizings", json=truck), 500)
    assert office.store.count() == 0


def test_request_id_is_given_back_or_made(client):
    assert client.get("/livez", headers={"X-Request-Id": "my-4711"}).headers["X-Request-Id"] == "my-4711"
    made = client.get("/livez", headers={"X-Request-Id": "not a\tgood one"}).headers["X-Request-Id"]
    assert len(made) == 32
