"""A cook of the closed loop as a picture: the pit against its band, and what the hands did."""

from pathlib import Path

import matplotlib as mpl
from matplotlib.figure import Figure

from tests.benchmarks.closed_loop_night import BAND, BED, TARGET, Night

mpl.rcParams["svg.hashsalt"] = "firebox"
mpl.rcParams["svg.fonttype"] = "none"


def draw(night: Night, name: str, path: Path) -> None:
    """Write the trace of a night as SVG: temperature with its band above, splits and intake below."""
    figure = Figure(figsize=(9.0, 4.2), layout="constrained")
    above, below = figure.subplots(2, 1, sharex=True, height_ratios=(3, 1))
    points = night.trace[::6]
    above.axhspan(TARGET - BAND, TARGET + BAND, color="0.88")
    above.plot([row[0] / 3600.0 for row in points], [TARGET + row[2] for row in points], color="C3", linewidth=1.0)
    above.set_ylabel("grate, \N{DEGREE SIGN}C")
    above.set_title(f"{name} at {night.about}", fontsize=10)
    if any(what == "asleep" for _, what, _ in night.deeds):
        above.axvspan(BED[0] / 3600.0, BED[1] / 3600.0, color="C0", alpha=0.08)
    for what, colour in (("split", "C5"), ("rescue", "k")):
        at = [(seconds / 3600.0, kg) for seconds, kind, kg in night.deeds if kind == what]
        below.vlines([x for x, _ in at], 0.0, [kg for _, kg in at], color=colour, linewidth=2.5, label=what)
    intake = [(seconds / 3600.0, opening) for seconds, kind, opening in night.deeds if kind == "intake"]
    if intake:
        end = night.trace[-1][0] / 3600.0
        times, openings = zip(*intake, strict=True)
        below.step([*times, end], [*openings, openings[-1]], where="post", color="C0", label="intake, 0-1")
    below.set_ylabel("kg")
    below.set_xlabel("hours from 20:00")
    below.legend(fontsize=7, loc="upper right", ncols=3)
    path.parent.mkdir(parents=True, exist_ok=True)
    figure.savefig(path, format="svg", metadata={"Date": None})
