"""Transient conduction, and the evaporating surface, against analytic and library values.

Sources: one-term coefficients of Incropera & DeWitt, table 5.1, recomputed with scipy; centre and surface of the slab by
the full series, computed with scipy; IAPWS-IF97 by iapws 1.5.5; psychrometrics by psychrolib 2.5.0.
"""

import csv
from pathlib import Path

import numpy as np
import pytest
from scipy.special import j0

from firebox.meat import conduction, surface, vapour
from firebox.meat.surface import Surroundings

DATA = Path(__file__).parents[1] / "data" / "meat"
SHAPES = {"slab": 0.0, "cylinder": 1.0, "sphere": 2.0}


def rows(name):
    lines = (DATA / name).read_text().splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def heat(biot, fourier, shape, *, cells=40, steps=500):
    """Return what is left of the difference at centre and surface of a body of size 1, in gas at 1."""
    one = np.ones(1)
    body = conduction.body(one, one, one, shape=shape, cells=cells)
    celsius, front = np.zeros((1, cells)), np.zeros(1)
    for _ in range(steps):
        celsius, front = conduction.conduct(body, celsius, biot * one, biot * one, fourier / steps)
    middle = conduction.at_depth(celsius, front, 0.0 * one)
    return 1.0 - float(middle[0]), 1.0 - float(front[0])


BIOT = [row for row in rows("one_term_conduction.csv") if 0.1 <= float(row["biot"]) <= 20.0]


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("row", BIOT, ids=lambda row: f"Bi-{row['biot']}")
def test_the_centre_follows_the_one_term_solution(row, shape):
    """At a time when the first term is all there is. Tolerance 0.006 of the whole difference: 40 cells, first order in
    time, and the middle of the innermost cell for the centre.
    """
    biot = float(row["biot"])
    zeta, c1 = float(row[f"{shape}_zeta1"]), float(row[f"{shape}_c1"])
    fourier = max(0.3, 1.0 / zeta**2)
    expected = c1 * np.exp(-(zeta**2) * fourier)
    centre, front = heat(biot, fourier, SHAPES[shape])
    edge = {"slab": np.cos(zeta), "cylinder": j0(zeta), "sphere": np.sin(zeta) / zeta}[shape]
    assert centre == pytest.approx(expected, abs=0.006)
    assert front == pytest.approx(expected * edge, abs=0.006)


FULL_SERIES = [
    (1.0, 0.05, 0.999751, 0.790377),
    (1.0, 0.2, 0.950642, 0.643391),
    (1.0, 0.5, 0.772526, 0.504522),
    (2.0, 0.3, 0.827781, 0.398395),
    (5.0, 0.2, 0.864881, 0.231533),
    (0.5, 1.0, 0.698383, 0.554589),
]


@pytest.mark.parametrize(("biot", "fourier", "centre", "front"), FULL_SERIES)
def test_a_slab_follows_the_full_series_early_on(biot, fourier, centre, front):
    """Tolerance 0.003 of the whole difference, for the cells and steps."""
    assert heat(biot, fourier, 0.0) == pytest.approx((centre, front), abs=0.003)


@pytest.mark.parametrize(
    ("film", "hours"), [(15.0, (2.467, 3.107, 4.973)), (10.0, (3.203, 4.066, 6.584)), (20.0, (2.097, 2.626, 4.169))]
)
def test_ten_cells_and_minutes_are_enough_for_a_dry_slab_of_meat(film, hours):
    """70 mm, k 0.45, alpha 1.28e-7, 5 C into 121 C gas: hours until the centre stands at 60, 71 and 93 C (full series).

    Tolerance 2 %: the cells and step that the model of the meat uses.
    """
    k, alpha = np.array([0.45]), 1.28e-7
    body = conduction.body(np.array([0.035]), k, k / alpha, shape=0.0, cells=10)
    celsius, found = np.full((1, 10), 5.0), []
    h = np.array([film])
    for minute in range(1, 480):
        celsius, _ = conduction.conduct(body, celsius, h * 121.0, h, 60.0)
        found.append((celsius[0, 0], minute / 60.0))
    middle, when = np.array(found).T
    assert np.interp([60.0, 71.0, 93.0], middle, when) == pytest.approx(hours, rel=0.02)


WATER = [row for row in rows("water_saturation.csv") if 5.0 <= float(row["t_celsius"]) <= 100.0]


@pytest.mark.parametrize("row", WATER, ids=lambda row: row["t_celsius"])
def test_water_has_the_pressure_and_latent_heat_of_the_steam_tables(row):
    """Tolerance 0.8 % (0.5 % from 20 C on) and 0.05 %: the Antoine equation, and a quadratic."""
    celsius = np.array(float(row["t_celsius"]))
    near = 0.005 if celsius >= 20.0 else 0.008
    assert float(vapour.saturation_kpa(celsius)) == pytest.approx(float(row["p_sat_kpa"]), rel=near)
    assert float(vapour.latent_heat(celsius)) == pytest.approx(1e3 * float(row["latent_heat_kj_per_kg"]), rel=5e-4)


