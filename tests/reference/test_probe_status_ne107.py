"""The status signals of probes.

Source: NAMUR NE 107, "Self-monitoring and diagnosis of field devices", the four status signals beside good: failure,
function check, out of specification, maintenance required (verified). Which health of a probe gives which signal is
the project's own reading of what each signal is for: no usable signal is a failure; somebody works at the device is a
function check; a value outside what can be measured there, or that no longer follows, is out of specification; a value
still there, but drifted from its neighbours, asks for maintenance. Persistence of 4 s before a fault counts: NAMUR
NE 43 (verified from a secondary source).
"""

import pytest

from firebox.estimate.probes import PERSIST_SECONDS, ProbeTrack
from firebox.records import Health, Signal
from firebox.setup import Role


def test_there_are_the_four_signals_of_the_recommendation_and_good() -> None:
    assert {str(signal) for signal in Signal} == {
        "good", "failure", "function-check", "out-of-specification", "maintenance-required",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("health", "signal"),
    [
        (Health.GOOD, Signal.GOOD),
        (Health.WAITING, Signal.FAILURE),
        (Health.OPEN, Signal.FAILURE),
        (Health.SHORTED, Signal.FAILURE),
        (Health.FAILED, Signal.FAILURE),
        (Health.SILENT, Signal.FAILURE),
        (Health.CHECKED, Signal.FUNCTION_CHECK),
        (Health.IMPLAUSIBLE, Signal.OUT_OF_SPECIFICATION),
        (Health.STUCK, Signal.OUT_OF_SPECIFICATION),
        (Health.DISAGREEING, Signal.MAINTENANCE_REQUIRED),
    ],
)
def test_each_health_has_its_signal(health: Health, signal: Signal) -> None:
    assert ProbeTrack(name="grate", role=Role.GRATE, health=health).signal is signal


def test_every_health_has_a_signal() -> None:
    assert all(ProbeTrack(name="grate", role=Role.GRATE, health=health).signal in Signal for health in Health)


def test_a_fault_counts_after_four_seconds() -> None:
    assert PERSIST_SECONDS == 4.0
