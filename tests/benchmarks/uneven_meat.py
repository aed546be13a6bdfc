"""Uneven pieces of meat, of a second kind that neither the model nor the first strange kind shares anything with.

A thin and a thick end side by side that exchange heat along the piece, each a stack of layers that may be round; part of
the outside under a cap of fat that lets no water through; a rind that dries by a falling-rate curve (a power of its own
moisture, as in the drying of foods) and is fed by juice that is pressed out with a lag; wraps as a leak of steam with heat
carried back by what condenses; tenderness by a population of bonds of many strengths, a stretched course and not one rate, asked
for in both ends; a fire that saws, sags at night and is opened now and then; a probe with an error of its own, put into one of the
ends. Its figures were set so that its median cooks do what cooks report (hours, the plateau's height, the temperature when ready); they
were not changed after it was first held against the program, and nothing here is imported from that.
"""

import numpy as np
from numpy.typing import NDArray

from tests.benchmarks.strange_meat import Cooks, Told

Floats = NDArray[np.float64]

STEP = 10.0  # s
LAYERS = 8
BONDS = 5

CUTS = {
    # kg, thickness, roundness, thin end, thick end (times thickness), hours at 82 C
    "brisket": (5.5, 0.085, 0.1, 0.78, 1.08, 8.5),
    "pork shoulder": (4.0, 0.13, 0.9, 0.86, 1.05, 5.5),
    "beef ribs": (2.5, 0.065, 0.15, 0.88, 1.05, 4.5),
}


def steam_pressure(celsius: Floats) -> Floats:
    """Vapour pressure of water by Tetens' form. [Pa]"""
    return 610.8 * np.exp(17.27 * celsius / (celsius + 237.3))


