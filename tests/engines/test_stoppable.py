"""Ctrl-C ends a search by CP-SAT, and the program with it."""

from __future__ import annotations

import os
import random
import signal
import threading
import time

import pytest
from ortools.sat.python import cp_model

from gridcrux.engines.stoppable import solve


def hard_model():
    """A covering problem that takes CP-SAT much longer than a test."""
    draw = random.Random(5)
    model = cp_model.CpModel()
    taken = [model.new_bool_var("") for _ in range(120)]
    for _ in range(600):
        model.add_bool_or(draw.sample(taken, 6))
    model.minimize(sum(taken))
    return model


def a_solver(seconds):
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = seconds
    return solver


@pytest.fixture
def python_hears_of_it():
    """Let Python handle the signal, which it does not in a background job of a shell."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.usefixtures("python_hears_of_it")
def test_ctrl_c_is_an_interruption():
    begun = time.monotonic()
    threading.Timer(1.0, lambda: os.kill(os.getpid(), signal.SIGINT)).start()
    with pytest.raises(KeyboardInterrupt):
        solve(a_solver(60.0), hard_model())
    assert time.monotonic() - begun < 30


def test_without_it_the_answer_is_as_usual():
    model = cp_model.CpModel()
    one = model.new_bool_var("")
    model.add(one == 1)
    solver = a_solver(5.0)
    assert solve(solver, model) == cp_model.OPTIMAL
    assert solver.value(one) == 1
    assert solve(a_solver(0.3), hard_model()) in (cp_model.FEASIBLE, cp_model.UNKNOWN)
