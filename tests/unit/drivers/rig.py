"""What a bench of probes says when it is asked; shared by the tests of chips and kernel files."""

from drivers.bench import Bench
from firebox.records import Status


def ask(rig: Bench) -> tuple[dict[str, float | Status | None], list[str]]:
    """Return probe -> its temperature, or its status where it has none; and the problems."""
    heard = list(rig.sample())
    values = {one.probe: one.celsius if one.status is Status.GOOD else one.status for h in heard for one in h.samples}
    return values, [text for one in heard for text in one.problems]
