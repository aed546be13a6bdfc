"""An ensemble of possible pieces of meat, each with its own size, crust and probe depth, cooked side by side.

`Herd` is the state; `step` moves it on by the physics of `conduction`, `surface` and `kinetics`. What is not known of the
piece stands in its knobs: standard normal numbers, one column a `Knob`, that `figures` turns into physical quantities by
the spreads of a `Piece`.
"""

import math
from enum import IntEnum
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.meat import conduction, kinetics, surface
from firebox.meat.cuts import Piece
from firebox.meat.food import properties
from firebox.meat.places import Place
from firebox.meat.surface import Surroundings

Floats = NDArray[np.float64]

CELLS: Final = 10
MEMBERS: Final = 48

BASE_CELSIUS: Final = 60.0
"""Where the material's properties are taken: they move by less than their doubt over a cook."""


class Knob(IntEnum):
    """Columns of the knobs: what is not known of a piece."""

    THICKNESS = 0
    DIFFUSIVITY = 1
    FILM = 2
    PASSAGE = 3
    SUPPLY = 4
    HUMIDITY = 5
    NEAR = 6
    DEPTH = 7
    NEED = 8
    COVER = 9
    ENERGY = 10
    BARK = 11
    SEAL = 12
    DEPTH_TOO = 13
    """Of a second probe in the same piece."""


COLDEST: Final = -2.0
HOTTEST: Final = 95.0
"""degC; meat that is told to begin outside of this is taken to begin here: frozen or boiling is beyond the model."""

SPREAD: Final = {
    Knob.DIFFUSIVITY: 0.10,  # measured beef lies in 1.1-1.5e-7 m2/s; composition models predict k within about 7 %
    Knob.FILM: 0.3,  # 0.2-1 m/s of gas past the meat gives 4-10 W/(m2 K)
    Knob.PASSAGE: 0.6,  # pores and grease in a crust: a factor of about two either way, no source
    Knob.SUPPLY: 0.6,  # share of the pressed-out water that reaches the front: as doubtful
    Knob.HUMIDITY: 0.45,  # wood's own water and a pan: 0.0135-0.028 kg/kg
    Knob.COVER: 0.5,
    Knob.BARK: 0.3,
}
"""Standard deviations of logarithms."""

FILM: Final = 6.0
"""W/(m2 K); a 0.12 m cylinder in 121 degC gas at 0.4 m/s (correlations for a cylinder across the flow)."""

PASSAGE: Final = 2.6e-6
"""m2/s; vapour in air at 80 degC (3.5e-5) through pores, a thirteenth of it: the project's choice, from the plateau's usual
height of 66-77 degC."""

SUPPLY: Final = 0.35
"""Share of the water pressed out of the inside that evaporates at the surface instead of dripping; project's choice."""

HUMIDITY: Final = 0.018
"""kg/kg; flue gas of wood at 20 % moisture with 10-20 times the air it needs: 0.0135-0.0197."""

SEALING: Final = 0.7
"""Share of a crust's pores that molten fat closes in fat meat; project's choice, from how a plateau ends."""

SEALING_SPREAD: Final = 0.2

PLACE: Final = 0.22
PLACE_SPREAD: Final = 0.14
"""Where a probe's tip sits, from the middle (0) to the surface (1), and its standard deviation: a careful cook means the middle
and misses it by a centimetre or so. Project's choice."""

NEAR_KELVIN: Final = 4.0
"""Standard deviation of the pit's temperature at the meat from that at its probe. [K]"""

WALL_SHARE: Final = 0.85
"""How far the chamber's walls stand from the air outside towards the gas, in the long run."""

ENERGY_SPREAD: Final = 20e3  # J/mol
BARK_HOURS: Final = 0.9
"""Hours' worth at 80 degC of a dry outside after which bark is set; project's choice, from hour four or five of common
practice."""

WALL_SECONDS: Final = 1600.0
"""Time constant of a steel wall of 6 mm with 15 W/(m2 K) on one side: 0.45 h."""

MOST_CRUST: Final = 0.012
"""m; deeper than that nobody would eat it, and the thin-crust picture ends."""

DRIPS: Final = 0.5
"""Share of the pressed-out water that leaves the meat at all; the rest stays in its gaps. Project's choice."""


class Figures(Struct, frozen=True, kw_only=True):
    """The knobs of a herd as physical quantities, each of shape (n_members,); `body` its cells."""

    body: conduction.Body
    water: Floats
    """Water in the raw meat per area of surface. [kg/m2]"""
    held: Floats
    """Water in a layer of crust when wet. [kg/m3]"""
    film: Floats
    passage: Floats
    supply: Floats
    humidity: Floats
    near: Floats
    place: Floats
    place_too: Floats
    need: Floats
    cover: Floats
    energy: Floats
    bark_hours: Floats
    mass: Floats
    """Raw meat per area of surface. [kg/m2]"""
    fat: float
    sealing: Floats
    """Share of a crust's pores that the fat closes once it has rendered."""


