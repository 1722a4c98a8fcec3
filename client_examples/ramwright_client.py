"""A small client of the Ramwright service, on httpx. One file: copy it where you need it.

    with Ramwright("http://127.0.0.1:8000") as service:
        spec = service.example("truck")
        sizing = service.size(spec)
        print(sizing["outcome"], sizing["design"])

Specs and sizings are plain dictionaries as the service's contract (/openapi.json) describes them; every number's unit
stands in its name. A refusal is raised as `Refused`, with the service's list of what is wrong.
"""

from __future__ import annotations

import os
import time
from types import TracebackType
from typing import Any, Self

import httpx

Json = dict[str, Any]


class Refused(Exception):
    """The service refused a request: `status`, `detail`, and `errors` with pointer, code, given, allowed."""

    def __init__(self, problem: Json) -> None:
        self.status: int = problem["status"]
        self.detail: str = problem["detail"]
        self.errors: list[Json] = problem["errors"]
        lines = [f"{error['pointer']}: {error['detail']}" for error in self.errors]
        super().__init__("\n".join([f"{self.status} {self.detail}", *lines]))


class Ramwright:
    """One service. `token` is sent as a bearer token; default RAMWRIGHT_TOKEN of the environment."""

    def __init__(self, address: str = "http://127.0.0.1:8000", token: str | None = None, timeout: float = 60.0) -> None:
        token = token or os.environ.get("RAMWRIGHT_TOKEN")
        headers = {"Authorization": f"Bearer {token}"} if token else {}
        self._http = httpx.Client(base_url=address, headers=headers, timeout=timeout)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._http.close()

    def size(self, spec: Json) -> Json:
        """The sizing of a spec; the same spec again is answered from the service's store."""
        return self._call("POST", "/v1/sizings", json=spec)

    def demand(self, spec: Json) -> Json:
        """What the actuators of a spec must do, without a sizing."""
        return self._call("POST", "/v1/demands", json=spec)

    def compare(self, spec: Json, **along: Any) -> Json:
        """Hydraulic against all-electric on one demand; `along`: axis, low, high and points of a crossover."""
        return self._call("POST", "/v1/comparisons", json={"spec": spec, **along})

    def check(self, spec: Json) -> Json:
        """The spec with its defaults filled and named; nothing is computed."""
        return self._call("POST", "/v1/specs/check", json=spec)

    def sizing(self, id: str) -> Json:
        """A sizing by id."""
        return self._call("GET", f"/v1/sizings/{id}")

    def differences(self, id: str, against: str) -> list[Json]:
        """What differs between two sizings, causes first."""
        found: list[Json] = self._call("GET", f"/v1/sizings/{id}", params={"against": against})["differences"]
        return found

    def example(self, name: str) -> Json:
        """A ready spec by name."""
        return self._call("GET", f"/v1/examples/{name}")

    def medium(self, id: str, temperature_c: float = 40.0, pressure_bar: float = 0.0) -> Json:
        """A medium's data, and its state at a temperature and gauge pressure."""
        at = {"temperature_c": temperature_c, "pressure_bar": pressure_bar}
        return self._call("GET", f"/v1/media/{id}", params=at)

    def _call(self, method: str, path: str, **content: Any) -> Json:
        for _ in range(10):
            reply = self._http.request(method, path, **content)
            if reply.status_code not in (429, 503):
                break
            time.sleep(float(reply.headers.get("Retry-After", "1")))
        document: Json = reply.json()
        if reply.is_error:
            raise Refused(document)
        return document
