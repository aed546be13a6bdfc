"""A review of a long cook takes seconds, since it reckons nothing anew that the watch has reckoned already."""

import time

from firebox.journal import export, lookback
from firebox.journal.writer import Journal
from firebox.ports import Kind
from firebox.records import Entry, Reading
from firebox.review.sheet import sheet
from firebox.review.whole import review
from firebox.review.wording import Look
from firebox.setup import Setup
from tests.unit.review.hand_made import cook, fire, hump, lit, moves, outlook, readings, split

HOURS = 12
BUDGET = 5.0
"""Seconds from the journal to the words, on a loaded machine; 0.4 were seen on an idle one."""


def test_twelve_hours_with_eight_probes_are_looked_back_on_in_seconds(tmp_path):
    end = HOURS * 60
    times = range(20, end, 40)
    probes = [record for number in range(7) for record in readings(end, lambda m: 100.0 + m / 60.0, f"meat{number}")]
    records = cook(
        end, lambda m: 116.0 + sum(hump(m - at, 14.0) for at in times), lit(), *(split(m) for m in times), *probes,
        *(outlook(m, 118.0, m5=118.0, m15=119.0, m30=119.0, m45=119.0, m60=119.0) for m in range(end)),
        *moves(0, end, in_minutes=12.0, hold=True), *(fire(m) for m in range(end)),
    )  # fmt: skip
    path = tmp_path / "pit.sqlite"
    journal = Journal(path)
    for record in records:
        if isinstance(record, Setup):
            journal.begin_cook(record, Kind.LIVE)
        elif isinstance(record, Reading | Entry):
            journal.take(record)
        else:
            journal.tell([record])
    journal.commit()
    journal.close()
    begun = time.monotonic()
    (last,) = export.list_cooks(path)
    made, _ = review(lookback.thinned(path, last))
    told = sheet(made, Look())
    took = time.monotonic() - begun
    print(f"{len(records)} records of {HOURS} h looked back on in {took:.2f} s")
    assert len(told.tries) == 3
    assert took < BUDGET
