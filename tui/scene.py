"""What the chart and the heat ribbon are to show. Pure."""

from bisect import bisect_right
from collections.abc import Sequence
from typing import Final

from firebox.records import Burning, Damper, DamperName, Door, Lit, MeatOn, Outlook, Rake, Split, Spritz, Wrap
from firebox.units import celsius_to, kelvin_to, kg_to
from tui import view as views
from tui.advice import due
from tui.glance import Glance
from tui.plot import AHEAD_SECONDS, Scene
from tui.ribbon import Bar, Heat
from tui.text import is_known
from tui.view import ProbeView

LETTERS: Final = {Rake: "r", Lit: "l", Spritz: "z", Wrap: "w", MeatOn: "m"}


SAME_SECONDS: Final = 10.0
"""A split's age is told to a tenth of a minute, so its instant is known to a few seconds."""


def charted(glance: Glance) -> ProbeView | None:
    """Return the probe whose course is drawn."""
    return glance.view.probes.get(glance.charted or "") or views.lead(glance.view)


def charts(glance: Glance) -> tuple[str | None, ...]:
    """Return what the chart can show: the pit, then every other probe by name."""
    pit = views.lead(glance.view)
    return (None, *(name for name in sorted(glance.view.probes) if pit is None or name != pit.name))


def scene(glance: Glance) -> Scene:
    """Return the picture of the pit, or of the probe that the cook chose."""
    scale, view = glance.preferences.degrees, glance.view
    probe = charted(glance)
    is_pit = probe == views.lead(view)

    def target(seconds: float) -> tuple[float, float]:
        celsius, band = view.cook.target(seconds, glance.setup)
        return celsius_to(celsius, scale), kelvin_to(band, scale)

    def clock_at(seconds: float) -> tuple[int, str]:
        local = glance.instant(seconds).astimezone(glance.zone)
        return local.hour * 60 + local.minute, glance.clock(seconds)

    return Scene(
        now=glance.seconds,
        history_seconds=glance.history_seconds,
        title="" if is_pit or probe is None else probe.name,
        trail=tuple((seconds, celsius_to(value, scale)) for seconds, value in probe.trail) if probe else (),
        fan=_fan(glance) if is_pit else (),
        promise=_promise(glance) if is_pit else (),
        target=target if view.setup and is_pit else None,
        marks=marks(glance),
        due=_due_in_sight(glance),
        heat=_heat(glance),
        gaps=view.gaps,
        clock=clock_at,
    )


Points = tuple[tuple[float, float, float, float], ...]
"""(seconds, 10 %, 50 %, 90 %) in the cook's degrees."""


def _course(glance: Glance, outlook: Outlook | None, told: float) -> Points:
    """Return the points of an outlook, from where the pit is now."""
    if outlook is None:
        return ()
    here = outlook.celsius
    points = [(told, here, here, here)] if here is not None else []
    points += [
        (told + 60.0 * minutes, low, middle, high)
        for minutes, low, middle, high in zip(outlook.minutes, outlook.p10, outlook.p50, outlook.p90, strict=False)
    ]
    scale = glance.preferences.degrees
    return tuple(
        (seconds, celsius_to(low, scale), celsius_to(middle, scale), celsius_to(high, scale))
        for seconds, low, middle, high in points
        if is_known(low) and is_known(middle) and is_known(high)
    )


def _fan(glance: Glance) -> Points:
    """Return the course if nothing more is done."""
    return _course(glance, views.fresh_outlook(glance.view), glance.view.outlook_at)


def _promise(glance: Glance) -> tuple[tuple[float, float], ...]:
    """Return the middle course under the recommended move."""
    points = _course(glance, views.fresh_promise(glance.view), glance.view.promise_at)
    return tuple((seconds, middle) for seconds, _, middle, _ in points)


def _heat(glance: Glance) -> tuple[Heat, ...]:
    """Return the fire's heat over the span of the chart, and a little before it, so that its first column is known."""
    since = glance.seconds - glance.history_seconds - 10.0 * views.HEAT_SECONDS
    deeds = glance.view.cook.deeds
    wood = sorted(deed.seconds for deed in deeds if isinstance(deed.entry, Split | Lit))
    return tuple(
        Heat(
            seconds=seconds,
            watts=max(0.0, fire.heat_watts),
            need=max(0.0, fire.need_watts) if fire.need_watts is not None and is_known(fire.need_watts) else None,
            bars=tuple(_bar(burning, seconds, wood) for burning in fire.splits if is_known(burning.watts)),
        )
        for seconds, fire in glance.view.heat
        if seconds >= since and fire.heat_watts is not None and is_known(fire.heat_watts)
    )


def _bar(burning: Burning, seconds: float, wood: Sequence[float]) -> Bar:
    """Return a split's bar, with the number of the split: it went in `minutes` before, told to a tenth."""
    went_in = seconds - 60.0 * burning.minutes
    return Bar(bisect_right(wood, went_in + SAME_SECONDS), burning.stage, max(0.0, burning.watts))


def _due_in_sight(glance: Glance) -> float | None:
    moment = due(glance)
    return moment if moment is not None and moment <= glance.seconds + AHEAD_SECONDS else None


def marks(glance: Glance) -> tuple[tuple[float, str], ...]:
    """Return (seconds, letter) of what the cook did; a split carries its weight."""
    found = []
    for deed in glance.view.cook.deeds:
        match deed.entry:
            case Split(kg=kg):
                weight = "" if kg is None else f"{kg_to(kg, glance.preferences.mass):.1f}"
                found.append((deed.seconds, f"s{weight}"))
            case Door(open=True):
                found.append((deed.seconds, "o"))
            case Door():
                continue
            case Damper(damper=damper):
                found.append((deed.seconds, "i" if damper is DamperName.INTAKE else "t"))
            case entry if type(entry) in LETTERS:
                found.append((deed.seconds, LETTERS[type(entry)]))
            case _:
                continue
    return tuple(found)


def cache_key(glance: Glance, width: int) -> tuple[object, ...]:
    """Return what the picture depends on: it is drawn anew only when this changes."""
    view = glance.view
    step = (glance.history_seconds + AHEAD_SECONDS) / max(1, width)
    probe = charted(glance)
    return (
        int(glance.seconds / step),
        probe and (probe.name, len(probe.trail), probe.trail[-1:]),
        tuple(round(value) for point in (*_fan(glance), *_promise(glance)) for value in point[1:]),
        view.cook.changes,
        view.heat[-1:],
        view.gaps,
        view.epoch,
        view.setup,
        glance.preferences,
        glance.charted,
        _due_in_sight(glance) and int((_due_in_sight(glance) or 0.0) / 60.0),
    )
