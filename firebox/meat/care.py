"""What may be worth doing for the meat now, each as a prompt that can be passed over and hushed by its name.

What a thing costs or saves is taken from the herd where the model knows it, and is common practice where it says so. Food
safety is no prompt: it stands in `safety`, and cannot be hushed.
"""

from collections.abc import Callable
from typing import Final

import numpy as np
from msgspec import Struct

from firebox.meat import ahead
from firebox.meat import herd as herds
from firebox.meat.follow import SPRITZ_KG, Followed
from firebox.meat.places import place
from firebox.meat.stages import PLATEAU_CELSIUS, PLATEAU_DRIFT, WORTH_FEELING, View
from firebox.meat.vapour import latent_heat
from firebox.records import MeatOn, Turn

BEGINNING_HOURS: Final = 1.0
"""So long after it went on, which side is up is still worth a word."""

TURN_HOURS: Final = 3.0
"""Lain so long, it is worth turning: common practice, no source."""

HOT_SPOT_KELVIN: Final = 5.0
"""The meat lies so much hotter than the pit's probe tells: more than the spread that is taken for granted."""

RUNS_AHEAD_CELSIUS: Final = 92.0
"""Outside before bark is set: browning goes twice as fast as at the 80 degC at which it is reckoned."""

THIN_CELSIUS: Final = 68.0
"""Outside from which thin parts, heated from both sides, are well ahead of the middle."""

TOO_FAR: Final = 1.6
STILL_COOKING: Final = (1.2, 80.0)
"""Tenderness and middle temperature from which resting meat should not be wrapped up hot. [-, degC]"""

FLAT_CUTS: Final = 0.5
"""Cuts of a shape below that are flat: they hold pools, and have thin ends. [-]"""

MOST_MINUTES: Final = 120.0


class Case(Struct, frozen=True, kw_only=True):
    """A piece as the prompts look at it, how fast its probe rises, and now. [K/h, s]"""

    one: Followed
    drift: float | None
    seconds: float

    @property
    def view(self) -> View:
        return self.one.view

    @property
    def bare(self) -> bool:
        return self.one.lies.material == "none"

    @property
    def flat(self) -> bool:
        return self.one.piece.shape < FLAT_CUTS


def prompts(case: Case) -> dict[str, str]:
    """Return what may be worth doing, by the name of the prompt, the most needed first."""
    found = _ON_THE_GRATE if case.one.lies.rest == "grate" else _RESTING
    said = ((name, word(case)) for name, word in found.items())
    return {name: text for name, text in said if text is not None}


# --- on the grate --------------------------------------------------------------------------------


def _feel(case: Case) -> str | None:
    if case.view.ready < WORTH_FEELING or case.one.answer in ("giving", "gone"):
        return None
    return f"go and feel: {case.one.piece.cut.feel}"


def _too_far(case: Case) -> str | None:
    if case.view.tender[1] <= TOO_FAR or case.one.piece.cut.ends != "tender":
        return None
    return "it has most likely gone far enough; every hour hotter than 80 C (176 F) makes it crumble more"


def _fat_side(case: Case) -> str | None:
    early = case.seconds - case.one.begun < 3600.0 * BEGINNING_HOURS and case.one.start < 35.0
    if not early or case.one.piece.cut.poultry or not case.bare:
        return None
    return "fat side to where the heat comes from: it shields the lean there (from the firebox's end, or from below)"


def _spritz(case: Case) -> str | None:
    if not _bark_forms(case) or case.view.outside < RUNS_AHEAD_CELSIUS:
        return None
    minutes, dries = spritz_costs(case.one)
    return (
        f"spritz only a spot that runs ahead (dark, hard edges): each costs about {minutes:.0f} min of heat there, and its "
        f"bark about {dries:.0f} min"
    )


def _leave_alone(case: Case) -> str | None:
    if not _bark_forms(case) or case.view.outside >= RUNS_AHEAD_CELSIUS:
        return None
    return "bark is forming: leave it alone, do not spritz for its own sake; each opening costs minutes as well"


def _bark_forms(case: Case) -> bool:
    return case.bare and case.view.bark < 1.0 and case.view.outside > 70.0


def _thin(case: Case) -> str | None:
    if not case.bare or not case.flat or case.view.outside < THIN_CELSIUS or case.view.bark >= 1.0:
        return None
    return "thin or scalped ends run ahead: turn them away from the firebox, or shield them with a strip of foil"


