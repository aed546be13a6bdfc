"""The side panel of a wide screen: what stands on other pages of a narrow one."""

from textual.content import Content

from tui import view as views
from tui.alarm_words import alarms_in_brief, strip
from tui.glance import Glance
from tui.lines import (
    dampers_in_brief,
    doors_open,
    fire_in_brief,
    heard,
    heat_in_brief,
    log_row,
    meat_lines,
    probe_row,
    table,
)
from tui.text import cut
from tui.widgets.words import Words

ENTRIES = 9


class SidePanel(Words):
    """Meat, fire, probes, alarms and the last entries, under one another."""

    def show(self, glance: Glance) -> None:
        width = max(20, (self.size.width or 44) - 1)
        probes = table([probe_row(glance, probe)[:4] for probe in glance.view.probes.values()], width)
        fire = [
            line
            for line in (fire_in_brief(glance), heat_in_brief(glance), dampers_in_brief(glance), *doors_open(glance))
            if line
        ]
        lines = [cut(log_row(glance, line), width) for line in reversed(glance.view.lines[-ENTRIES:])]
        parts: list[str | tuple[str, str]] = []
        for head, body in (
            ("MEAT", "\n".join(meat_lines(glance))),
            ("FIRE", "\n".join(fire)),
            ("PROBES", probes),
            ("ALARMS", strip(glance.view) or alarms_in_brief(glance.view)),
            ("ENTRIES", "\n".join(lines) or "none yet"),
            ("WATCH", heard(glance) + self._aside(glance)),
        ):
            if body:
                parts += [(f"{head}\n", "bold $accent"), f"{body}\n\n"]
        self.say(Content.assemble(*parts))

    @staticmethod
    def _aside(glance: Glance) -> str:
        aside = len(views.set_aside(glance.view))
        return f", {aside} alarm{'s' if aside > 1 else ''} set aside" if aside else ""