class Herd(Struct, frozen=True, kw_only=True):
    """Possible states of one piece of meat.

    Attributes
    ----------
    knobs : ndarray, shape (n_members, len(Knob))
    celsius : ndarray, shape (n_members, CELLS)
        From the middle outwards. [degC]
    hottest : ndarray, shape (n_members, CELLS)
        The highest each cell has been at. [degC]
    front, outside : ndarray, shape (n_members,)
        Temperature of the evaporating front, and of the crust's outside. [degC]
    crust : ndarray, shape (n_members,)
        Depth of the front. [m]
    gone : ndarray, shape (n_members,)
        Water evaporated, per area of surface. [kg/m2]
    collagen, render, bark : ndarray, shape (n_members,)
        Hours' worth at `kinetics`' reference temperatures: of the middle, the mean, the dry outside. [h]
    wall : float
        Temperature of the chamber's walls. [degC]
    """

    knobs: Floats
    celsius: Floats
    hottest: Floats
    front: Floats
    outside: Floats
    crust: Floats
    gone: Floats
    collagen: Floats
    render: Floats
    bark: Floats
    wall: float


def begin(celsius: float, *, members: int = MEMBERS, seed: int = 1, spread: float = 1.5) -> Herd:
    """Return a herd before anything has happened to it.

    Parameters
    ----------
    celsius : float
        The meat's temperature, even throughout, give or take `spread`. [degC, K]
    members, seed : int
        The same numbers give the same herd.
    """
    draw = np.random.Generator(np.random.Philox(key=seed))
    knobs = _even(draw.standard_normal((members, Knob.DEPTH_TOO)))
    warmth = np.clip(celsius, COLDEST, HOTTEST) + spread * _even(draw.standard_normal((members, 1)))
    knobs = np.concatenate([knobs, _even(draw.standard_normal((members, 1)))], axis=1)
    cells = np.repeat(np.clip(warmth, COLDEST, HOTTEST), CELLS, axis=1)
    zeros = np.zeros(members)
    return Herd(
        knobs=knobs,
        celsius=cells,
        hottest=cells,
        front=cells[:, -1].copy(),
        outside=cells[:, -1].copy(),
        crust=zeros,
        gone=zeros,
        collagen=zeros,
        render=zeros,
        bark=zeros,
        wall=celsius,
    )


def repeated(herd: Herd, times: int, *, every: int = 1) -> Herd:
    """Return a herd several times over, one copy behind the other, of every so-manieth member."""
    if times == 1 and every == 1:
        return herd

    def tiled(values: Floats) -> Floats:
        return np.tile(values[::every], (times,) + (1,) * (values.ndim - 1))

    whole = {name: getattr(herd, name) for name in Herd.__struct_fields__ if name != "wall"}
    return Herd(wall=herd.wall, **{name: tiled(values) for name, values in whole.items()})


def _even(draws: Floats) -> Floats:
    """Return draws with mean 0 and deviation 1 in each column, so that a small herd has no bias of its own."""
    centred = draws - draws.mean(axis=0)
    result: Floats = centred / centred.std(axis=0, ddof=1)
    return result


def figures(herd: Herd, piece: Piece) -> Figures:
    """Return the physical quantities that a herd's knobs stand for."""
    knob = herd.knobs

    def about(value: float, which: Knob, spread: float | None = None) -> Floats:
        wide = SPREAD[which] if spread is None else spread
        result: Floats = value * np.exp(wide * np.clip(knob[:, which], -3.0, 3.0))
        return result

    material = properties(piece.composition, BASE_CELSIUS)
    half = about(0.5 * piece.thickness, Knob.THICKNESS, piece.thickness_spread)
    volumetric = material.density * material.specific_heat
    conductivity = about(material.conductivity, Knob.DIFFUSIVITY)
    density = properties(piece.composition, 10.0).density
    mass = density * half / (piece.shape + 1.0)
    return Figures(
        body=conduction.body(
            half, conductivity, np.full(half.shape, volumetric), shape=piece.shape, cells=herd.celsius.shape[1]
        ),
        water=mass * piece.composition.water,
        held=np.full(half.shape, density * piece.composition.water),
        film=about(FILM, Knob.FILM),
        passage=about(PASSAGE * piece.passage, Knob.PASSAGE),
        supply=np.minimum(about(SUPPLY, Knob.SUPPLY), 1.0),
        humidity=about(HUMIDITY, Knob.HUMIDITY),
        near=NEAR_KELVIN * knob[:, Knob.NEAR],
        place=np.clip(PLACE + PLACE_SPREAD * knob[:, Knob.DEPTH], 0.0, 0.9),
        place_too=np.clip(PLACE + PLACE_SPREAD * knob[:, Knob.DEPTH_TOO], 0.0, 0.9),
        need=about(piece.need_hours, Knob.NEED, piece.need_spread),
        cover=about(1.0, Knob.COVER),
        energy=kinetics.COLLAGEN_ENERGY + ENERGY_SPREAD * knob[:, Knob.ENERGY],
        bark_hours=about(BARK_HOURS, Knob.BARK),
        mass=mass,
        fat=piece.composition.fat,
        sealing=np.clip(SEALING + SEALING_SPREAD * knob[:, Knob.SEAL], 0.0, 0.95)
        * min(1.0, piece.composition.fat / 0.15),
    )


