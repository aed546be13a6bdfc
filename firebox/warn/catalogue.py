"""Every alarm as data: what causes it, what it leads to, how long there is, and what to do first.

`table` renders it for the documentation. Delays and deadbands start from the figures of EEMUA 191 (a deadband of 1 % of
range for temperatures, verified in a consultancy's copy: 3 K on a range of 0-300 degC; 60 s of delay, from memory) and
depart from them where the pit itself gives a reason, which then stands with the figure.
"""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from msgspec import Struct

from firebox.records import Health, Priority


class Hush(StrEnum):
    """What suppresses an alarm by design."""

    LET_OUT = "the fire was let out on purpose"
    DOOR = "a door is known to be open, or was until a few minutes ago"
    NOT_UP = "the pit has not been up to temperature since it was lit"
    NEW_TARGET = "the pit is still coming down to a lower target"


class Kind(Struct, frozen=True, kw_only=True):
    """One alarm, or one family of them (`per` says a name is appended to the id).

    Attributes
    ----------
    minutes : float
        What the cook has to respond in before the consequence. [min]
    deadband : float
        What the temperature must come back inside the limit before the condition counts as gone. [K]
    on_seconds, off_seconds : float
        How long the condition must hold, or be gone, before it counts. [s]
    hushed_by : tuple of Hush
        What suppresses it by design.
    under : tuple of str
        Alarms that are its cause or outrank it: while one of them is live this one is folded under it.
    beside : tuple of str
        Alarms that say the same of the same cause: while one of them is live this one is not raised.
    realarm_minutes : float or None
        An acknowledged alarm that still holds after so long needs acknowledging again; None: never.
    shelve_minutes : float
        The longest it can be put aside. [min]
    needs_pit : bool
        It speaks of the pit's temperature: while that is not known it neither comes nor goes.
    """

    id: str
    cause: str
    consequence: str
    minutes: float
    priority: Priority
    first: str
    over: str
    deadband: float = 0.0
    on_seconds: float = 0.0
    off_seconds: float = 60.0
    hushed_by: tuple[Hush, ...] = ()
    under: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()
    realarm_minutes: float | None = None
    shelve_minutes: float = 240.0
    needs_pit: bool = False
    per: str = ""


NOISY: Final = "noisy"
REVERSED: Final = "reversed"
"""Two ways in which a probe is implausible that have a cause, and a first action, of their own."""

_FAULT_CAUSES: Final[Mapping[str, tuple[str, str]]] = {
    Health.OPEN: ("a plug came out or a wire broke", "push its plug home, then look along its wire for damage"),
    Health.SHORTED: ("a wire is pinched, wet or burnt through", "look along its wire for a pinch or a burnt spot"),
    Health.FAILED: ("its amplifier or node reports a failure", "unplug the probe and plug it in again"),
    Health.SILENT: (
        "no reading came for a minute, or several of its own intervals",
        "look whether its node has power",
    ),
    Health.STUCK: (
        "its reading has stood still for ten minutes",
        "touch or move the probe and watch whether it answers",
    ),
    Health.IMPLAUSIBLE: (
        "its reading cannot be true where it hangs",
        "look where its tip is and how it is plugged in",
    ),
    NOISY: (
        "its readings jump about: a loose screw, a wet plug, or a wire beside something that sparks",
        "push its plug home and dry it",
    ),
    REVERSED: (
        "its two wires are swapped: it falls while the pit rises",
        "swap its two wires at the plug",
    ),
    Health.DISAGREEING: (
        "it has moved apart from the other grate probes for five minutes",
        "look whether a grate probe has slipped or touches meat or metal",
    ),
}


def _fault(health: str) -> Kind:
    cause, first = _FAULT_CAUSES[health]
    return Kind(
        id=f"probe-{health}",
        per="probe",
        cause=cause,
        consequence="this probe is not seen; without any other at the grate the watch is blind",
        minutes=15.0,
        priority=Priority.MEDIUM,
        first=first[0].upper() + first[1:] + ".",
        over="The probe is good again.",
        on_seconds=60.0 if health in {Health.IMPLAUSIBLE, NOISY, REVERSED} else 0.0,
        hushed_by=(Hush.LET_OUT,),
        under=("readings-stale",),
        realarm_minutes=60.0,
    )


