"""One piece of meat, followed through its cook: the herd that stands for it, its clocks, and what was foreseen of it.

`keep` moves all pieces on with the grid; it does the work of a step once a minute, listens to the probe each five.
What was heard is remembered each five minutes, so that an entry dated back, or one that is taken back, is cooked again
from the beginning, as if it had been known at its time.
"""

import math
from datetime import datetime
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.cooklog import CookLog, Deed
from firebox.estimate.probes import ProbeTrack
from firebox.meat import belief, cuts, doings, safety, slipped, stages
from firebox.meat import herd as herds
from firebox.meat.cuts import Piece
from firebox.meat.doings import Lies
from firebox.meat.foreseen import NARROWEST, WAGER_STEP, WIDEST, Foreseen, Reason, Wager
from firebox.meat.herd import Herd
from firebox.meat.places import place
from firebox.meat.safety import Clocks
from firebox.meat.stages import View
from firebox.records import Feel, Spritz, Turn
from firebox.setup import Role, Setup

Floats = NDArray[np.float64]

EVERY: Final = 60.0
"""Logical seconds between two steps of the herd: a tenth of the time constant of a cell."""

LISTEN_EVERY: Final = 300.0
"""Logical seconds between two readings taken in: closer ones say the same again."""

LONG_STEP: Final = 300.0
"""Longest step of the herd over a gap. [s]"""

MOST_STEPS: Final = 120
"""Steps of that length over a gap; the herd is ten hours older after it at the most."""

MOST_ROWS: Final = 600
"""Rows of what was heard that are kept: 50 h."""

PIT_REMEMBERED: Final = 1800.0
"""s; so long the last pit temperature stands when no grate probe is trusted, then the target."""

AMBIENT_CELSIUS: Final = 15.0

FRESH_CELSIUS: Final = 35.0
"""Meat that is warmer when it is first heard of has been cooking already, for nobody knows how long."""

SPRITZ_KG: Final = 0.06
"""Water that stays on a square metre. [kg/m2] Order of magnitude, no source."""

NOTHING_HEARD: Final[Floats] = np.empty((0, 6))
NOTHING_HEARD.setflags(write=False)


class Followed(Struct, frozen=True, kw_only=True):
    """One piece of meat as the watch knows it. A value, replaced by `keep` and `outlook.look`.

    Attributes
    ----------
    piece : Piece
    herd : Herd
    view : View
        The herd in some numbers, as of the last step.
    begun, stepped, listened, looked : float
        When it was first heard of; when the herd was last moved on, heard its probe, and looked ahead. [s]
    start : float
        What its probe read first. [degC]
    lies : Lies
    pit : float
        Temperature of the pit at the last step. [degC]
    pit_at : float
        When it was last measured. [s]
    clocks : Clocks
    off : float
        By how much the probe read more than the herd's middle member at the last listening. [K]
    answer : str or None
        What the cook's hand said last.
    taken : tuple of Deed
        What was done to it, as taken in so far.
    heard : ndarray, shape (n_rows, 6)
        Each five minutes: when, the pit, the probe, its noise, the second probe, its noise; nan where not known.
        [s, degC, degC, K, degC, K]
    wagers : tuple of Wager
        Bands told for later, that the probe will judge.
    width : float
        By how much wider than the herd's own the bands have to be, as judged so far. [-]
    foreseen : Foreseen or None
    foreseen_for : Reason or None
        What that was made for.
    out : tuple of bool
        Whether its probe, and its second one, has come out of the meat.
    """

    piece: Piece
    herd: Herd
    view: View
    begun: float
    stepped: float
    start: float
    listened: float = -1e9
    looked: float = -1e9
    lies: Lies = doings.ON_THE_GRATE
    pit: float = AMBIENT_CELSIUS
    pit_at: float = -1e9
    clocks: Clocks = Clocks()
    off: float = 0.0
    answer: str | None = None
    taken: tuple[Deed, ...] = ()
    heard: Floats = NOTHING_HEARD
    wagers: tuple[Wager, ...] = ()
    width: float = 1.0
    foreseen: Foreseen | None = None
    foreseen_for: Reason | None = None
    out: tuple[bool, bool] = (False, False)

    @property
    def give(self) -> float:
        """The tenderness at which it is to be pulled."""
        planned = self.foreseen.planned if self.foreseen else None
        return planned.style.give if planned is not None and planned.style.give > 0.0 else 1.0


