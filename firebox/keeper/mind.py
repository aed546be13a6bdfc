"""The reducer that a keeper runs: `firebox.watch`, marked with the version of the core."""

from firebox import watch
from firebox.journal.fingerprint import fingerprint
from firebox.journal.resume import Reducer
from firebox.watch import WatchState


def watch_reducer() -> Reducer[WatchState]:
    """Return `firebox.watch` as the journal and the keeper take it."""
    return Reducer(begin=watch.begin, step=watch.step, freeze=watch.freeze, thaw=watch.thaw, version=fingerprint())
