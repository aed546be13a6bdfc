"""A herd cooked on into the hours to come: when bark sets, when it gives, how it rests.

Every member is one possible future and goes its own way: it is wrapped when its own bark is set, pulled when its own
collagen has given way. What comes out are times, one a member; their quantiles are the windows.
"""

from collections.abc import Callable, Sequence
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.meat import belief, kinetics
from firebox.meat import herd as herds
from firebox.meat.cuts import Piece
from firebox.meat.herd import Figures, Herd
from firebox.meat.places import Material, Place, Rest, place
from firebox.meat.safety import HOT_CELSIUS
from firebox.meat.safety_tables import POULTRY_CELSIUS
from firebox.meat.surface import Surroundings

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

WRAP_CELSIUS: Final = 70.0
"""Inside temperature at which cuts are wrapped: on the plateau, 66-77 degC (common practice, no source)."""

RENDERED: Final = 0.5
"""Share of rendered fat that ends the rendering window."""

FINE_SECONDS: Final = 300.0
COARSE_SECONDS: Final = 900.0
FINE_HOURS: Final = 1.5


SLICING_CELSIUS: Final = 60.0
"""Middle at which a rested cut is sliced: about 60 degC, 140 degF (common practice, no source)."""


FADE_HOURS: Final = 1.0
"""So often what was learned of a piece fades, ahead as it does while it is followed."""


class Style(Struct, frozen=True, kw_only=True):
    """How the cook goes about it.

    Attributes
    ----------
    wrap : str
        "none", "paper", "foil"
    rest : str
        Where the meat goes once pulled; "grate": it stays.
    rest_celsius : float
        Air there. [degC]
    give : float
        Tenderness at which it is pulled: 1 for a short rest; less where a long hot hold does the rest; 0 for now. [-]
    slice_celsius : float
        Middle temperature at which it is sliced. [degC]
    hotter : float
        By how much hotter than told the pit is kept. [K]
    """

    wrap: Material = "none"
    rest: Rest = "grate"
    rest_celsius: float = 20.0
    give: float = 1.0
    slice_celsius: float = SLICING_CELSIUS
    hotter: float = 0.0


class Course(Struct, frozen=True, kw_only=True):
    """What becomes of each member; times in hours from the beginning, nan where it does not come to it in time.

    Attributes
    ----------
    hours : ndarray, shape (n_steps,)
    probed, middle, tender : ndarray, shape (n_steps, n_members)
        At `hours`. [degC, degC, -]
    barked, wrapped, rendered, pulled, sliced, cold : ndarray, shape (n_members,)
        When bark is set, it is wrapped, half the fat is out, it is pulled, it has come down to slicing temperature, it
        falls below hot holding. [h]
    """

    hours: Floats
    probed: Floats
    middle: Floats
    tender: Floats
    barked: Floats
    wrapped: Floats
    rendered: Floats
    pulled: Floats
    sliced: Floats
    cold: Floats


def is_ready(herd: Herd, made: Figures, piece: Piece, give: float | Floats = 1.0) -> Flags:
    """Tell which members are ready: given way, or for poultry, hot enough in the middle."""
    if piece.cut.ends == "cooked":
        return np.asarray(herd.celsius[:, 0] >= POULTRY_CELSIUS)
    return np.asarray(herds.tenderness(herd, made) >= give)


def compare(
    herd: Herd,
    piece: Piece,
    gas: Callable[[float], float],
    styles: Sequence[Style],
    *,
    hours: float,
    now: Place | None = None,
    ambient: float = 15.0,
) -> tuple[Course, ...]:
    """Return what becomes of a herd under each of several styles, all in one go: ten cost little more than one.

    Parameters
    ----------
    herd : Herd
    piece : Piece
    gas : callable
        Hours from now -> temperature of the pit. [degC]
    styles : sequence of Style
    hours : float
        How far to look. [h]
    now : Place, optional
        Where it lies at the beginning, if not bare on the grate; then it stays so until it is pulled.
    ambient : float
        Outside. [degC]
    """
    members = len(herd.front)
    herd = herds.repeated(herd, len(styles))
    each = _each(styles, members)
    seen = {name: np.full(len(herd.front), np.nan) for name in COMES_ABOUT}
    made = _figures(herd, piece, each)
    bare = now or place()
    clock, fade, trail = 0.0, FADE_HOURS, []
    while clock < hours - 1e-9 and not (each.away.all() and np.isfinite(seen["cold"]).all()):
        seconds = FINE_SECONDS if clock < FINE_HOURS else COARSE_SECONDS
        air = gas(clock)
        herd = herds.warm_walls(herd, air, seconds, ambient=ambient)
        wrapped = np.isfinite(seen["wrapped"]) & each.wraps if now is None else None
        pulled = np.isfinite(seen["pulled"]) & each.away
        around = _around(herds.surroundings(herd, made, bare, air), made, each, wrapped, pulled)
        herd = herds.step(herd, made, around, seconds)
        clock += seconds / 3600.0
        if clock >= fade:
            herd = belief.forget(herd, 3600.0 * FADE_HOURS, copies=len(styles))
            made, fade = _figures(herd, piece, each), fade + FADE_HOURS
        ready = is_ready(herd, made, piece, each.give) | (each.give <= 0.0)
        _mark(seen, clock, herd, made, ready=ready, slice_celsius=each.slice_celsius)
        trail.append((clock, herds.probed(herd, made), herd.celsius[:, 0], herds.tenderness(herd, made)))
    return _courses(trail, seen, members)