class Moment(Struct, frozen=True, kw_only=True):
    """An instant as all pieces share it: logical seconds, what the cook did, what the owner told, and the air.

    `pit` is None where no grate probe is trusted; `ambient` is the air outside. [degC] `time` is what the clock calls it,
    where that is known.
    """

    seconds: float
    log: CookLog
    setup: Setup
    pit: float | None = None
    ambient: float = AMBIENT_CELSIUS
    time: datetime | None = None


class Sound(Struct, frozen=True):
    """What the probes in a piece say: temperature, None where one is not trusted, and noise. [degC, K]"""

    celsius: float | None
    noise: float | None
    second: float | None = None
    second_noise: float | None = None

    @property
    def coldest(self) -> float | None:
        """The lowest that is trusted."""
        return min((one for one in (self.celsius, self.second) if one is not None), default=None)


def moment(
    seconds: float,
    tracks: dict[str, ProbeTrack],
    lead: str | None,
    log: CookLog,
    setup: Setup,
    *,
    time: datetime | None = None,
) -> Moment:
    """Return the instant; `lead` names the probe that stands for the pit."""
    pit = tracks.get(lead) if lead is not None else None
    air = [track.celsius for _, track in sorted(tracks.items()) if track.role is Role.AMBIENT]
    ambient = next((celsius for celsius in air if celsius is not None), AMBIENT_CELSIUS)
    return Moment(seconds=seconds, log=log, setup=setup, pit=pit.celsius if pit else None, ambient=ambient, time=time)


def keep(followed: dict[str, Followed], now: Moment, tracks: dict[str, ProbeTrack]) -> dict[str, Followed]:
    """Return all pieces of meat, by the name of their probe, moved on to now."""
    changed: dict[str, Followed] = {}
    seconds = {piece.second: piece.probe for piece in now.setup.meats if piece.second is not None}
    for name, track in sorted(tracks.items()):
        if track.role is not Role.MEAT or name in seconds:
            continue
        before = followed.get(name)
        also = next((tracks.get(second) for second, first in seconds.items() if first == name), None)
        sound = Sound(track.celsius, track.noise)
        if also is not None:
            sound = Sound(track.celsius, track.noise, also.celsius, also.noise)
        one = _begun(before, name, sound, now)
        if one is not None and now.seconds - one.stepped >= EVERY:
            one = _kept(one, name, sound, now)
        if one is not None and one is not before:
            changed[name] = one
    return {**followed, **changed} if changed else followed


# --- a new piece ---------------------------------------------------------------------------------


def _begun(one: Followed | None, name: str, sound: Sound, now: Moment) -> Followed | None:
    """Return a piece as it was, or a new one where meat has gone on or is heard of for the first time."""
    on_at = doings.on_at(now.log, name, now.seconds)
    if (one is not None and (on_at is None or on_at <= one.begun)) or sound.coldest is None:
        return one
    if one is None or on_at is None:
        return _fresh(name, now.seconds, sound.coldest, now)
    rows = one.heard[one.heard[:, 0] >= on_at]
    if now.seconds - on_at <= EVERY or len(rows) == 0:
        return one if sound.coldest > FRESH_CELSIUS else _fresh(name, now.seconds, sound.coldest, now)
    start = rows[np.isfinite(rows[:, 2])]
    celsius = float(start[0, 2]) if len(start) else sound.coldest
    if celsius > FRESH_CELSIUS:
        return one  # the same piece, back on the grate
    return _again(replace(_fresh(name, on_at, celsius, now), heard=rows), name, now)


def _fresh(name: str, seconds: float, celsius: float, now: Moment) -> Followed:
    piece, herd = _piece(name, now), _herd(name, celsius)
    return Followed(
        piece=piece,
        herd=herd,
        view=stages.view(herd, herds.figures(herd, piece), piece),
        begun=seconds,
        stepped=seconds,
        start=celsius,
        clocks=Clocks(lowest=celsius, came_up=celsius >= safety.GROWTH_CELSIUS[1]),
    )


