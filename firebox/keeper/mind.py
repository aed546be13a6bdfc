"""The reducer that a keeper runs: `firebox.watch`, marked with the version of the core."""

from collections.abc import Callable, Sequence

from firebox import watch
from firebox.journal.fingerprint import fingerprint
from firebox.journal.resume import Reducer
from firebox.records import Record
from firebox.setup import Setup
from firebox.watch import WatchState


def watch_reducer() -> Reducer[WatchState]:
    """Return `firebox.watch` as the journal and the keeper take it."""
    return Reducer(begin=watch.begin, step=watch.step, freeze=watch.freeze, thaw=watch.thaw, version=fingerprint())


def mind() -> Callable[[Record], Sequence[Record]]:
    """Return a watch of its own that is told records one by one, a setup first, and returns what it answers."""
    state: WatchState | None = None

    def hear(record: Record) -> Sequence[Record]:
        nonlocal state
        if state is None:
            assert isinstance(record, Setup), "a watch begins with what its owner tells of the pit"
            state = watch.begin(record)
        step = watch.step(state, record)
        state = step.state
        return step.out

    return hear