COMES_ABOUT: Final = ("barked", "wrapped", "rendered", "pulled", "sliced", "cold")


class _Each(Struct, frozen=True, kw_only=True):
    """The styles by member: what `Style` and the places it leads to say, each of shape (n_styles * n_members,)."""

    wraps: Flags
    away: Flags
    give: Floats
    slice_celsius: Floats
    hotter: Floats
    rest_celsius: Floats
    wrap: dict[str, Floats]
    rest: dict[str, Floats]


def _each(styles: Sequence[Style], members: int) -> _Each:
    def spread(values: list[float]) -> Floats:
        return np.repeat(np.array(values, dtype=np.float64), members)

    # in foil or paper to the end; a holding oven takes it wrapped as it is
    wrapped = [place("grate", style.wrap) for style in styles]
    resting = [
        place(style.rest, "foil" if style.wrap == "none" and style.rest != "grate" else style.wrap)
        for style in styles
    ]
    return _Each(
        wraps=np.repeat(np.array([style.wrap != "none" for style in styles]), members),
        away=np.repeat(np.array([style.rest != "grate" for style in styles]), members),
        give=spread([style.give for style in styles]),
        slice_celsius=spread([style.slice_celsius for style in styles]),
        hotter=spread([style.hotter for style in styles]),
        rest_celsius=spread([style.rest_celsius for style in styles]),
        wrap={name: spread([getattr(one, name) for one in wrapped]) for name in ("emissivity", "cover", "blanket")},
        rest={
            name: spread([getattr(one, name) for one in resting])
            for name in ("film", "humidity", "emissivity", "cover", "blanket")
        },
    )


def _figures(herd: Herd, piece: Piece, each: _Each) -> Figures:
    made = herds.figures(herd, piece)
    return replace(made, near=made.near + each.hotter)


def _around(bare: Surroundings, made: Figures, each: _Each, wrapped: Flags | None, pulled: Flags) -> Surroundings:
    """Return what is around each member: as at the beginning, wrapped by now, or at rest by now."""
    if wrapped is not None and wrapped.any():
        bare = replace(
            bare,
            emissivity=np.where(wrapped, each.wrap["emissivity"], bare.emissivity),
            cover=np.where(wrapped, each.wrap["cover"] * made.cover, bare.cover),
            blanket=np.where(wrapped, each.wrap["blanket"], bare.blanket),
        )
    if not pulled.any():
        return bare
    resting = {
        **each.rest,
        "cover": each.rest["cover"] * made.cover,
        "gas": each.rest_celsius,
        "wall": each.rest_celsius,
    }
    return Surroundings(**{name: np.where(pulled, values, getattr(bare, name)) for name, values in resting.items()})


def _mark(
    seen: dict[str, Floats], clock: float, herd: Herd, made: Figures, *, ready: Flags, slice_celsius: Floats
) -> None:
    """Note in `seen` what has come about by now."""
    middle = herd.celsius[:, 0]
    pulled = np.isfinite(seen["pulled"])
    reached = {
        "barked": herd.bark >= made.bark_hours,
        "wrapped": np.isfinite(seen["barked"]) & (middle >= WRAP_CELSIUS),
        "rendered": kinetics.rendered(herd.render) >= RENDERED,
        "pulled": ready,
        "sliced": pulled & (middle <= slice_celsius),
        "cold": pulled & (middle <= HOT_CELSIUS),
    }
    for name, flags in reached.items():
        seen[name][flags & np.isnan(seen[name])] = clock


def _courses(
    trail: list[tuple[float, Floats, Floats, Floats]], seen: dict[str, Floats], members: int
) -> tuple[Course, ...]:
    """Return one course a style from what was noted of all members."""
    hours = np.array([row[0] for row in trail])
    probed, middle, tender = (np.array([row[column] for row in trail]) for column in (1, 2, 3))
    return tuple(
        Course(
            hours=hours,
            probed=probed[:, own],
            middle=middle[:, own],
            tender=tender[:, own],
            **{name: values[own] for name, values in seen.items()},
        )
        for own in (slice(first, first + members) for first in range(0, len(seen["cold"]), members))
    )


def window(times: Floats) -> tuple[float, float, float] | None:
    """Return the 10, 50 and 90 % points of when something comes about; inf where that is beyond the look-ahead.

    None: for more than half of the members it does not come in time.
    """
    found = np.sort(np.where(np.isnan(times), np.inf, times))
    if not np.isfinite(found[len(found) // 2]):
        return None
    low, middle, high = (
        float(found[min(round(level * (len(found) - 1)), len(found) - 1)]) for level in (0.1, 0.5, 0.9)
    )
    return low, middle, high