def play(count: int, seed: int, hours: float = 28.0) -> Cooks:
    """Cook so many pieces; each has its own size, cap, rind, fire and probe."""
    rng = np.random.default_rng([seed, 7])

    def spread(middle: float | Floats, sigma: float) -> Floats:
        return middle * np.exp(sigma * rng.standard_normal(count))

    names = [list(CUTS)[i] for i in rng.choice(3, count, p=[0.5, 0.3, 0.2])]
    usual = np.array([CUTS[name] for name in names])
    kg = spread(usual[:, 0], 0.2)
    thick = spread(usual[:, 1] * (kg / usual[:, 0]) ** (1 / 3), 0.09)
    wraps = [["none", "paper", "foil"][i] for i in rng.choice(3, count, p=[0.35, 0.4, 0.25])]
    measured = rng.random(count) < 0.5
    target = rng.uniform(112.0, 142.0, count)
    told = [
        Told(
            names[i],
            float(kg[i]),
            float(thick[i] * np.exp(0.06 * rng.standard_normal())) if measured[i] else None,
            wraps[i],
            float(target[i]),
        )
        for i in range(count)
    ]

    # geometry: [piece, end, layer], layers from the middle outwards
    ends = np.stack([usual[:, 3], usual[:, 4]], axis=1) * spread(1.0, 0.04)[:, None]
    half = 0.5 * thick[:, None] * ends
    width = half / LAYERS
    faces = np.linspace(0.0, 1.0, LAYERS + 1)
    power = usual[:, 2][:, None, None]
    area = faces[None, None, :] ** power
    volume = np.diff(faces[None, None, :] ** (power + 1.0), axis=2) / (power + 1.0) * LAYERS
    conductivity, heat = spread(0.44, 0.08)[:, None, None], spread(3.45e6, 0.04)[:, None, None]
    along = spread(0.44 / 0.12**2, 0.3)[:, None] / heat[:, :, 0]

    film, glow = spread(6.2, 0.28)[:, None], spread(8.2, 0.12)[:, None]
    outdoors = rng.uniform(2.0, 24.0, count)
    damp = rng.uniform(1800.0, 4200.0, count)[:, None]
    capped = rng.beta(3.0, 9.0, (count, 2))
    rind = spread(0.0026, 0.3)[:, None]
    order = rng.uniform(0.8, 1.7, count)[:, None]
    seeps, drips = spread(8.0e-10, 0.4)[:, None], spread(0.62, 0.25)[:, None]
    lag = spread(2700.0, 0.4)[:, None, None]
    greased = np.minimum(spread(0.55, 0.3), 0.9)[:, None]

    strength = 158e3 + 17e3 * rng.standard_normal(count)
    apart = rng.uniform(0.7, 1.3, count)
    hold = spread(usual[:, 5], 0.36)
    shares = np.linspace(-1.2, 1.2, BONDS)
    bond_rate = np.exp(apart[:, None] * shares[None, :]) * (1.1 / hold)[:, None]  # per hour at 82 C
    enough = rng.uniform(0.36, 0.46, count)  # of the bonds left
    spot = rng.normal(0.0, 4.0, count)

    temp = np.ones((count, 2, LAYERS)) * rng.uniform(2.0, 10.0, count)[:, None, None]
    pressing, out = np.zeros_like(temp), np.zeros_like(temp)
    moist = np.ones((count, 2))
    bonds = np.ones((count, 2, BONDS))
    molten = np.zeros((count, 2))
    phase, period = rng.uniform(0.0, 1.0, count), rng.uniform(30.0, 60.0, count) * 60.0
    saw = rng.uniform(4.0, 11.0, count)
    sag = rng.uniform(0.0, 5.0, count)
    drift = np.zeros(count)
    opened = np.full(count, -1e9)
    wrapped, ready = np.full(count, np.nan), np.full(count, np.nan)
    wants = np.array([wrap != "none" for wrap in wraps])
    leaks = np.array([{"none": 1.0, "paper": 0.10, "foil": 0.025}[wrap] for wrap in wraps])[:, None]
    wrap_at = rng.uniform(64.0, 75.0, count)
    end, layer = rng.integers(0, 2, count), rng.integers(0, 3, count)
    bias = 0.7 * rng.standard_normal(count)
    minutes, pits, probes = [], [], []
    rows = np.arange(count)

    for number in range(round(hours * 3600.0 / STEP)):
        seconds = number * STEP
        drift += -drift * STEP / 5400.0 + 3.0 * np.sqrt(2.0 * STEP / 5400.0) * rng.standard_normal(count)
        opened[rng.random(count) < STEP / 5000.0] = seconds
        door = 28.0 * np.exp(-(seconds - opened) / 240.0)
        tooth = saw * (2.0 * np.mod(phase + seconds / period, 1.0) - 1.0) * -1.0
        night = sag * np.sin(2.0 * np.pi * (seconds / 86400.0 + phase))
        gas = target + drift + tooth - night - door
        near = (gas + spot)[:, None]
        wall = near - 0.17 * (near - outdoors[:, None])

        covered = np.isfinite(wrapped)[:, None]
        surface = temp[:, :, -1]
        falling = np.clip(moist, 0.0, 1.0) ** order
        open_share = 1.0 - capped
        passage = np.where(covered, leaks, 1.0)
        sealed = 1.0 - greased * (1.0 - np.exp(-molten))
        driving = np.maximum(steam_pressure(np.minimum(surface, 98.0)) - damp, -300.0)
        # a moist outside lets all pass, a dry one a hundredth: resistances in a row
        gate = 1.0 / (1.0 + 30.0 * (1.0 - falling) ** 2 / sealed)
        gone = film / 1010.0 / 0.9 * 0.622 / 101325.0 * open_share * passage * gate * driving
        flux = film * (near - surface) + glow * (wall - surface) - 2.35e6 * gone

        change = np.zeros_like(temp)
        through = conductivity * area[:, :, 1:-1] * np.diff(temp, axis=2) / width[:, :, None]
        change[:, :, :-1] += through
        change[:, :, 1:] -= through
        change[:, :, -1] += flux
        temp = temp + STEP * change / (heat * volume * width[:, :, None])
        temp[:, :, :-1] = np.minimum(temp[:, :, :-1], 99.0)  # what is wet inside boils
        temp[:, :, -1] = np.minimum(temp[:, :, -1], 115.0)
        swap = (along * (temp[:, 1] - temp[:, 0])) * STEP
        temp[:, 0] += swap
        temp[:, 1] -= swap

        aim = 0.45 / (1.0 + np.exp(-(temp - 62.0) / 5.5))
        pressing = np.maximum(pressing, aim)
        flow = (pressing - out) * STEP / lag
        out += flow
        fed = drips * (flow * volume).sum(axis=2) * half / LAYERS * 640.0
        seep = seeps / rind * 640.0 * (1.0 - moist)
        moist = np.clip(moist + (fed + STEP * (seep - gone)) / (640.0 * rind), 0.02, 1.0)
        molten += STEP / 3600.0 * 0.3 * np.exp((temp.mean(axis=2) - 72.0) / 12.0)

        core = temp[:, :, :2].mean(axis=2)
        speed = np.exp(strength[:, None] / 8.314 * (1.0 / 355.15 - 1.0 / (core + 273.15)))
        bonds *= np.exp(-bond_rate[:, None, :] * speed[:, :, None] * STEP / 3600.0)
        left = 0.35 * bonds[:, 0].mean(axis=1) + 0.65 * bonds[:, 1].mean(axis=1)
        done = (left <= enough) & np.isnan(ready)
        ready[done] = seconds / 3600.0
        wrap_now = wants & np.isnan(wrapped) & (temp[rows, end, layer] >= wrap_at)
        wrapped[wrap_now] = seconds / 3600.0
        if number % 6 == 0:
            minutes.append(seconds / 60.0)
            pits.append(gas + 0.4 * rng.standard_normal(count))
            probes.append(temp[rows, end, layer] + bias + 0.12 * rng.standard_normal(count))
    return Cooks(told, np.array(minutes), np.array(pits), np.array(probes), wrapped, ready)