_KINDS: Final = (
    Kind(
        id="journal-trouble",
        cause="the journal cannot be written: disk full, read-only or damaged",
        consequence="the watch goes on in memory; what it knows is lost if it stops",
        minutes=60.0,
        priority=Priority.HIGH,
        first="Free some disk space, or restart on another disk, while the watch goes on.",
        over="The journal is being written again.",
        realarm_minutes=60.0,
    ),
    Kind(
        id="disk-low",
        cause="the disk that holds the journal is nearly full",
        consequence="the journal cannot be written any more; what the watch knows is then lost if it stops",
        minutes=60.0,
        priority=Priority.MEDIUM,
        first="Delete what is not needed on that disk.",
        over="There is room on the disk again.",
        on_seconds=30.0,
        off_seconds=60.0,
        under=("journal-trouble",),
    ),
    Kind(
        id="power-low",
        cause="the computer's supply voltage falls below what it needs: a weak power supply, or a thin or long cable",
        consequence="it may restart at any moment, damage its disk, or drop the probes",
        minutes=30.0,
        priority=Priority.MEDIUM,
        first="Push its power plug home; use the supply that was made for it, with a short cable.",
        over="The supply voltage is right again.",
        on_seconds=10.0,
        off_seconds=600.0,
    ),
    Kind(
        id="overheating",
        cause="the computer is too hot: in the sun, beside the firebox, or shut in",
        consequence="it slows down, and then switches itself off",
        minutes=15.0,
        priority=Priority.MEDIUM,
        first="Move it into the shade and away from the firebox, and let air at it.",
        over="The computer has cooled down.",
        on_seconds=30.0,
        off_seconds=120.0,
        realarm_minutes=30.0,
    ),
    Kind(
        id="source-away",
        per="source",
        cause="a probe source cannot be reached: unplugged, without power, or its network is down",
        consequence="its probes are not seen",
        minutes=10.0,
        priority=Priority.MEDIUM,
        first="Check the plug and the power of the probe node.",
        over="The source is back.",
        on_seconds=15.0,
        off_seconds=30.0,
        hushed_by=(Hush.LET_OUT,),
        realarm_minutes=30.0,
    ),
    Kind(
        id="readings-stale",
        cause="nothing has been heard from any probe for a minute",
        consequence="the pit is not seen and nothing can be foretold",
        minutes=10.0,
        priority=Priority.HIGH,
        first="Check the plug and the power of the probe node; until then look at the pit yourself.",
        over="Readings come again.",
        off_seconds=20.0,
        hushed_by=(Hush.LET_OUT,),
        realarm_minutes=20.0,
    ),
    *(_fault(health) for health in _FAULT_CAUSES),
    Kind(
        id="blind",
        cause="no probe at the grate can be trusted, and no single fault explains it",
        consequence="the pit is not seen and nothing can be foretold",
        minutes=10.0,
        priority=Priority.HIGH,
        first="Look at the pit yourself, then at the plugs of the grate probes.",
        over="A grate probe can be trusted again.",
        on_seconds=60.0,
        off_seconds=20.0,
        hushed_by=(Hush.LET_OUT,),
        under=("readings-stale",),
        realarm_minutes=20.0,
    ),
    Kind(
        id="pit-too-hot",
        cause="the fire gives more heat than the pit needs: too much wood, too much air, or burning grease",
        consequence="the meat burns; grease may catch fire",
        minutes=5.0,
        priority=Priority.HIGH,
        first="Close the intake by two marks, add no wood, keep both doors shut. No water on burning grease.",
        over="The pit is back below its upper limit.",
        deadband=3.0,
        on_seconds=15.0,
        hushed_by=(Hush.NEW_TARGET,),
        realarm_minutes=10.0,
        shelve_minutes=30.0,
        needs_pit=True,
    ),
    Kind(
        id="flare",
        cause="the pit rises faster than wood can make it: grease has caught fire in the chamber",
        consequence="the upper limit is crossed within a few minutes, and the meat burns",
        minutes=2.0,
        priority=Priority.HIGH,
        first="Close the intake by two marks or more, keep both doors shut. No water on burning grease.",
        over="The sudden rise is over.",
        on_seconds=10.0,
        off_seconds=120.0,
        hushed_by=(Hush.NOT_UP,),
        under=("pit-too-hot",),
        realarm_minutes=10.0,
        shelve_minutes=30.0,
        needs_pit=True,
    ),
    Kind(
        id="rising-fast",
        cause="the pit rises fast and no split explains it: an intake left wide open, or more wood than was logged",
        consequence="the upper limit is crossed within minutes",
        minutes=5.0,
        priority=Priority.HIGH,
        first="Close the intake by two marks, add no wood, keep both doors shut.",
        over="The fast rise is over.",
        hushed_by=(Hush.NEW_TARGET, Hush.NOT_UP),
        under=("flare", "pit-too-hot"),
        beside=("running-away",),
        shelve_minutes=60.0,
        needs_pit=True,
    ),
    Kind(
        id="running-away",
        cause="the wood in the fire and the air it gets will carry the pit over its upper limit",
        consequence="the upper limit is crossed within minutes",
        minutes=5.0,
        priority=Priority.HIGH,
        first="Close the intake by two marks, add no wood, keep both doors shut.",
        over="The pit is no longer expected to cross its upper limit.",
        off_seconds=120.0,
        hushed_by=(Hush.NEW_TARGET, Hush.NOT_UP),
        under=("flare", "pit-too-hot"),
        beside=("rising-fast",),
        realarm_minutes=20.0,
        shelve_minutes=60.0,
        needs_pit=True,
    ),
    Kind(
        id="pit-too-cold",
        cause="the fire gives too little heat: burnt down, starved of air, or a door stands open",
        consequence="the cook stands still; meat lingers where germs grow; soon the coals cannot light a split",
        minutes=15.0,
        priority=Priority.HIGH,
        first="Look at the coals. If they glow, open the intake by a mark and lay one small dry split; if not, light kindling.",
        over="The pit is back above its lower limit.",
        deadband=3.0,
        on_seconds=120.0,
        hushed_by=(Hush.LET_OUT, Hush.DOOR, Hush.NOT_UP),
        realarm_minutes=20.0,
        shelve_minutes=120.0,
        needs_pit=True,
    ),
    Kind(
        id="door-ajar",
        cause="the pit loses heat as it does only through an open door, and no door was logged as open",
        consequence="the pit falls below its lower limit within minutes",
        minutes=5.0,
        priority=Priority.HIGH,
        first="Look whether the cook door is shut all the way, then the firebox door.",
        over="The fast fall is over.",
        off_seconds=120.0,
        hushed_by=(Hush.LET_OUT, Hush.DOOR, Hush.NOT_UP, Hush.NEW_TARGET),
        under=("pit-too-cold",),
        beside=("fire-dying",),
        realarm_minutes=20.0,
        shelve_minutes=60.0,
        needs_pit=True,
    ),
    Kind(
        id="split-stalled",
        cause="the last split gives no heat: wet, too large for the coals, or laid where no flame reaches it",
        consequence="the coals burn down under it until nothing lights any more",
        minutes=20.0,
        priority=Priority.HIGH,
        first="Open the intake by a mark. If the split does not flame, pull it out and lay small dry wood on the coals.",
        over="The split burns.",
        off_seconds=180.0,
        hushed_by=(Hush.LET_OUT, Hush.DOOR, Hush.NOT_UP, Hush.NEW_TARGET),
        under=("pit-too-cold",),
        beside=("fire-dying", "door-ajar"),
        realarm_minutes=20.0,
        shelve_minutes=120.0,
        needs_pit=True,
    ),
    Kind(
        id="ash-choking",
        cause="wood is fed and the air is open, and yet the pit falls: ash keeps the air from the coals",
        consequence="the coals go out under their ash, however much wood is laid",
        minutes=30.0,
        priority=Priority.HIGH,
        first="Rake the ash through the grate, or shovel it out, then log it; the wood can wait.",
        over="The fire breathes again.",
        off_seconds=300.0,
        hushed_by=(Hush.LET_OUT, Hush.DOOR, Hush.NOT_UP, Hush.NEW_TARGET),
        under=("pit-too-cold",),
        beside=("fire-dying", "door-ajar", "split-stalled"),
        realarm_minutes=30.0,
        shelve_minutes=240.0,
        needs_pit=True,
    ),
    Kind(
        id="fire-dying",
        cause="the wood has burnt down and no split is logged, or the last one did not catch",
        consequence="the pit falls below its lower limit and the coals grow too cold to light a split",
        minutes=20.0,
        priority=Priority.HIGH,
        first="Open the intake by a mark and lay one small dry split on the coals; if none glow, light kindling.",
        over="The fire holds again.",
        off_seconds=180.0,
        hushed_by=(Hush.LET_OUT, Hush.DOOR, Hush.NOT_UP, Hush.NEW_TARGET),
        under=("pit-too-cold",),
        beside=("door-ajar", "split-stalled", "ash-choking"),
        realarm_minutes=20.0,
        shelve_minutes=120.0,
        needs_pit=True,
    ),
    Kind(
        id="smouldering",
        cause="wood lies on the fire without flames: too little air, or coals too few or too cold to light it",
        consequence="thick white smoke that makes the meat bitter; the fire then dies",
        minutes=15.0,
        priority=Priority.LOW,
        first="Open the intake by a mark, and look whether the wood flames.",
        over="The wood burns with flames again.",
        on_seconds=900.0,
        off_seconds=300.0,
        hushed_by=(Hush.LET_OUT, Hush.DOOR, Hush.NOT_UP),
        under=("pit-too-cold", "fire-dying", "split-stalled", "ash-choking"),
        needs_pit=True,
    ),
    Kind(
        id="meat-unsafe",
        per="probe",
        cause="the meat has been too long at temperatures where germs grow",
        consequence="it may not be safe to eat, however it is cooked from here on",
        minutes=30.0,
        priority=Priority.HIGH,
        first="Bring the pit up to its target now; read the safety lines on the meat page.",
        over="The meat is out of the growth range.",
        on_seconds=60.0,
        off_seconds=300.0,
        realarm_minutes=60.0,
    ),
    Kind(
        id="meat-too-cool",
        per="probe",
        cause="finished meat is held below hot holding",
        consequence="what survived grows again; it has to be served or cooled within two hours",
        minutes=60.0,
        priority=Priority.MEDIUM,
        first="Serve it, warm its place to 60 C (140 F) or more, or cool it quickly; read the safety lines on the meat page.",
        over="The meat is held hot again, or has been cooled.",
        on_seconds=300.0,
        off_seconds=300.0,
        realarm_minutes=60.0,
    ),
    Kind(
        id="meat-ready",
        per="probe",
        cause="the meat may be ready: only a hand can tell",
        consequence="it goes on past its best",
        minutes=60.0,
        priority=Priority.LOW,
        first="Go and feel it.",
        over="It has been felt, or has come off.",
        on_seconds=60.0,
        off_seconds=600.0,
    ),
    Kind(
        id="door-left-open",
        cause="a door was logged as opened more than four minutes ago",
        consequence="the pit loses its heat, or the fire draws too much air",
        minutes=5.0,
        priority=Priority.MEDIUM,
        first="Close it; if it is closed already, log it as closed.",
        over="The door is closed.",
        off_seconds=0.0,
        hushed_by=(Hush.LET_OUT,),
        realarm_minutes=20.0,
    ),
    Kind(
        id="wake-up",
        cause="the cook sleeps, as far as told, and the next move is due",
        consequence="the pit leaves its band, and the coals burn down",
        minutes=10.0,
        priority=Priority.MEDIUM,
        first="Do what the next move says, log it, then lie down again.",
        over="What was due is done, or need not be done any more.",
        off_seconds=60.0,
        hushed_by=(Hush.LET_OUT,),
        under=("pit-too-hot", "pit-too-cold", "fire-dying"),
        realarm_minutes=15.0,
        shelve_minutes=30.0,
    ),
    Kind(
        id="watch-resumed",
        cause="the watch was interrupted for more than a minute",
        consequence="what happened meanwhile is not known",
        minutes=15.0,
        priority=Priority.LOW,
        first="Look at the pit, and log what was done meanwhile.",
        over="The watch goes on.",
        off_seconds=0.0,
    ),
    Kind(
        id="clock-jumped",
        cause="the clock of the computer was set by more than a minute",
        consequence="times that were written down before, and a serving hour, may be off by as much",
        minutes=60.0,
        priority=Priority.LOW,
        first="Look whether the time is right now, and whether the serving hour still is.",
        over="That was a while ago.",
        off_seconds=0.0,
    ),
    Kind(
        id="link-lost",
        per="link",
        cause="an outlet for other devices cannot be reached",
        consequence="other devices do not hear of alarms",
        minutes=30.0,
        priority=Priority.LOW,
        first="Check the network and the broker; the watch itself goes on.",
        over="The link is back.",
        on_seconds=60.0,
        off_seconds=30.0,
    ),
    Kind(
        id="notice-failed",
        per="way",
        cause="a notice could not be delivered: no loudspeaker, no network, or an address that is no longer right",
        consequence="whoever was to be called in this way sleeps on",
        minutes=15.0,
        priority=Priority.MEDIUM,
        first="Stay awake or call them yourself; then try the way with `firebox probes --notices`.",
        over="Notices in this way arrive again.",
        on_seconds=0.0,
        off_seconds=30.0,
    ),
    Kind(
        id="part-trouble",
        per="part",
        cause="a part of the program itself reports trouble",
        consequence="as its report says",
        minutes=30.0,
        priority=Priority.LOW,
        first="Read its report on the probes page; the watch goes on as well as it can.",
        over="The trouble is over.",
        on_seconds=10.0,
        off_seconds=30.0,
    ),
)

