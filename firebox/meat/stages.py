"""The stages of meat in a cook's words: what it is doing, and when it is worth a walk to the pit."""

from typing import Final

import numpy as np
from msgspec import Struct

from firebox.meat import ahead, kinetics
from firebox.meat import herd as herds
from firebox.meat.cuts import Piece
from firebox.meat.herd import Figures, Herd

PLATEAU_CELSIUS: Final = (60.0, 80.0)
"""Inside temperatures between which a plateau is looked for; usually seen at 66-77 degC (trade press reports of a
physicist's experiments, 2010-2021), widened by the 5 K by which a probe's place can differ."""

PLATEAU_DRIFT: Final = 3.0
"""Slower than this inside that range is a plateau. [K/h] A 12-16 h cook climbs about 90 K, so 6-8 K/h on average:
half of that is slow."""

FEEL: Final = "go and feel"

WORTH_FEELING: Final = 0.25
"""Probability of being ready from which a walk to the pit is worth it; project's choice."""


class View(Struct, frozen=True, kw_only=True):
    """A herd in some numbers: medians, but `tender` (10, 50 and 90 %) and `ready`, the share of members that are.

    `near` is by how much hotter the pit is where it lies than at its probe. [K]
    """

    middle: float
    outside: float
    bark: float
    rendered: float
    tender: tuple[float, float, float]
    ready: float
    weight_lost: float
    near: float


def view(herd: Herd, made: Figures, piece: Piece, give: float = 1.0) -> View:
    """Return a herd in some numbers; `give` is the tenderness at which it is to be pulled."""
    low, middle, high = np.quantile(herds.tenderness(herd, made), (0.1, 0.5, 0.9))
    return View(
        middle=float(np.median(herd.celsius[:, 0])),
        outside=float(np.median(herd.outside)),
        bark=min(float(np.median(herd.bark / made.bark_hours)), 1.0),
        rendered=float(np.median(kinetics.rendered(herd.render))),
        tender=(round(float(low), 2), round(float(middle), 2), round(float(high), 2)),
        ready=float(np.mean(ahead.is_ready(herd, made, piece, give))),
        weight_lost=max(float(np.median(herds.weight_lost(herd, made))), 0.0),
        near=float(np.median(made.near)),
    )


def stage(celsius: float, drift: float | None, point: float | None) -> str:
    """Return what the probe alone says the meat is doing.

    Parameters
    ----------
    celsius : float
        [degC]
    drift : float or None
        [K/h]
    point : float or None
        Where the cook wants to go and feel. [degC]

    Examples
    --------
    >>> stage(70.0, 1.2, None), stage(70.0, 8.0, None)
    ('on the plateau', 'climbing')
    """
    if point is not None and celsius >= point:
        return f"at its point: {FEEL}"
    if celsius < PLATEAU_CELSIUS[0]:
        return "coming up"
    if celsius <= PLATEAU_CELSIUS[1] and drift is not None and abs(drift) < PLATEAU_DRIFT:
        return "on the plateau"
    return "climbing" if drift is None or drift > 0 else "cooling"


def is_worth_feeling(view: View, answer: str | None) -> bool:
    """Tell whether a walk to the pit is worth it: likely enough ready, and no hand has found it so."""
    return view.ready >= WORTH_FEELING and answer not in GIVEN


def felt(stage: str, view: View, answer: str | None) -> str:
    """Return the stage of meat on the grate, with what the cook's hand said of it and what is thought of it.

    Parameters
    ----------
    stage : str
        As `stage` gives it.
    view : View
    answer : str or None
        The newest of the cook's answers.
    """
    if answer in GIVEN:
        return GIVEN[answer]
    return FEEL if is_worth_feeling(view, answer) and not stage.endswith(FEEL) else stage


OUT: Final = "the probe is out of the meat"
NOT_COOKED: Final = "NOT COOKED: back on the heat"
NOT_TENDER: Final = "resting, far from tender: back on the heat, or a holding oven"


def at_rest(view: View, piece: Piece, *, safe: bool) -> str:
    """Return the stage of meat off the grate.

    Parameters
    ----------
    view : View
    piece : Piece
    safe : bool
        Heat and time have been enough, by its clocks.
    """
    if not safe:
        return NOT_COOKED
    return NOT_TENDER if is_far_from_tender(view, piece) else "resting"


def is_far_from_tender(view: View, piece: Piece) -> bool:
    """Tell whether tissue that has to give way before the meat is eaten has hardly begun to."""
    return piece.cut.ends == "tender" and view.tender[1] < FAR_FROM_TENDER


FAR_FROM_TENDER: Final = 0.2
"""Tenderness below which no rest brings it on; the earliest pull point that is planned is 0.3."""

GIVEN: Final = {"giving": "gives: pull it when it suits", "gone": "has gone far enough: off the heat"}
