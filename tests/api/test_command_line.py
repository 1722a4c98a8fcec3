"""The command line: the same answers as the service, problems told clearly, exit statuses a script can rely on."""

from __future__ import annotations

import io
import json
import subprocess
import sys

import pytest

from service import command_line, ready_specs
from service.command_line import main
from service.server import is_loopback


@pytest.fixture
def truck_file(tmp_path):
    file = tmp_path / "truck.json"
    file.write_bytes(ready_specs.example_bytes("truck"))
    return str(file)


def test_size_prints_what_the_service_answers(truck_file, client, truck, capsys):
    assert main(["size", truck_file]) == 0
    assert json.loads(capsys.readouterr().out) == client.post("/v1/sizings", json=truck).json


def test_size_reads_standard_input(truck_file, monkeypatch, capsys):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(ready_specs.example_bytes("truck"))))
    assert main(["size", "-", "--summary"]) == 0
    assert "Light delivery truck" in capsys.readouterr().out


def test_infeasible_is_an_answer_with_a_status_of_its_own(tmp_path, capsys):
    file = tmp_path / "infeasible.json"
    file.write_bytes(ready_specs.example_bytes("infeasible"))
    assert main(["size", str(file), "--summary"]) == 1
    assert "infeasible" in capsys.readouterr().out


def test_check_shows_the_defaults(truck_file, capsys):
    assert main(["check", truck_file]) == 0
    assert json.loads(capsys.readouterr().out)["defaults_used"]


@pytest.mark.parametrize("command", ["size", "check"])
def test_problems_are_told_field_by_field(command, tmp_path, truck, capsys):
    truck["front"]["wheel_rate_n_mm"] = 41000
    truck["weelbase_mm"] = 1
    file = tmp_path / "bad.json"
    file.write_text(json.dumps(truck))
    assert main([command, str(file)]) == 2
    streams = capsys.readouterr()
    assert streams.out == ""
    assert streams.err.splitlines()[0] == "ramwright: 2 fields cannot be accepted"
    assert "/front/wheel_rate_n_mm" in streams.err
    assert "allowed: 0.001 to 2000 N/mm" in streams.err
    assert "nearest: wheelbase_mm" in streams.err


def test_unreadable_files(tmp_path, capsys):
    assert main(["size", str(tmp_path / "none.json")]) == 2
    file = tmp_path / "bad.json"
    file.write_text('{"cg_height_mm": NaN}')
    assert main(["check", str(file)]) == 2
    assert "NaN is not a JSON number" in capsys.readouterr().err


def test_unknown_command_and_example_are_refused():
    for arguments in ([], ["zork"], ["demo", "--example", "zork"]):
        with pytest.raises(SystemExit) as ended:
            main(arguments)
        assert ended.value.code == 2


def test_demo_once_shows_a_sizing_and_ends():
    done = subprocess.run(
        [sys.executable, "-m", "service.command_line", "demo", "--once"], capture_output=True, text=True, timeout=900
    )
    assert done.returncode == 0, done.stderr
    assert "201 in" in done.stdout
    assert "feasible" in done.stdout
    assert "http://127.0.0.1:" in done.stdout
    assert done.stderr == ""


def test_loopback_is_the_default_and_known():
    options = command_line._parser().parse_args(["serve"])
    assert is_loopback(options.host)
    assert all(is_loopback(host) for host in ("127.0.0.1", "::1", "localhost"))
    assert not any(is_loopback(host) for host in ("0.0.0.0", "::", "192.168.1.2", "example.org"))
