"""A sizing's identity and life: the same for the same question, kept whole, its owner's own, never changed."""

from __future__ import annotations

import copy
import json
import threading
from typing import Any

import pytest

from service.app import create_app
from service.identity import Versions, canonical, owner_of, sizing_id
from service.settings import Settings
from service.turnstile import Turnstile
from tests.conftest import problem_of

OF = Versions("1", "a")


def reversed_keys(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: reversed_keys(value[name]) for name in reversed(value)}
    return [reversed_keys(item) for item in value] if isinstance(value, list) else value


def as_floats(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: as_floats(item) for name, item in value.items()}
    if isinstance(value, list):
        return [as_floats(item) for item in value]
    return float(value) if isinstance(value, int) else value


def test_id_is_stable_under_spelling(truck):
    plain = sizing_id(truck, OF)
    renamed = copy.deepcopy(truck)
    renamed["name"] = "another name"
    renamed["duty"][0]["label"] = "another label"
    unlabelled = copy.deepcopy(truck)
    del unlabelled["name"], unlabelled["duty"][0]["label"]
    empty = copy.deepcopy(truck) | {"stock": {}, "measured": {"pump": None}}
    for same in (reversed_keys(truck), as_floats(truck), renamed, unlabelled, empty):
        assert sizing_id(same, OF) == plain


def test_id_changes_with_what_determines_the_sizing(truck):
    others = [copy.deepcopy(truck) for _ in range(4)]
    others[0]["front"]["sprung_mass_kg"] += 1e-9
    others[1]["medium"] = "mineral_vg15"
    others[2]["duty"].append(others[2]["duty"][0])
    others[3]["air_speed_m_s"] = 0  # a default said aloud is no longer a default used
    ids = {sizing_id(spec, OF) for spec in (truck, *others)}
    ids |= {sizing_id(truck, Versions("2", "a")), sizing_id(truck, Versions("1", "b"))}
    assert len(ids) == 7


def test_negative_zero_is_zero():
    assert canonical({"a": -0.0}) == canonical({"a": 0})


def test_first_post_is_new_and_the_second_is_the_same(client, office, truck):
    first = client.post("/v1/sizings", json=truck)
    assert first.status_code == 201
    address = first.headers["Location"]
    assert address == f"/v1/sizings/{first.json['id']}"
    assert address == first.json["links"]["self"]
    second = client.post("/v1/sizings", json=reversed_keys(as_floats(truck)) | {"name": "called otherwise"})
    assert second.status_code == 200
    assert second.data == first.data
    assert second.headers["Location"] == address
    assert office.store.count() == 1
    got = client.get(address)
    assert got.status_code == 200
    assert got.data == first.data


def test_answer_says_what_it_answers(client, truck):
    sizing = client.post("/v1/sizings", json=truck).json
    about = client.get("/v1/about").json
    assert sizing["name"] == truck["name"]
    assert sizing["model_version"] == about["model_version"]
    assert sizing["data_version"] == about["data_version"]
    assert sizing["outcome"] in ("feasible", "feasible_with_warnings", "infeasible")
    assert sizing["effective_spec"]["front"]["sprung_mass_kg"] == truck["front"]["sprung_mass_kg"]
    assert sizing["defaults_used"]


def test_effective_spec_can_be_posted(client, truck):
    effective = client.post("/v1/specs/check", json=truck).json["effective_spec"]
    checked = client.post("/v1/specs/check", json=effective).json
    assert checked["defaults_used"] == []
    assert checked["effective_spec"] == effective


def test_check_computes_and_keeps_nothing(client, office, truck, monkeypatch):
    monkeypatch.setattr("models.pipeline.size", lambda spec: pytest.fail("a check computed a sizing"))
    checked = client.post("/v1/specs/check", json=truck).json
    assert checked["id"]
    pointers = [default["pointer"] for default in checked["defaults_used"]]
    assert "/layout/supply_line_mm" in pointers
    assert office.store.count() == 0


def test_etag_is_strong_and_answers_304(client, truck):
    first = client.post("/v1/sizings", json=truck)
    etag = first.headers["ETag"]
    assert etag.startswith('"')
    address = first.headers["Location"]
    for condition in (etag, "*", f'"other", {etag}'):
        reply = client.get(address, headers={"If-None-Match": condition})
        assert reply.status_code == 304
        assert reply.data == b""
        assert reply.headers["ETag"] == etag
    assert client.get(address, headers={"If-None-Match": '"other"'}).status_code == 200
    head = client.head(address)
    assert head.status_code == 200
    assert head.data == b""