def surroundings(herd: Herd, made: Figures, place: Place, gas: float) -> Surroundings:
    """Return what is around each member in a place whose air stands at `gas` degC."""
    ones = np.ones(len(herd.front))
    on_grate = place.moving_air
    return Surroundings(
        gas=gas + made.near * on_grate,
        wall=herd.wall + made.near if on_grate else gas * ones,
        humidity=made.humidity if on_grate else place.humidity * ones,
        film=made.film if on_grate else place.film * ones,
        emissivity=place.emissivity * ones,
        cover=place.cover * made.cover,
        blanket=place.blanket * ones,
    )


def warm_walls(herd: Herd, gas: float, seconds: float, *, ambient: float = 15.0) -> Herd:
    """Return a herd in a chamber whose walls have had some time to follow the gas.

    Parameters
    ----------
    herd : Herd
    gas, ambient : float
        In the chamber and outside, between which the walls come to stand. [degC]
    seconds : float
    """
    bound = ambient + WALL_SHARE * (gas - ambient)
    return replace(herd, wall=bound + (herd.wall - bound) * math.exp(-seconds / WALL_SECONDS))


def step(herd: Herd, made: Figures, around: Surroundings, seconds: float) -> Herd:
    """Return a herd after some time in surroundings.

    Parameters
    ----------
    herd : Herd
    made : Figures
        Of this herd.
    around : Surroundings
    seconds : float
        Up to some minutes; the surface and the crust go by what they were at the beginning.
    """
    hours = seconds / 3600.0
    sealed = 1.0 - made.sealing * kinetics.rendered(herd.render)
    wet = surface.wetness(around, herd.crust, made.passage * sealed)
    body = made.body
    found = surface.settle(around, herd.front, wet, herd.crust, inwards=body.outer, inside=herd.celsius[:, -1])
    celsius, front = conduction.conduct(body, herd.celsius, found.flux, found.fall, seconds)
    hottest = np.maximum(herd.hottest, celsius)
    after = kinetics.water_held(hottest)
    pressed = (kinetics.water_held(herd.hottest) - after) @ body.volumes * made.water
    gone = found.vapour(front) * seconds
    crust = np.clip(herd.crust + (gone - made.supply * pressed) / (made.held * after[:, -1]), 0.0, MOST_CRUST)
    outside = found.outside(front)
    dry = np.where(around.cover > 0.0, 0.0, 1.0 - wet)
    browned = kinetics.hours_at(outside, kinetics.BARK_CELSIUS, kinetics.BARK_ENERGY)
    loosened = kinetics.hours_at(conduction.mean(body, celsius), kinetics.RENDER_CELSIUS, kinetics.RENDER_ENERGY)
    return replace(
        herd,
        celsius=celsius,
        hottest=hottest,
        front=front,
        outside=outside,
        crust=crust,
        gone=herd.gone + gone,
        collagen=herd.collagen + hours * _collagen(celsius[:, 0], made),
        render=herd.render + hours * loosened,
        bark=herd.bark + hours * dry * browned,
    )


def at_surface(herd: Herd, made: Figures, around: Surroundings) -> tuple[Floats, Floats]:
    """Return the heat that the meat takes from its surroundings, and the water it gives them. [W/m2, kg/(m2 s)]"""
    sealed = 1.0 - made.sealing * kinetics.rendered(herd.render)
    wet = surface.wetness(around, herd.crust, made.passage * sealed)
    found = surface.balance(around, herd.front, wet, herd.crust)
    return found.heat(herd.front), found.vapour(herd.front)


def _collagen(middle: Floats, made: Figures) -> Floats:
    """Return the hours' worth that an hour at the middle's temperature counts. [-]"""
    inverse = 1.0 / (kinetics.COLLAGEN_CELSIUS + 273.15) - 1.0 / (middle + 273.15)
    rate: Floats = np.exp(made.energy / kinetics.GAS_CONSTANT * inverse)
    return rate


def probed(herd: Herd, made: Figures, *, second: bool = False) -> Floats:
    """Return what its probe, or a second one in it, would read in each member, shape (n_members,). [degC]"""
    return conduction.at_depth(herd.celsius, herd.front, made.place_too if second else made.place)


def tenderness(herd: Herd, made: Figures) -> Floats:
    """Return how far the collagen has given way, as a share of what tender needs; 1 is tender. Shape (n_members,)."""
    return herd.collagen / made.need


def weight_lost(herd: Herd, made: Figures) -> Floats:
    """Return the share of the raw weight that is gone: water evaporated and dripped, and half of the molten fat. [-]"""
    pressed = (1.0 - kinetics.water_held(herd.hottest) @ made.body.volumes) * made.water
    dripped = (1.0 - made.supply) * pressed * DRIPS
    fat = 0.5 * made.fat * kinetics.rendered(herd.render) * made.mass
    return (herd.gone + dripped + fat) / made.mass