def surroundings(*, wall, humidity, film=5.0, emissivity=0.92):
    one = np.ones(1)
    return Surroundings(
        gas=121.0 * one,
        wall=wall * one,
        humidity=humidity * one,
        film=film * one,
        emissivity=emissivity * one,
        cover=0.0 * one,
        blanket=0.0 * one,
    )


def steady(around, wet):
    """Return the temperature of a surface that gives nothing inwards."""
    one = np.ones(1)
    start, none = 60.0 * one, 0.0 * one
    for _ in range(20):
        found = surface.settle(around, start, wet * one, none, inwards=1e-6 * one, inside=start)
        start = found.flux / found.fall
    return float(start[0])


@pytest.mark.parametrize(("wet", "celsius"), [(1.0, 48.8), (0.5, 57.6), (0.25, 66.2), (0.1, 76.4)])
def test_a_surface_partly_dry_stands_where_the_plateau_is(wet, celsius):
    """Gas 121 C, walls 105 C, 0.0135 kg/kg, film 5, Lewis 0.87 (computed apart; a model, no publication).

    That figure takes the difference of humidity ratios as driving force. Here the vapour's own flow is in it, which
    slows evaporation by 4 % at 49 C and 20 % at 76 C: 0.5 to 2.5 K warmer, and never colder.
    """
    found = steady(surroundings(wall=105.0, humidity=0.0135), wet)
    assert celsius - 0.2 <= found <= celsius + 0.7 + 1.9 * (1.0 - wet)


@pytest.mark.parametrize(
    "row", rows("psychrometric_checkpoints.csv"), ids=lambda row: row["humidity_ratio_kg_per_kg"]
)
def test_a_wet_surface_out_of_sight_of_the_walls_stands_near_the_wet_bulb(row):
    """Tolerance 2 K: a wet bulb supposes a Lewis factor of 1 and no flow of its own; here these are 0.91 and there."""
    found = steady(surroundings(wall=121.0, humidity=float(row["humidity_ratio_kg_per_kg"]), emissivity=1e-9), 1.0)
    assert found == pytest.approx(float(row["wet_bulb_c"]), abs=2.0)


def test_what_comes_in_is_what_is_stored_and_evaporated():
    """Heat from gas and walls, by their own laws at the surface's temperature, against the rise of the cells and the
    vapour that left. Tolerance 1.5 %: radiation goes by one coefficient a step, taken at the front and not at the
    crust's outside, and each minute's evaporation is linear about the balance at its beginning.
    """
    one = np.ones(1)
    around = surroundings(wall=105.0, humidity=0.0135)
    body = conduction.body(0.04 * one, 0.43 * one, 3.46e6 * one, shape=0.3, cells=10)
    celsius, front = np.full((1, 10), 5.0), 5.0 * one
    came = evaporated = 0.0
    for minute in range(600):
        crust = np.array([1e-5 * minute])
        wet = surface.wetness(around, crust, 2.6e-6 * one)
        found = surface.settle(around, front, wet, crust, inwards=body.outer, inside=celsius[:, -1])
        celsius, front = conduction.conduct(body, celsius, found.flux, found.fall, 60.0)
        outside = found.outside(front)
        radiated = 0.92 * surface.STEFAN_BOLTZMANN * ((105.0 + 273.15) ** 4 - (outside + 273.15) ** 4)
        came += 60.0 * float((5.0 * (121.0 - outside) + radiated)[0])
        drive, _ = vapour.driving_force(front, around.humidity)
        carried = wet * vapour.film_conductance(around.film) * drive
        evaporated += 60.0 * float((carried * vapour.latent_heat(front))[0])
    stored = float(((celsius - 5.0) * body.capacity).sum())
    assert came == pytest.approx(stored + evaporated, rel=0.015)
    assert evaporated > 0.3 * came


def test_the_cells_keep_what_the_surface_takes():
    """The scheme loses nothing, whatever flows: tolerance is rounding."""
    draw = np.random.Generator(np.random.Philox(3))
    body = conduction.body(*draw.uniform(0.5, 2.0, (3, 7)), shape=0.7, cells=9)
    celsius = draw.uniform(0.0, 100.0, (7, 9))
    flux, fall = draw.uniform(-50.0, 500.0, 7), draw.uniform(0.0, 5.0, 7)
    after, front = conduction.conduct(body, celsius, flux, fall, 0.5)
    assert ((after - celsius) * body.capacity).sum(axis=1) == pytest.approx(0.5 * (flux - fall * front), rel=1e-9)
