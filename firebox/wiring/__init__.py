"""The composition root: a configuration in, a running program out.

The only package that knows drivers and dashboard. They are imported inside functions, so that the keeper never loads
the dashboard, and asking for help loads neither.

============  =====================================================================
`watched`     a pit that can be watched, and the process that keeps it
`parts`       sources, outlets and ways to call people, from the configuration
`keeping`     the keeper
`lore`        what cooks have taught of a pit
`looking`     the dashboard, here or from afar
`looks`       how it looks at first, and what is remembered of that
`practising`  practice rounds
============  =====================================================================
"""

from firebox.wiring.keeping import DEMO_HOURS, keep
from firebox.wiring.looking import link_afar, watch, watch_afar
from firebox.wiring.lore import forget, known, learn
from firebox.wiring.parts import announcer, outlets, sources, ways
from firebox.wiring.practising import PracticeWish, practise
from firebox.wiring.watched import DEMO, DEMO_RATE, DEMO_SCENE, Watched, configured, demo, is_kept, start, stop

__all__ = [
    "DEMO",
    "DEMO_HOURS",
    "DEMO_RATE",
    "DEMO_SCENE",
    "PracticeWish",
    "Watched",
    "announcer",
    "configured",
    "demo",
    "forget",
    "is_kept",
    "keep",
    "known",
    "learn",
    "link_afar",
    "outlets",
    "practise",
    "sources",
    "start",
    "stop",
    "watch",
    "watch_afar",
    "ways",
]
