"""Random bodies and specs, valid and not: never a 500, never a NaN, every error points at what is there.

The valid ones are the ready specs with every mass, rate, force, speed and length drawn anew within a factor of three.
"""

from __future__ import annotations

import copy
import json
import math
from collections.abc import Iterator
from typing import Any

import pytest
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service import ready_specs
from service.app import create_app
from service.settings import Settings

JSON = {"Content-Type": "application/json"}
CALM = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])

numbers = st.integers(-(10**40), 10**40) | st.floats(allow_nan=False, allow_infinity=False)
scalars = st.none() | st.booleans() | numbers | st.text(max_size=20)
values = st.recursive(scalars, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=9), inner))


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> FlaskClient:
    store = tmp_path_factory.mktemp("random") / "sizings.sqlite3"
    return create_app(Settings(store, warm_up=False)).test_client()


def places(value: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Every path in a document, containers included."""
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, item in items:
        yield (*path, step)
        yield from places(item, (*path, step))


def at(document: Any, path: tuple[str | int, ...]) -> Any:
    for step in path:
        document = document[step]
    return document


TRUCK = ready_specs.example("truck")
PLACES = st.sampled_from(sorted(places(TRUCK), key=str))


def resolves(pointer: str, document: Any) -> bool:
    """Whether an RFC 6901 pointer leads to something in the document."""
    for step in pointer.split("/")[1:]:
        name = step.replace("~1", "/").replace("~0", "~")
        try:
            document = document[int(name)] if isinstance(document, list) else document[name]
        except (KeyError, IndexError, ValueError, TypeError):
            return False
    return True


def check_refusal(reply: Any, document: Any) -> None:
    assert reply.content_type == "application/problem+json"
    problem = json.loads(reply.data, parse_constant=lambda token: pytest.fail(token))
    assert problem["errors"]
    for error in problem["errors"]:
        assert error["code"] == "missing" or resolves(error["pointer"], document), error
        assert error["code"] == "missing" or "given" in error


@CALM
@given(path=PLACES, value=values)
def test_one_place_changed_at_random(client, path, value):
    spec = copy.deepcopy(TRUCK)
    at(spec, path[:-1])[path[-1]] = value
    reply = client.post("/v1/specs/check", data=json.dumps(spec), headers=JSON)
    assert reply.status_code in (200, 422)
    if reply.status_code == 422:
        check_refusal(reply, spec)


@CALM
@given(path=PLACES, name=st.text(max_size=30), value=scalars)
def test_one_member_added_at_random(client, path, name, value):
    spec = copy.deepcopy(TRUCK)
    holder = at(spec, path)
    if not isinstance(holder, dict):
        holder = spec
    holder[name] = value
    reply = client.post("/v1/specs/check", data=json.dumps(spec), headers=JSON)
    assert reply.status_code in (200, 422)
    if reply.status_code == 422:
        check_refusal(reply, spec)


@CALM
@given(document=values)
def test_any_json_is_no_spec(client, document):
    reply = client.post("/v1/sizings", data=json.dumps(document), headers=JSON)
    assert reply.status_code == 422
    check_refusal(reply, document)


@CALM
@given(body=st.binary(max_size=200) | st.text(alphabet='{}[]",:0123456789.eE+-tfn\\u ', max_size=60).map(str.encode))
def test_any_bytes_are_refused_politely(client, body):
    reply = client.post("/v1/sizings", data=body, headers=JSON)
    assert reply.status_code in (400, 422)
    json.loads(reply.data, parse_constant=lambda token: pytest.fail(token))


def scaled(value: Any, draw: Any, most: float = 1.0) -> Any:
    if isinstance(value, dict):
        return {name: scaled(item, draw, most) for name, item in value.items()}
    if isinstance(value, list):
        return [scaled(item, draw, most) for item in value]
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return value
    return value * 3.0 ** draw(st.floats(-1.0, most))


PEAK_AND_RMS = (("wheel_velocity_m_s", "wheel_velocity_rms_m_s"), ("wheel_force_n", "wheel_force_rms_n"))


@st.composite
def vehicles(draw: Any) -> dict[str, Any]:
    """A ready spec drawn anew; temperatures, shares and supply stay as they are."""
    spec = ready_specs.example(draw(st.sampled_from(("truck", "model"))))
    for axle in ("front", "rear"):
        drawn = scaled(spec[axle], draw)
        drawn["tyre_rate_n_mm"] = max(drawn["tyre_rate_n_mm"], 1.5 * drawn["wheel_rate_n_mm"])
        spec[axle] = drawn
        motion = scaled(spec["duty"][0][axle], draw)
        for peak, rms in PEAK_AND_RMS:
            motion[rms] = min(motion[rms], motion[peak])
        spec["duty"][0][axle] = motion
    for name in ("wheelbase_mm", "track_mm", "cg_height_mm"):
        spec[name] = scaled(spec[name], draw, most=0.5)
    spec["objective"] = draw(st.sampled_from(("mass", "power", "balanced")))
    spec["arrangement"] = draw(st.sampled_from(("parallel", "series", "corner_accumulator")))
    if spec["arrangement"] == "parallel":
        spec["weight_carried_by"] = draw(st.sampled_from(("spring", "actuator")))
    return spec


@settings(CALM, max_examples=25)
@given(spec=vehicles())
def test_random_vehicles_are_answered(client, spec):
    reply = client.post("/v1/sizings", json=spec)
    assert reply.status_code in (200, 201, 422), reply.text[:500]
    document = json.loads(reply.data, parse_constant=lambda token: pytest.fail(token))
    if reply.status_code == 422:
        assert {error["code"] for error in document["errors"]} <= {"outside_data", "contradiction"}, document
        return
    assert document["outcome"] in ("feasible", "feasible_with_warnings", "infeasible")
    assert all(math.isfinite(number) for number in every_number(document))
    for ledger in document["ledgers"]:
        terms = [term["value"] for term in ledger["terms"]]
        assert math.fsum(terms) == pytest.approx(ledger["total"], rel=1e-9, abs=1e-9 * sum(map(abs, terms))), ledger[
            "name"
        ]
        assert abs(ledger["residual"]) <= 1e-9, ledger["name"]
    assert client.get(document["links"]["self"]).data == reply.data


def every_number(value: Any) -> Iterator[float]:
    for path in places(value):
        item = at(value, path)
        if isinstance(item, (int, float)):
            yield item
