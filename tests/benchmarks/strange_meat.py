"""Pieces of meat that the model was not shaped after: another geometry, another way of drying, another law of tenderness.

A brick-shaped cut in two dimensions (thickness and width) by explicit steps, many pieces at once; heat conduction whose
coefficients move with temperature; a skin whose water activity falls as it dries, fed by diffusion and by what the inside
presses out; tenderness by two reactions in a row, averaged over the middle instead of taken in its coldest point. Figures are
drawn at random around what cooks report; nothing here is imported from the program.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

STEP = 10.0  # s
ROWS, COLUMNS = 9, 12  # a quarter of the section


class Told(NamedTuple):
    """What the cook knows of a piece."""

    cut: str
    kg: float
    thickness: float | None
    wrap: str
    pit: float


class Cooks(NamedTuple):
    """How many random cooks went, by the minute."""

    told: list[Told]
    minutes: Floats
    pit: Floats
    probe: Floats
    wrapped: Floats
    """When each was wrapped, in hours; nan for never."""
    ready: Floats
    """When each had given way, in hours."""


CUTS = {
    # kg, thickness, width over thickness, hours at 82 C of the slow step
    "brisket": (5.5, 0.085, 3.5, 1.0),
    "pork shoulder": (4.0, 0.13, 1.05, 0.62),
    "beef ribs": (2.5, 0.065, 3.5, 0.75),
}


def saturation(celsius: Floats) -> Floats:
    """Vapour pressure of water by Magnus' form. [Pa]"""
    return 611.2 * np.exp(17.62 * celsius / (243.12 + celsius))


def arrhenius(celsius: Floats, energy: Floats) -> Floats:
    return np.exp(energy / 8.314 * (1.0 / 355.15 - 1.0 / (celsius + 273.15)))


