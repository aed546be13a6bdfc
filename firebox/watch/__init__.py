"""The reducer: everything the program thinks, as one pure function over records.

Live watch, replay, demo, benchmark and the JSON stream call the same `step`. It learns the time from the records and
from nowhere else; the same records in give the same records out, bit for bit.

==================  ==============================================================================================
on every record     logical seconds move on; due grid steps are taken (every 10 s: probes judged, estimate advanced)
a reading           its probe hears it
an entry            the cook log, the alarm orders or the clock take it
at least each 10 s  alarms are looked at; each 1 s while the pit is outside its hard limits
a tick              forecast (when 30 s old or something changed), next move, fire, meat, questions that come or go,
                    and the closing tick
==================  ==============================================================================================

============  ====================================================================================================
`state`       all that the watch knows, as a value
`frozen`      that as bytes, over a restart
`reducer`     one record after another
`answer`      what a tick is answered with
`ahead`       forecast, next move, and the forecast under it
`alarming`    what the alarms are judged by
`told`        records from what the estimate holds
============  ====================================================================================================
"""

from firebox.watch.alarming import situation
from firebox.watch.frozen import freeze, thaw
from firebox.watch.reducer import step
from firebox.watch.state import Step, WatchState, begin

__all__ = [
    "Step",
    "WatchState",
    "begin",
    "freeze",
    "situation",
    "step",
    "thaw",
]
