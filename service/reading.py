"""Reading a body: bytes to a JSON document, strictly, and a document to a record.

Knows RFC 8259 and what beyond it is refused (duplicate names, NaN and infinity, lone surrogates, deep nesting), and how
a document becomes a `Spec`. Does not know what happens next. The command line reads its files through the same door.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any, NoReturn

from pydantic import ValidationError

import fluids_data
from models.comparison.request import ComparisonRequest
from models.spec import Spec
from service.field_errors import field_errors, nearest, pointer_of
from service.problems import FieldError, Problem, invalid

LARGEST_BODY = 256_000
"""Bytes; what is larger is refused unread."""

DEEPEST = 32
"""Levels of nesting; a spec has six."""

_TOKEN = re.compile(rb'"(?:[^"\\]|\\.)*"|[\[{]|[\]}]', re.DOTALL)
_LONGEST_INTEGER = 400


@dataclass(frozen=True)
class Posted:
    """A spec as it came: the document and the record read from it."""

    document: dict[str, Any]
    spec: Spec


@dataclass(frozen=True)
class PostedComparison:
    """A comparison as it was asked for: the document and the record read from it."""

    document: dict[str, Any]
    request: ComparisonRequest


@cache
def comparison_schema() -> dict[str, Any]:
    """The JSON schema of a comparison's request as it is posted."""
    return ComparisonRequest.model_json_schema(by_alias=True)


@cache
def spec_schema() -> dict[str, Any]:
    """The JSON schema of a spec as it is posted."""
    return Spec.model_json_schema(by_alias=True)


def read_spec(body: bytes) -> Posted:
    """Read a spec; raises Problem with everything that is wrong with its fields."""
    document = read_json(body)
    errors = _unknown_medium(document)
    try:
        spec = Spec.model_validate(document)
    except ValidationError as error:
        raise invalid([*field_errors(error, document, spec_schema()), *errors]) from None
    if errors:
        raise invalid(errors)
    return Posted(document, spec)


def read_comparison(body: bytes) -> PostedComparison:
    """Read a comparison's request; raises Problem with everything that is wrong with its fields."""
    document = read_json(body)
    errors = _unknown_medium(document.get("spec"), "/spec") if isinstance(document, dict) else []
    try:
        request = ComparisonRequest.model_validate(document)
    except ValidationError as error:
        raise invalid([*field_errors(error, document, comparison_schema()), *errors]) from None
    if errors:
        raise invalid(errors)
    return PostedComparison(document, request)


def _unknown_medium(document: Any, above: str = "") -> list[FieldError]:
    medium = document.get("medium") if isinstance(document, dict) else None
    known = ("auto", *fluids_data.load_media())
    if not isinstance(medium, str) or medium in known:
        return []
    return [
        FieldError(
            f"{above}/medium",
            "unknown_medium",
            "there is no medium of that id",
            given=medium,
            allowed=known,
            suggestion=nearest(medium, known),
        )
    ]


def read_json(body: bytes) -> Any:
    """One JSON value from UTF-8 bytes. Raises Problem `malformed`, or `too-large` beyond LARGEST_BODY."""
    if len(body) > LARGEST_BODY:
        raise Problem("too-large", f"the body may hold {LARGEST_BODY} bytes")
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _malformed("not_utf8", f"byte {error.start} is not UTF-8") from None
    _refuse_deep(body)
    repeated: list[tuple[dict[str, Any], str]] = []

    def gather(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found = dict(pairs)
        if len(found) < len(pairs):
            seen: set[str] = set()
            for name, _ in pairs:
                if name in seen:
                    repeated.append((found, name))
                seen.add(name)
        return found

    try:
        document = json.loads(text, object_pairs_hook=gather, parse_constant=_refuse_constant, parse_int=_integer)
    except json.JSONDecodeError as error:
        raise _malformed("not_json", f"{error.msg}, line {error.lineno}, column {error.colno}") from None
    if repeated:
        _refuse_repeated(document, repeated)
    if b"\\u" in body:
        _refuse_lone_surrogates(document)
    return document


def _malformed(code: str, detail: str, given: Any = None, pointer: str = "") -> Problem:
    return Problem("malformed", detail, [FieldError(pointer, code, detail, given=given)])


def _refuse_constant(token: str) -> NoReturn:
    raise _malformed("not_finite", f"{token} is not a JSON number", given=token)


def _integer(digits: str) -> int:
    if len(digits) > _LONGEST_INTEGER:
        raise _malformed("number_too_long", f"a number of {len(digits)} digits; {_LONGEST_INTEGER} are read")
    return int(digits)


def _refuse_deep(body: bytes) -> None:
    depth = 0
    for match in _TOKEN.finditer(body):
        token = match.group()
        if token in (b"[", b"{"):
            depth += 1
            if depth > DEEPEST:
                raise _malformed("too_deep", f"nested deeper than {DEEPEST} levels")
        elif token in (b"]", b"}"):
            depth -= 1


def _refuse_repeated(document: Any, repeated: list[tuple[dict[str, Any], str]]) -> NoReturn:
    errors = []
    for path, value in _walk(document, ()):
        for holder, name in repeated:
            if value is holder:
                detail = "the name stands twice in one object"
                errors.append(FieldError(pointer_of((*path, name)), "repeated_name", detail, given=name))
    raise Problem("malformed", f"names stand twice in one object: {len(repeated)}", errors)


def _walk(value: Any, path: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    yield path, value
    if isinstance(value, dict):
        for name, item in value.items():
            yield from _walk(item, (*path, name))
    elif isinstance(value, list):
        for index, item in enumerate(value):
            yield from _walk(item, (*path, index))


def _refuse_lone_surrogates(document: Any) -> None:
    try:
        json.dumps(document, ensure_ascii=False).encode("utf-8")
    except UnicodeEncodeError:
        raise _malformed("lone_surrogate", "a text holds half of a surrogate pair") from None