def _turn(case: Case) -> str | None:
    near = case.view.near
    if near >= HOT_SPOT_KELVIN:
        hotter = f"{near:.0f} C ({1.8 * near:.0f} F)"
        return f"it lies about {hotter} hotter than the pit's probe tells: move it, or turn its other side there"
    lain = (case.seconds - _laid_at(case.one)) / 3600.0
    if lain < TURN_HOURS or case.view.ready >= WORTH_FEELING or case.one.start > 35.0:
        return None
    return f"it has lain {lain:.0f} h as it lies: turn its other end to the firebox if that side is darker"


def _laid_at(one: Followed) -> float:
    laid = [deed.seconds for deed in one.taken if isinstance(deed.entry, Turn | MeatOn)]
    return laid[-1] if laid else one.begun


def _juices(case: Case) -> str | None:
    if not case.bare or not case.flat or case.view.bark < 0.6 or case.view.middle < 60.0:
        return None
    if case.one.piece.cut.poultry:
        return None
    return "tip off juices that pool on top: bark under a pool goes soft"


def _wrap(case: Case) -> str | None:
    ready = case.view.ready >= WORTH_FEELING
    if not case.bare or case.view.bark < 1.0 or case.one.piece.cut.ends == "cooked" or ready:
        return None
    if case.view.middle < ahead.WRAP_CELSIUS:
        return "bark is set: look that it does not rub off; wrapped only once it holds, and better on the plateau"
    return f"bark is set: look that it does not rub off. Wrapping {_what_wraps_do(case)}"


def _what_wraps_do(case: Case) -> str:
    saves = case.one.foreseen.wraps if case.one.foreseen else {}
    slow = case.drift is not None and case.drift < PLATEAU_DRIFT
    plateau = slow and PLATEAU_CELSIUS[0] <= case.view.middle <= PLATEAU_CELSIUS[1]
    ends = "now ends the plateau" if plateau else "now"
    if not saves:
        return f"{ends}: foil sooner and softer bark, paper later and firmer bark"
    foil, paper = (_hours(saves.get(name, 0.0)) for name in ("foil", "paper"))
    return f"{ends}: in foil {foil} sooner, with soft bark; in paper {paper} sooner, with firmer bark; bare it stays hardest"


def _hours(seconds: float) -> str:
    minutes = round(seconds / 900.0) * 15
    if minutes < 60:
        return f"{minutes} min"
    return f"{minutes // 60} h {minutes % 60:02d}".removesuffix(" 00")


def spritz_costs(one: Followed) -> tuple[float, float]:
    """Return what one spritz costs a spot: its heat, and how long until the water has gone again. [min, min]"""
    made = herds.figures(one.herd, one.piece)
    around = herds.surroundings(one.herd, made, place("grate", one.lies.material), one.pit)
    heat, vapour = herds.at_surface(one.herd, made, around)
    latent = latent_heat(one.herd.front)
    costs = SPRITZ_KG * latent / np.maximum(heat, 1.0) / 60.0
    dries = SPRITZ_KG / np.maximum(vapour, 1e-7) / 60.0
    return min(float(np.median(costs)), MOST_MINUTES), min(float(np.median(dries)), MOST_MINUTES)


# --- at rest -------------------------------------------------------------------------------------


def _vent(case: Case) -> str | None:
    if case.view.tender[1] < STILL_COOKING[0] or case.view.middle < STILL_COOKING[1]:
        return None
    if case.one.piece.cut.ends != "tender":
        return None
    return "it still cooks: open the wrap for ten minutes before it is shut in, or it goes on past tender"


def _cover(case: Case) -> str | None:
    if not case.bare or case.one.lies.rest != "counter" or case.one.piece.cut.poultry:
        return None
    return "under foil it stays hot about twice as long as bare on the counter; in paper its bark stays firmer"


Word = Callable[[Case], str | None]

_ON_THE_GRATE: Final[dict[str, Word]] = {
    "feel": _feel,
    "too-far": _too_far,
    "wrap": _wrap,
    "spritz": _spritz,
    "bark": _leave_alone,
    "juices": _juices,
    "thin-parts": _thin,
    "turn": _turn,
    "fat-side": _fat_side,
}

_RESTING: Final[dict[str, Word]] = {"vent": _vent, "cover": _cover}

NAMES: Final = (*_ON_THE_GRATE, *_RESTING)
"""Every kind of prompt, as `Hush` names it."""