def _herd(name: str, celsius: float) -> Herd:
    # a piece that has been cooking is warmer outside than where the probe sits; how much is not known
    hot = celsius > FRESH_CELSIUS
    herd = herds.begin(celsius + 4.0 * hot, seed=_seed(name), spread=5.0 if hot else 1.5)
    return replace(herd, wall=AMBIENT_CELSIUS)


def _seed(name: str) -> int:
    return sum((place + 1) * code for place, code in enumerate(name.encode())) + 1


def piece_of(name: str, setup: Setup, weighed: float | None = None) -> Piece:
    """Return the piece of meat on a probe, as the owner told it and the cook weighed it; else an unnamed cut.

    Parameters
    ----------
    name : str
    setup : Setup
    weighed : float, optional
        Its weight, where the cook weighed it going in. [kg]
    """
    kg = None if weighed is None else max(weighed, cuts.LEAST_KG)
    known = cuts.known(setup.cuts)
    for told in setup.meats:
        if told.probe == name:
            thickness = None if told.thickness_mm is None else told.thickness_mm / 1000.0
            return cuts.piece(
                known.get(told.cut, known[cuts.UNNAMED]), told.kg if kg is None else kg, thickness, told.grade
            )
    return cuts.piece(known[cuts.UNNAMED], kg)


def _piece(name: str, now: Moment) -> Piece:
    return piece_of(name, now.setup, doings.weighed(now.log, name, "in"))


# --- moving on -----------------------------------------------------------------------------------


def _kept(one: Followed, name: str, sound: Sound, now: Moment) -> Followed:
    """Return a piece moved on to now; where the past is told otherwise than it was taken, it is cooked again."""
    deeds = doings.handled(now.log, name, one.begun, now.seconds)
    known = deeds[: len(one.taken)]
    if known != one.taken or any(deed.seconds < one.stepped for deed in deeds[len(known) :]):
        anew = _again(one, name, now)
        one = replace(anew, clocks=one.clocks, wagers=one.wagers, width=one.width, foreseen=one.foreseen)
    return _moved(one, name, sound, now)


def _again(one: Followed, name: str, now: Moment) -> Followed:
    """Return a piece cooked again from what was heard of it, with what is now known to have been done."""
    anew = replace(_fresh(name, one.begun, one.start, now), pit=one.pit)
    for at, pit, *said in one.heard.tolist():
        if at > anew.stepped:
            then = replace(now, seconds=at, pit=_number(pit))
            anew = _moved(anew, name, Sound(*map(_number, said)), then)
    return replace(anew, heard=one.heard)


def _number(value: float) -> float | None:
    return None if math.isnan(value) else value


def _moved(one: Followed, name: str, sound: Sound, now: Moment) -> Followed:
    """Return a piece moved on to now: cooked, its probe listened to, the cook's hand taken in."""
    seconds = now.seconds
    if now.pit is not None:
        one = replace(one, pit=now.pit, pit_at=seconds)
    elif seconds - one.pit_at > PIT_REMEMBERED:
        one = replace(one, pit=now.log.target(seconds, now.setup)[0])
    deeds = doings.handled(now.log, name, one.begun, seconds)
    new = deeds[len(one.taken) :]
    one = replace(one, lies=doings.lies(deeds), piece=_piece(name, now), taken=deeds)
    one = replace(one, herd=_handled(one, new))
    herd = _cooked(one, now)
    one, sound = _in_the_meat(one, herd, sound, seconds)
    if seconds - one.listened >= LISTEN_EVERY:
        one, herd = _listened(one, herd, sound, now)
    for deed in new:
        if isinstance(deed.entry, Feel):
            herd = belief.feel(herd, herds.figures(herd, one.piece), deed.entry.answer)
            one = replace(one, answer=deed.entry.answer)
    one = _judged(one, sound.celsius, seconds)
    lasted, poultry = seconds - one.stepped, one.piece.cut.poultry
    if any(one.out) and sound.coldest is None:
        clocks = safety.out(one.clocks, seconds, lasted, poultry=poultry)
    else:
        clocks = safety.tick(one.clocks, seconds, lasted, sound.coldest, poultry=poultry)
    view = stages.view(herd, herds.figures(herd, one.piece), one.piece, one.give)
    return replace(one, herd=herd, view=view, stepped=seconds, clocks=clocks)


