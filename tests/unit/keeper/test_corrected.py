"""A probe that was calibrated is put right as it comes in; what is no temperature stays none."""

from drivers.fakes.clock import SteppedClock
from drivers.fakes.scripted import ScriptedSource
from drivers.lines import Sample
from firebox.keeper.corrected import CorrectedSource
from firebox.records import Problem, Rake, Status
from firebox.thermo.calibration import ICE, Check, Reference, correction


async def test_readings_are_put_right_and_everything_else_passes():
    off = correction(Check(known=ICE, shown=Reference(celsius=1.5, uncertainty=0.1)))
    clock = SteppedClock()
    rake, problem = Rake(time=clock.now()), Problem(source="one", line=1, text="not JSON")
    behind = ScriptedSource(
        "one",
        clock,
        script=[Sample("grate", 122.5), Sample("flat", 63.0), Sample("grate", None, Status.OPEN), rake, problem],
    )
    behind.finish()
    source = CorrectedSource(behind, {"grate": off})
    await source.open()
    heard = [one async for one in source.records()]
    await source.close()
    assert [(one.probe, one.celsius, one.status) for one in heard[:3]] == [
        ("grate", 121.0, Status.GOOD),
        ("flat", 63.0, Status.GOOD),
        ("grate", None, Status.OPEN),
    ]
    assert heard[3:] == [rake, problem]
    assert (source.name, source.health) == ("one", behind.health)