def test_same_post_at_once_is_one_sizing(settings, truck):
    app = create_app(settings)
    replies = []

    def post() -> None:
        replies.append(app.test_client().post("/v1/sizings", json=truck))

    threads = [threading.Thread(target=post) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(reply.status_code for reply in replies) == [200] * 5 + [201]
    assert len({reply.data for reply in replies}) == 1
    assert app.extensions["ramwright"].store.count() == 1


def test_a_store_outlives_its_service(settings, truck):
    first = create_app(settings).test_client().post("/v1/sizings", json=truck)
    second = create_app(settings).test_client().post("/v1/sizings", json=truck)
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.data == second.data


def test_service_that_is_not_warm_says_when_to_ask_again(settings, truck):
    app = create_app(settings)
    app.extensions["ramwright"].ready.clear()
    client = app.test_client()
    assert client.get("/livez").status_code == 200
    for reply in (client.get("/readyz"), client.post("/v1/sizings", json=truck)):
        problem_of(reply, 503)
        assert int(reply.headers["Retry-After"]) > 0


class TestOwners:
    """Tokens: who has none sees nothing, and each sees its own."""

    @pytest.fixture
    def client(self, settings):
        return create_app(Settings(settings.store, ("first", "second"), warm_up=False)).test_client()

    @staticmethod
    def bearing(token: str) -> dict[str, str]:
        return {"Authorization": f"Bearer {token}"}

    @pytest.mark.parametrize("header", [None, "Bearer", "Bearer wrong", "Basic first", "first", "Bearer first x"])
    def test_without_a_known_token_is_401(self, client, truck, header):
        headers = {"Authorization": header} if header else {}
        for reply in (
            client.post("/v1/sizings", json=truck, headers=headers),
            client.get("/v1/media", headers=headers),
        ):
            problem_of(reply, 401)
            assert reply.headers["WWW-Authenticate"] == "Bearer"

    def test_health_and_contract_need_no_token(self, client):
        for url in ("/livez", "/readyz", "/openapi.json", "/docs"):
            assert client.get(url).status_code == 200

    def test_each_tokens_sizings_are_its_own(self, client, truck):
        first = client.post("/v1/sizings", json=truck, headers=self.bearing("first"))
        assert first.status_code == 201
        problem_of(client.get(first.headers["Location"]), 401)
        problem_of(client.get(first.headers["Location"], headers=self.bearing("second")), 404)
        again = client.post("/v1/sizings", json=truck, headers=self.bearing("second"))
        assert again.status_code == 201
        assert client.get(first.headers["Location"], headers=self.bearing("first")).status_code == 200

    def test_owner_is_not_the_token(self):
        assert owner_of("Bearer first", ("first",)) not in (None, "", "first")
        assert owner_of(None, ()) == ""


def test_turnstile_refuses_a_caller_and_then_everyone():
    turnstile = Turnstile(places=1, waiting=3, of_one_caller=2)
    inside, leave = threading.Event(), threading.Event()

    def stay(caller: str) -> None:
        with turnstile.admit(caller):
            inside.set()
            leave.wait(10)

    threads = [threading.Thread(target=stay, args=(caller,)) for caller in ("a", "a", "b")]
    for thread in threads:
        thread.start()
    assert inside.wait(10)
    while sum(turnstile.present().values()) < 3:
        leave.wait(0.01)
    with pytest.raises(Exception, match="of one caller") as too_many, turnstile.admit("a"):
        pass
    assert too_many.value.status == 429
    with pytest.raises(Exception, match="waiting") as full, turnstile.admit("c"):
        pass
    assert full.value.status == 503
    assert full.value.headers["Retry-After"]
    leave.set()
    for thread in threads:
        thread.join()
    with turnstile.admit("a"):
        assert turnstile.present() == {"a": 1}


def test_turnstile_serves_first_come_first():
    turnstile = Turnstile(places=1, waiting=9, of_one_caller=9)
    served: list[int] = []

    def take(number: int) -> None:
        with turnstile.admit(""):
            served.append(number)

    threads = [threading.Thread(target=take, args=(number,)) for number in range(8)]
    with turnstile.admit(""):
        for number, thread in enumerate(threads):
            thread.start()
            while turnstile.present()[""] < number + 2:
                threading.Event().wait(0.001)
    for thread in threads:
        thread.join()
    assert served == list(range(8))


def test_log_has_request_ids_and_no_word_of_the_spec(client, truck, caplog):
    from service.logs import JsonLines, logger

    truck["name"] = "confidential vehicle"
    truck["colour"] = "confidential"
    logger.propagate = True
    with caplog.at_level("INFO", logger="ramwright"):
        client.post("/v1/sizings", json=truck, headers={"X-Request-Id": "asked-once"})
    lines = [json.loads(JsonLines().format(record)) for record in caplog.records if record.name == "ramwright"]
    [line] = [line for line in lines if line["event"] == "request"]
    assert line["request_id"] == "asked-once"
    assert line["status"] == 422
    assert line["route"] == "/v1/sizings"
    assert "confidential" not in json.dumps(lines)