def _in_the_meat(one: Followed, herd: Herd, sound: Sound, seconds: float) -> tuple[Followed, Sound]:
    """Return a piece and what its probes say, without those that have come out of it."""

    def is_out(celsius: float | None, column: int, *, second: bool) -> bool:
        was = one.out[second]
        if celsius is None:
            return was
        expected = float(np.median(herds.probed(herd, herds.figures(herd, one.piece), second=second)))
        heard = one.heard[:, [0, column]]
        return slipped.is_out(one.piece, heard, seconds, celsius, was_out=was, expected=expected)

    out = is_out(sound.celsius, 2, second=False), is_out(sound.second, 4, second=True)
    if out != one.out:
        one = replace(one, out=out)
    if out[0]:
        sound = replace(sound, celsius=None, noise=None)
    if out[1]:
        sound = replace(sound, second=None, second_noise=None)
    return one, sound


def _listened(one: Followed, herd: Herd, sound: Sound, now: Moment) -> tuple[Followed, Herd]:
    """Return a piece and its herd after its probe was listened to."""

    def number(value: float | None) -> float:
        return math.nan if value is None else value

    said = (now.pit, sound.celsius, sound.noise, sound.second, sound.second_noise)
    row = np.array([[now.seconds, *map(number, said)]])
    heard = np.concatenate([one.heard[-MOST_ROWS:], row])
    heard.setflags(write=False)
    one = replace(one, heard=heard)
    one = replace(one, listened=now.seconds)
    if sound.coldest is None:
        return one, herd
    if sound.celsius is not None:
        seen = herds.probed(herd, herds.figures(herd, one.piece))
        one = replace(one, off=sound.celsius - float(np.median(seen)))
        herd = belief.hear(herd, seen, sound.celsius, sound.noise, every=LISTEN_EVERY)
    if sound.second is not None:
        seen = herds.probed(herd, herds.figures(herd, one.piece), second=True)
        herd = belief.hear(herd, seen, sound.second, sound.second_noise, every=LISTEN_EVERY, of=belief.HEAT_TOO)
    return one, belief.forget(herd, LISTEN_EVERY)


def _judged(one: Followed, celsius: float | None, seconds: float) -> Followed:
    """Return a piece whose bands are as wide as the wagers that fell due make them."""
    due = [wager for wager in one.wagers if wager.due <= seconds]
    if not due:
        return one
    width = one.width
    for wager in due:
        if celsius is not None and wager.lies == one.lies:
            missed = not wager.low <= celsius <= wager.high
            width *= math.exp(WAGER_STEP * (missed - 0.2))
    left = tuple(wager for wager in one.wagers if wager.due > seconds)
    return replace(one, wagers=left, width=min(max(width, NARROWEST), WIDEST))


def _handled(one: Followed, new: tuple[Deed, ...]) -> Herd:
    """Return the herd after it was spritzed and turned."""
    herd = one.herd
    for deed in new:
        if isinstance(deed.entry, Spritz):
            wetted = SPRITZ_KG / herds.figures(herd, one.piece).held
            herd = replace(herd, crust=np.maximum(herd.crust - wetted, 0.0))
        elif isinstance(deed.entry, Turn):
            herd = belief.turned(herd)
    return herd


def _cooked(one: Followed, now: Moment) -> Herd:
    """Return the herd moved on to now, in steps; over a gap it is as if the pit had stood as it stands."""
    herd, made = one.herd, herds.figures(one.herd, one.piece)
    air = one.pit if one.lies.celsius is None else one.lies.celsius
    where = place(one.lies.rest, one.lies.material)
    lasted = min(now.seconds - one.stepped, LONG_STEP * MOST_STEPS)
    steps = math.ceil(lasted / LONG_STEP)
    for _ in range(steps):
        herd = herds.warm_walls(herd, one.pit, lasted / steps, ambient=now.ambient)
        herd = herds.step(herd, made, herds.surroundings(herd, made, where, air), lasted / steps)
    return herd
