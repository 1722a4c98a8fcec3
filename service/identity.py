"""Who a sizing is and whose: its id from what determines it, its owner from the token that posted it.

A sizing is a pure function of its spec, so its id is a digest of the posted spec in canonical form, without labels,
and of the versions of models and data. Canonical: names sorted, every number a double, and what is empty or null left
out, since the spec reads the same without it.
"""

from __future__ import annotations

import hashlib
import hmac
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import fluids_data
import models


@dataclass(frozen=True)
class Versions:
    """What, beside its spec, determines a sizing."""

    model: str
    data: str


def versions() -> Versions:
    return Versions(models.MODEL_VERSION, fluids_data.data_version())


def canonical(document: Mapping[str, Any]) -> str:
    """A valid posted spec as one text that key order, labels and the spelling of numbers do not change."""
    bare = {name: value for name, value in document.items() if name != "name"}
    return json.dumps(_normal(bare), sort_keys=True, separators=(",", ":"), allow_nan=False)


def _normal(value: Any) -> Any:
    if isinstance(value, Mapping):
        items = {name: _normal(item) for name, item in value.items() if name != "label"}
        return {name: item for name, item in items.items() if item is not None and item != {}}
    if isinstance(value, (list, tuple)):
        return [_normal(item) for item in value]
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return float(value) + 0.0  # -0.0 becomes 0.0
    return value


def sizing_id(document: Mapping[str, Any], of: Versions) -> str:
    """The id of the sizing of a valid posted spec: 32 hex digits of a SHA-256."""
    text = "\0".join((canonical(document), of.model, of.data))
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def comparison_id(document: Mapping[str, Any], of: Versions) -> str:
    """The id of the comparison of a valid posted request: that of its spec, its axis, ends and points."""
    asked = {name: value for name, value in document.items() if name != "spec"}
    text = "\0".join((canonical(document["spec"]), canonical(asked), of.model, of.data))
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def labels(document: Mapping[str, Any]) -> dict[str, Any]:
    """The labels of a posted spec, kept beside the sizing: the name, and a label a duty by its place in the list."""
    duties = document.get("duty", ())
    return {"name": document.get("name", ""), "duty": [duty.get("label") for duty in duties]}


def owner_of(authorization: str | None, tokens: Sequence[str]) -> str | None:
    """The owner that an Authorization header proves: a digest of its token; "" where the service needs none.

    None when a token is needed and the header bears none that is known. Every token is compared, in constant time.
    """
    if not tokens:
        return ""
    scheme, _, given = (authorization or "").partition(" ")
    if scheme.lower() != "bearer":
        return None
    presented = given.strip().encode()
    matches = [token for token in tokens if hmac.compare_digest(token.encode(), presented)]
    return hashlib.sha256(matches[0].encode()).hexdigest()[:16] if matches else None
