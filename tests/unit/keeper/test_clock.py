"""Logical time never runs backwards, whatever the wall clock does."""

import asyncio
from datetime import timedelta

import pytest

from firebox.keeper.clock import SteadyClock, boot_mark
from firebox.ports import Clock

from .conftest import START, Machine


def test_time_passes_with_the_steady_clock_from_where_the_wall_clock_stood(machine: Machine) -> None:
    clock = machine.clock()
    as_port: Clock = clock
    assert as_port.now() == START
    machine.steady += 1.5
    assert clock.now() == START + timedelta(seconds=1.5)


@pytest.mark.parametrize("hours", [-1000, -1, 1, 500_000 // 24])
def test_a_wall_clock_that_is_set_moves_nothing_until_it_is_looked_at(machine: Machine, hours: int) -> None:
    clock = machine.clock()
    machine.pass_seconds(60)
    before = clock.now()
    machine.wall += timedelta(hours=hours)
    assert clock.now() == before
    jump = clock.jump()
    assert jump is not None
    assert (jump.time, jump.to) == (before, machine.wall)
    assert clock.now() == machine.wall
    assert clock.jump() is None
    machine.pass_seconds(1)
    assert clock.now() == machine.wall


@pytest.mark.parametrize("seconds", [-2.0, -0.5, 0.5, 2.0])
def test_a_clock_that_is_merely_disciplined_was_not_set(machine: Machine, seconds: float) -> None:
    clock = machine.clock()
    machine.pass_seconds(3600)
    machine.wall += timedelta(seconds=seconds)
    assert clock.jump() is None
    assert clock.now() == START + timedelta(hours=1)


def test_with_a_wall_clock_behind_the_journal_time_starts_just_after_it(machine: Machine) -> None:
    newest = START + timedelta(hours=2)
    clock = machine.clock(not_before=newest)
    assert clock.started_behind
    assert newest < clock.now() < newest + timedelta(seconds=1)
    machine.pass_seconds(10)
    assert clock.jump() is None
    assert not machine.clock(not_before=START - timedelta(hours=1)).started_behind


def test_a_demo_runs_at_its_rate_and_does_not_mind_the_wall_clock(machine: Machine) -> None:
    clock = machine.clock(rate=60.0)
    machine.pass_seconds(2)
    assert clock.now() == START + timedelta(minutes=2)
    machine.wall += timedelta(days=1)
    assert clock.jump() is None


async def test_sleep_takes_logical_seconds() -> None:
    clock = SteadyClock(rate=1000.0)
    loop = asyncio.get_running_loop()
    begin, before = loop.time(), clock.now()
    await clock.sleep(20.0)
    assert loop.time() - begin < 5.0
    assert (clock.now() - before).total_seconds() >= 19.9


def test_this_machine_has_a_clock_that_works() -> None:
    clock = SteadyClock()
    assert clock.jump() is None
    assert clock.now() <= clock.now()
    assert boot_mark() == boot_mark()