def play(count: int, seed: int, hours: float = 26.0) -> Cooks:
    """Cook so many pieces; each has its own size, skin, pit and cook."""
    rng = np.random.default_rng(seed)

    def spread(middle: float | Floats, sigma: float) -> Floats:
        return middle * np.exp(sigma * rng.standard_normal(count))

    names = [list(CUTS)[i] for i in rng.choice(3, count, p=[0.5, 0.3, 0.2])]
    usual = np.array([CUTS[name] for name in names])
    kg = spread(usual[:, 0], 0.18)
    thick = spread(usual[:, 1] * (kg / usual[:, 0]) ** (1 / 3), 0.08)
    wide = spread(usual[:, 2], 0.1) * thick
    wraps = [["none", "paper", "foil"][i] for i in rng.choice(3, count, p=[0.4, 0.4, 0.2])]
    measured = rng.random(count) < 0.6
    target = rng.uniform(114.0, 140.0, count)
    told = [
        Told(
            names[i],
            float(kg[i]),
            float(thick[i] * np.exp(0.04 * rng.standard_normal())) if measured[i] else None,
            wraps[i],
            float(target[i]),
        )
        for i in range(count)
    ]

    dx, dy = 0.5 * thick / (ROWS - 0.5), 0.5 * wide / (COLUMNS - 0.5)
    conductivity, density_heat = spread(0.42, 0.07), spread(3.5e6, 0.03)
    film, glow = spread(6.8, 0.25), spread(9.3, 0.1)
    damp = rng.uniform(2000.0, 4600.0, count)  # vapour pressure of the pit's air, Pa
    skin_depth, leak = spread(0.0022, 0.25), spread(0.42, 0.3)
    seep = spread(5.5e-10, 0.3)  # diffusion of water to the skin, m2/s
    seal = spread(0.6, 0.2)
    energy, first, second = (
        152e3 + 18e3 * rng.standard_normal(count),
        spread(0.5, 0.2),
        spread(0.17 / usual[:, 3], 0.33),
    )
    left_when_tender = rng.uniform(0.42, 0.56, count)
    hot_spot = rng.normal(0.0, 3.5, count)
    seat = rng.integers(0, 4, count), rng.integers(0, 5, count)

    temp = np.full((count, ROWS, COLUMNS), 1.0) * rng.uniform(3.0, 9.0, count)[:, None, None]
    peak = temp.copy()
    skin = np.full((count, 2), 1.0)  # water in the skin of face and flank, relative to when raw
    tough, loose = np.ones(count), np.zeros(count)
    melted = np.zeros(count)
    gas_wander = np.zeros(count)
    phase, period = rng.uniform(0, 1, count), rng.uniform(35.0, 65.0, count) * 60.0
    sway = rng.uniform(3.0, 9.0, count)
    wrapped, ready = np.full(count, np.nan), np.full(count, np.nan)
    wants_wrap = np.array([wrap != "none" for wrap in wraps])
    tight = np.array([{"none": 1.0, "paper": 0.12, "foil": 0.03}[wrap] for wrap in wraps])
    wrap_at = rng.uniform(65.0, 74.0, count)
    minutes, pits, probes = [], [], []

    a_x = (conductivity / density_heat / dx**2)[:, None, None]
    a_y = (conductivity / density_heat / dy**2)[:, None, None]
    area_face, area_flank = 1.0 / dx, 1.0 / dy
    for number in range(round(hours * 3600.0 / STEP)):
        seconds = number * STEP
        gas_wander += STEP / 2400.0 * -gas_wander + 4.0 * np.sqrt(2 * STEP / 2400.0) * rng.standard_normal(count)
        hump = sway * np.sin(2 * np.pi * (phase + seconds / period))
        gas = target + gas_wander + hump
        near = gas + hot_spot
        wall = near - 0.14 * (near - 15.0)

        faces = np.stack([temp[:, -1, :].mean(axis=1), temp[:, :, -1].mean(axis=1)], axis=1)
        is_wrapped = np.isfinite(wrapped)
        passage = np.where(is_wrapped, tight, 1.0)[:, None]
        activity = 1.0 - np.exp(-3.2 * np.maximum(skin, 0.0) ** 1.6)
        carried = (film / (1010.0 * 0.91) * 0.622 / 101325.0)[:, None]
        open_pores = (1.0 - seal * (1.0 - np.exp(-melted)))[:, None]
        # the skin's own resistance grows as it dries
        hinder = 1.0 / (1.0 + 9.0 * np.clip(1.0 - skin, 0.0, 1.0) ** 2 / open_pores)
        steam = (
            carried
            * passage
            * hinder
            * np.maximum(activity * saturation(np.minimum(faces, 99.0)) - damp[:, None], -500.0)
        )
        water = 650.0
        fed = seep[:, None] / skin_depth[:, None] * water * (1.0 - skin)
        pressed_before = 1.0 / (1.0 + np.exp(-(peak - 64.0) / 4.5))
        heat = film[:, None] * (near[:, None] - faces) + glow[:, None] * (wall[:, None] - faces) - 2.36e6 * steam

        inner = temp
        lap = np.zeros_like(temp)
        flow = a_x * np.diff(inner, axis=1)
        lap[:, :-1] += flow
        lap[:, 1:] -= flow
        flow = a_y * np.diff(inner, axis=2)
        lap[:, :, :-1] += flow
        lap[:, :, 1:] -= flow
        lap[:, -1, :] += (heat[:, 0] * area_face / density_heat)[:, None]
        lap[:, :, -1] += (heat[:, 1] * area_flank / density_heat)[:, None]
        temp = temp + STEP * lap

        peak = np.maximum(peak, temp)
        pressed = (1.0 / (1.0 + np.exp(-(peak - 64.0) / 4.5)) - pressed_before).mean(axis=(1, 2))
        volume_per_area = 0.5 * thick * 0.5 * wide / (0.5 * thick + 0.5 * wide)
        sweat = (leak * pressed * 0.42 * water * volume_per_area)[:, None]
        skin = np.clip(skin + (STEP * (fed - steam) + sweat) / (water * skin_depth[:, None]), 0.02, 1.0)

        middle = temp[:, :3, :4].mean(axis=(1, 2))
        rate = STEP / 3600.0 * arrhenius(middle, energy)
        tough, loose = (
            tough * np.exp(-first * rate),
            loose + tough * (1.0 - np.exp(-first * rate)) - loose * (1 - np.exp(-second * rate)),
        )
        melted += STEP / 3600.0 * 0.35 * arrhenius(temp.mean(axis=(1, 2)) + 8.0, 90e3 * np.ones(count))
        done = (tough + loose <= left_when_tender) & np.isnan(ready)
        ready[done] = seconds / 3600.0
        wrap_now = wants_wrap & ~is_wrapped & (temp[:, 0, 0] >= wrap_at)
        wrapped[wrap_now] = seconds / 3600.0
        if number % 6 == 0:
            minutes.append(seconds / 60.0)
            pits.append(gas + 0.3 * rng.standard_normal(count))
            probes.append(temp[np.arange(count), seat[0], seat[1]] + 0.15 * rng.standard_normal(count))
    return Cooks(told, np.array(minutes), np.array(pits), np.array(probes), wrapped, ready)
