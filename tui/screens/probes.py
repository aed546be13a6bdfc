"""The probes page: every probe and source, and what is wrong with it in words."""

from typing import Final

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content

from firebox.records import Health
from tui.glance import Glance
from tui.lines import in_full, probe_cells, source_row, table
from tui.widgets.words import Words

WIDE: Final = 110
"""Columns in which a probe's row has room for words."""

FINE: Final = frozenset({Health.GOOD, Health.WAITING})


class ProbesPage(VerticalScroll):
    """Probes above, sources below."""

    def compose(self) -> ComposeResult:
        yield Words(id="probe-table")

    def show(self, glance: Glance) -> None:
        width = max(20, self.size.width - 2)
        probes: list[tuple[str, ...]] = [("probe", "measures", "now", "heard", "status", "health")]
        probes += [probe_cells(glance, probe) for probe in glance.view.probes.values()]
        below = ""
        if width < WIDE:  # what is wrong with a probe must not be cut short: it gets a line of its own
            wrong = [in_full(probe) for probe in glance.view.probes.values() if probe.health not in FINE]
            below = "".join(f"\n  {words}" for words in wrong)
            probes = [cells[:5] for cells in probes]
        sources: list[tuple[str, ...]] = [("source", "link", "heard", "unusable", "last problem")]
        if glance.status is not None:
            sources += [source_row(name, glance.status) for name in glance.status.sources]
        none = "\nno probe configured or heard yet" if len(probes) == 1 else ""
        parts: list[str | tuple[str, str]] = [("PROBES\n", "bold $accent"), table(probes, width), below, none]
        parts += [("\n\nSOURCES\n", "bold $accent"), table(sources, width)]
        if glance.status is not None and glance.status.problem:
            parts += [("\n\nTHE JOURNAL IS NOT WRITTEN: ", "bold reverse"), glance.status.problem]
        for trouble in glance.view.troubles.values():
            parts += [(f"\n\n{trouble.what} {trouble.name}: ", "bold"), trouble.text]
        self.query_one(Words).say(Content.assemble(*parts))