CATALOGUE: Final[Mapping[str, Kind]] = MappingProxyType({kind.id: kind for kind in _KINDS})
"""Alarm id, or family -> kind, in the order in which causes are looked at before consequences."""

RANK: Final[Mapping[str, int]] = MappingProxyType({kind.id: place for place, kind in enumerate(_KINDS)})
"""Place in the catalogue."""

_LONGEST_ID: Final = 64
"""As long as a name in an order may be."""


def member(family: str, name: str) -> str:
    """Return the id of one alarm of a family."""
    return f"{family}-{name}"[:_LONGEST_ID]


def kind_of(alarm: str) -> Kind | None:
    """Return the kind of an alarm id; None where no such alarm exists.

    Examples
    --------
    >>> kind_of("probe-silent-grate").id
    'probe-silent'
    >>> kind_of("tea-cold") is None
    True
    """
    exact = CATALOGUE.get(alarm)
    if exact is not None:
        return None if exact.per else exact
    return next((kind for kind in _KINDS if kind.per and alarm.startswith(kind.id + "-")), None)


def table() -> str:
    """Return the catalogue as a Markdown table."""
    head = ("alarm", "cause", "consequence", "time to respond", "priority", "first", "deadband", "delay on / off",
            "suppressed when", "folded under")  # fmt: skip
    lines = ["| " + " | ".join(head) + " |", "|---" * len(head) + "|"]
    for kind in _KINDS:
        name = f"{kind.id}-<{kind.per}>" if kind.per else kind.id
        cells = (
            f"`{name}`",
            kind.cause,
            kind.consequence,
            f"{kind.minutes:.0f} min",
            str(kind.priority),
            kind.first,
            f"{kind.deadband:.0f} K" if kind.deadband else "",
            f"{kind.on_seconds:.0f} s / {kind.off_seconds:.0f} s",
            "; ".join(kind.hushed_by),
            ", ".join(f"`{other}`" for other in (*kind.under, *kind.beside)),
        )
        lines.append("| " + " | ".join(cells) + " |")
    return "\n".join(lines) + "\n"
