"""Processes that start clean: calls and errors come back, a dead process is told, a script needs no guard."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from tests.studies.circuits import STRIP, circuit_of

from lidoff.circuit.model import CircuitError
from lidoff.cycle import solve
from lidoff.studies import StudyError
from lidoff.studies.workers import Workers, processors


def test_calls_are_worked_out_elsewhere() -> None:
    with Workers(2) as workers:
        futures = [workers.submit(pow, 3, k) for k in range(20)]
        assert [f.result() for f in futures] == [3**k for k in range(20)]
        where = {workers.submit(os.getpid).result() for _ in range(8)}
        assert os.getpid() not in where
        assert len(where) <= 2
        assert workers.submit(int, "ff", base=16).result() == 255
        assert list(workers.map(abs, [-1, -2])) == [1, 2]


def test_circuits_travel_and_errors_come_back_as_they_are() -> None:
    circuit = circuit_of(STRIP)
    with Workers(1) as workers:
        with pytest.raises(CircuitError, match="zero"):
            workers.submit(solve, circuit_of(STRIP, None, **{"supply.voltage": 0.0})).result()
        assert workers.submit(len, circuit.elements).result() == 3
        with pytest.raises(TypeError, match="cannot pickle"):
            workers.submit(threading.Lock).result()
        with pytest.raises(ZeroDivisionError):
            workers.submit(divmod, 1, 0).result()


def test_what_is_printed_does_not_get_into_the_answers(capfd: pytest.CaptureFixture[str]) -> None:
    with Workers(1) as workers:
        assert workers.submit(print, "hello").result() is None
        assert workers.submit(abs, -3).result() == 3
    assert "hello" in capfd.readouterr().err


def test_a_process_that_dies_is_told() -> None:
    with Workers(1) as workers, pytest.raises(StudyError, match="ended before its work was done"):
        workers.submit(os._exit, 3).result()


def test_stopping_does_not_wait_for_the_work() -> None:
    workers = Workers(1)
    assert workers.submit(abs, -1).result() == 1
    workers.submit(time.sleep, 60.0)
    waiting = workers.submit(abs, -2)
    workers.shutdown(cancel_futures=True)
    assert waiting.cancelled()


def test_at_least_one_processor() -> None:
    assert processors() >= 1


def test_a_script_needs_no_guard(tmp_path: Path) -> None:
    root = Path(__file__).resolve().parents[2]
    script = tmp_path / "plain.py"
    script.write_text(
        "from tests.studies.circuits import circuit_of, part\n"
        "from lidoff.studies import spread\n"
        "print('once')\n"
        "load = part('R1', 'resistor', 'live neutral', value='529R')\n"
        "print(round(spread(circuit_of(load), 160).figures['input.power'].median))\n"
    )
    environ = {**os.environ, "PYTHONPATH": os.pathsep.join([str(root / "src"), str(root)])}
    done = subprocess.run(
        [sys.executable, str(script)], env=environ, capture_output=True, text=True, timeout=300, check=True
    )
    lines = done.stdout.split()
    assert lines[0] == "once"
    assert len(lines) == 2
    assert abs(int(lines[1]) - 100) < 5
