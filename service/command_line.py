"""The command line `ramwright`: serve, size, check, demo.

`size` and `check` read a file through the same door as the service and print what it would answer.
Ends with 0 when there is an answer, 1 when the answer is that no design meets the spec, 2 when the request was refused.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from service import ready_specs
from service.problems import Problem

# what only one command needs is imported there: the parent process of `serve` stays small, and `--help` quick


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status."""
    options = _parser().parse_args(arguments)
    try:
        status: int = options.run(options)
        return status
    except Problem as problem:
        print(describe(problem), file=sys.stderr)
        return 2
    except (OSError, UnicodeDecodeError) as error:
        print(f"ramwright: {error}", file=sys.stderr)
        return 2


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="ramwright", description="Sizes a central hydraulic active suspension.")
    commands = parser.add_subparsers(required=True, metavar="command")

    serve = commands.add_parser("serve", help="answer over HTTP until interrupted")
    serve.add_argument("--host", default="127.0.0.1", help="address to listen at (default: this machine only)")
    serve.add_argument("--port", type=int, default=8000)
    serve.add_argument("--workers", type=int, default=1, help="processes")
    serve.set_defaults(run=_serve)

    size = commands.add_parser("size", help="size a spec from a JSON file")
    size.add_argument("file", help="the spec; - reads standard input")
    size.add_argument("--summary", action="store_true", help="print a readable summary instead of JSON")
    size.set_defaults(run=_size)

    check = commands.add_parser("check", help="read a spec and show it with its defaults; nothing is computed")
    check.add_argument("file", help="the spec; - reads standard input")
    check.set_defaults(run=_check)

    demo = commands.add_parser("demo", help="start the service, post a ready spec, show the answer")
    demo.add_argument("--example", default="truck", choices=ready_specs.example_names())
    demo.add_argument("--once", action="store_true", help="end after the answer")
    demo.set_defaults(run=_demo)
    return parser


def _serve(options: argparse.Namespace) -> int:
    from service.server import serve

    serve(options.host, options.port, options.workers)
    return 0


def _size(options: argparse.Namespace) -> int:
    from service.identity import sizing_id, versions
    from service.reading import read_spec
    from service.sizings import compute
    from service.summary import summarise

    posted = read_spec(_read(options.file))
    sizing = compute(posted, sizing_id(posted.document, versions()))
    print(summarise(sizing) if options.summary else _pretty(sizing))
    return 1 if sizing["outcome"] == "infeasible" else 0


def _check(options: argparse.Namespace) -> int:
    from service.reading import read_spec
    from service.sizings import check

    print(_pretty(check(read_spec(_read(options.file)))))
    return 0


def _demo(options: argparse.Namespace) -> int:
    from service.demo import demo

    demo(options.example, options.once)
    return 0


def _read(file: str) -> bytes:
    return sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()


def _pretty(document: Any) -> str:
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False)


def describe(problem: Problem) -> str:
    """A problem as lines to read: the case, then one line a field."""
    lines = [f"ramwright: {problem.detail}"]
    for error in problem.document()["errors"]:
        line = f"  {error['pointer'] or '(the whole spec)'}: {error['detail']}"
        if "given" in error:
            line += f"; given {json.dumps(error['given'], ensure_ascii=False)}"
        if "allowed" in error:
            allowed = error["allowed"]
            line += f"; allowed: {allowed if isinstance(allowed, str) else ', '.join(allowed)}"
        if "suggestion" in error:
            line += f"; {'nearest: ' if error['code'].startswith('unknown') else ''}{error['suggestion']}"
        lines.append(line)
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
