"""Scenes to practise on. Every pit, name and happening here is invented."""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Final

from msgspec import Struct

from firebox.practice.build import Build, sized
from firebox.practice.cooks import GOOD_LOG, Hand, Plan, Style
from firebox.practice.fire import Fire
from firebox.practice.gauges import Gauge, Panel
from firebox.practice.session import Event, Session, plug_in, plug_out
from firebox.practice.weather import SKIES, Weather
from firebox.records import DamperName
from firebox.setup import PitBuild, Probe, Role, Setup, Wood

_MINUTE: Final = 60.0
_EPOCH: Final = datetime(2000, 1, 1, tzinfo=UTC)  # the hand's own clock; the session moves its entries


class Scene(Struct, frozen=True, kw_only=True):
    """A scene: a pit, its weather, who tends it, and what befalls.

    Attributes
    ----------
    name, title, brief : str
        For the command line, for the screen, and what the cook is told.
    build : Build
    sky : str
        A key of `weather.SKIES`.
    style : Style or None
        Of the simulated hand; None: the person at the keys tends the fire alone.
    warm : bool
        The fire burns already.
    start_hour : float
        Hour of the day at the beginning.
    meat_kg : float
    moisture : float
        Of the wood, dry basis.
    seed : int
    """

    name: str
    title: str
    brief: str
    build: Build
    sky: str = "calm"
    style: Style | None = None
    warm: bool = True
    start_hour: float = 2.0
    meat_kg: float = 0.0
    moisture: float = 0.18
    seed: int = 1


DEMO: Final = Scene(
    name="lantern",
    title="Lantern pit (invented)",
    brief="A fire at two in the morning, tended by a hand that means well and nods off.",
    build=sized("Lantern pit", 950.0, 6.35, insulated=True),
    sky="breezy",
    style=Style.SKILFUL,
    seed=48,
    meat_kg=6.0,
)

SCENES: Final = {DEMO.name: DEMO}


def setup(scene: Scene, time: datetime, session: Session | None = None) -> Setup:
    """Return what the owner of a scene's pit would have told the watch; with a session, also how its dampers stand."""
    build = scene.build
    kg = build.usual_split_kg
    return Setup(
        time=time,
        pit=scene.build.name,
        build=PitBuild(
            chamber_litres=build.litres,
            wall_mm=round(build.wall * 1e3, 2),
            firebox_insulated=build.insulation is not None,
            usual_split_kg=kg,
        ),
        probes=tuple(Probe(name=g.name, role=g.role, lag_seconds=g.lag) for g in gauges(scene)),
        wood=Wood(moisture=scene.moisture, small_kg=round(0.65 * kg, 2), medium_kg=kg, large_kg=round(1.4 * kg, 2)),
        intake_open=None if session is None else round(session.fire.intake, 3),
        stack_open=None if session is None else round(session.fire.stack, 3),
    )


def stage(scene: Scene) -> Session:
    """Return a session at the beginning of a scene; a warm one has been tended for some hours before.

    Takes about a second of computing where the fire has to be warmed.
    """
    build = scene.build
    weather = Weather(SKIES[scene.sky], scene.seed, scene.start_hour - (4.0 if scene.warm else 0.0))
    fire = Fire(build, weather)
    panel = Panel(gauges(scene), fire, scene.seed)
    plan = Plan(split_kg=build.usual_split_kg, moisture=scene.moisture, doors=False, meat_kg=scene.meat_kg)
    hand = Hand(scene.style or Style.SKILFUL, GOOD_LOG, plan, scene.seed, _EPOCH)
    if scene.warm:
        warm(fire, panel, hand, scene)
    hand.entries(fire.seconds + 600.0)  # what was written down before the scene is not part of it
    events = _demo_events(build) if scene is DEMO else ()
    return Session(fire, panel, hand if scene.style else None, events, split_kg=build.usual_split_kg)


def gauges(scene: Scene) -> tuple[Gauge, ...]:
    """Return the probes of a scene's pit."""
    grate = Gauge(name="grate", place=0.5, lag=45.0, offset=0.6)
    second = Gauge(name="grate2", place=0.8, lag=45.0, offset=-0.4)
    ambient = Gauge(name="ambient", role=Role.AMBIENT, lag=90.0, noise=0.15)
    meat = Gauge(name="flat", role=Role.MEAT, lag=20.0, noise=0.1)
    return (grate, second, *((meat,) if scene.meat_kg > 0.0 else ()), ambient)


def warm(fire: Fire, panel: Panel, hand: Hand, scene: Scene, each: Callable[[], None] | None = None) -> None:
    """Tend a fire for three hours or more, until it is on target and the next split is some minutes away.

    `each` is called every ten seconds, after the hand has looked.
    """
    hand.light(fire)
    fire.fill_pan(3.0)
    target = hand.plan.target
    while fire.seconds < 6.0 * 3600.0:
        fire.run(10.0)
        panel.follow(fire)
        celsius = panel.felt("grate")
        hand.look(fire, celsius)
        if each is not None:
            each()
        if scene.meat_kg > 0.0 and fire.chamber.meat_kg == 0.0 and fire.seconds > 3600.0:
            fire.put_meat(scene.meat_kg)
        since = fire.seconds - hand.split_at
        if fire.seconds > 3.0 * 3600.0 and -1.0 < celsius - target < 5.0 and 840.0 < since < 1500.0:
            return


_LIVELY: Final = 8000.0
"""W of flame on which a split too large runs away instead of smothering."""

_GIVES_UP: Final = 85.0 * _MINUTE


def _demo_events(build: Build) -> tuple[Event, ...]:
    def too_much(session: Session) -> None:
        hand, now = session.hand, session.seconds
        if hand is None or now > _GIVES_UP:
            return
        fed_lately = session.fire.seconds - hand.split_at < 8.0 * _MINUTE
        if session.fire.seconds < hand.held_until or fed_lately or session.fire.flame_watts() < _LIVELY:
            session.later(Event(seconds=now + _MINUTE, befall=too_much))
            return
        # the log says a usual split; the intake, opened wide to help it along, is forgotten and never written down
        hand.feed(session.fire, 1.5 * build.usual_split_kg, 0.0, written_kg=build.usual_split_kg)
        session.fire.set_damper(DamperName.INTAKE, 1.0)
        hand.held_until = session.fire.seconds + 36.0 * _MINUTE  # and the hand nods off
        session.later(Event(seconds=now + 36.0 * _MINUTE, befall=wake))

    def wake(session: Session) -> None:
        if session.hand is not None and session.fire.intake > 0.9:
            session.hand.set_damper(session.fire, DamperName.INTAKE, 0.375, always=True)

    return (
        Event(seconds=26.0 * _MINUTE, befall=plug_out("grate2")),
        Event(seconds=52.0 * _MINUTE, befall=plug_in("grate2")),
        Event(seconds=54.0 * _MINUTE, befall=too_much),
    )
