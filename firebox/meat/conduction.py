"""Transient conduction in one dimension: slab, cylinder, ball and what lies between, by implicit finite volumes.

A body is cut into cells of equal width from its middle (x = 0) to its surface (x = 1); the area at x goes as x^shape:
0 for a slab heated from both faces, 1 for a cylinder, 2 for a ball. A real cut lies between, as in the "equivalent
heat transfer dimensionality" of freezing-time prediction (Cleland & Earle, 1982, from memory).

All quantities are per square metre of surface, and arrays hold one row a member of an ensemble.
"""

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class Body(Struct, frozen=True):
    """Cells of bodies of one shape and several sizes.

    Attributes
    ----------
    capacity : ndarray, shape (n_members, n_cells)
        Heat capacity of each cell per area of the surface. [J/(m2 K)]
    inner : ndarray, shape (n_members, n_cells - 1)
        Conductance between neighbours per area of the surface. [W/(m2 K)]
    outer : ndarray, shape (n_members,)
        Conductance from the middle of the outermost cell to the surface. [W/(m2 K)]
    volumes : ndarray, shape (n_cells,)
        Share of each cell in the volume; adds up to 1.
    """

    capacity: Floats
    inner: Floats
    outer: Floats
    volumes: Floats


def body(half: Floats, conductivity: Floats, volumetric: Floats, *, shape: float, cells: int) -> Body:
    """Return the cells of a body.

    Parameters
    ----------
    half : ndarray, shape (n_members,)
        From the middle to the surface. [m]
    conductivity : ndarray, shape (n_members,)
        [W/(m K)]
    volumetric : ndarray, shape (n_members,)
        Density times specific heat. [J/(m3 K)]
    shape : float
        Exponent of the area: 0 slab, 1 cylinder, 2 ball. [-]
    cells : int
    """
    faces = np.linspace(0.0, 1.0, cells + 1)
    volumes = np.diff(faces ** (shape + 1.0))
    width = half / cells
    per_area = half / (shape + 1.0)
    return Body(
        capacity=(volumetric * per_area)[:, None] * volumes[None, :],
        inner=(conductivity / width)[:, None] * (faces[1:-1] ** shape)[None, :],
        outer=2.0 * conductivity / width,
        volumes=volumes,
    )


def conduct(body: Body, celsius: Floats, flux: Floats, fall: Floats, seconds: float) -> tuple[Floats, Floats]:
    """Return the temperatures after a step, and those of the surface.

    Parameters
    ----------
    body : Body
    celsius : ndarray, shape (n_members, n_cells)
        Temperatures before. [degC]
    flux, fall : ndarray, shape (n_members,)
        The surface takes `flux - fall * surface temperature`. [W/m2, W/(m2 K)]
    seconds : float
        The step; any size is stable (backward Euler), its error is of first order.

    Returns
    -------
    tuple of ndarray
        Cells, shape (n_members, n_cells), and surface, shape (n_members,). [degC]
    """
    cells = celsius.shape[1]
    store = body.capacity / seconds
    diagonal = store.copy()
    diagonal[:, 1:] += body.inner
    diagonal[:, :-1] += body.inner
    right = store * celsius
    through = body.outer / (body.outer + fall)
    diagonal[:, -1] += through * fall
    right[:, -1] += through * flux
    # Thomas algorithm over the cells, all members at once
    for i in range(1, cells):
        ratio = body.inner[:, i - 1] / diagonal[:, i - 1]
        diagonal[:, i] -= ratio * body.inner[:, i - 1]
        right[:, i] += ratio * right[:, i - 1]
    after = np.empty_like(celsius)
    after[:, -1] = right[:, -1] / diagonal[:, -1]
    for i in range(cells - 2, -1, -1):
        after[:, i] = (right[:, i] + body.inner[:, i] * after[:, i + 1]) / diagonal[:, i]
    surface = (body.outer * after[:, -1] + flux) / (body.outer + fall)
    return after, surface


def mean(body: Body, celsius: Floats) -> Floats:
    """Return the mean temperature of each body. [degC]"""
    average: Floats = celsius @ body.volumes
    return average


def at_depth(celsius: Floats, surface: Floats, place: Floats) -> Floats:
    """Return the temperature at a place between the middle (0) and the surface (1) of each body. [degC]

    Parameters
    ----------
    celsius : ndarray, shape (n_members, n_cells)
    surface : ndarray, shape (n_members,)
    place : ndarray, shape (n_members,)
        [-, 0..1]
    """
    members, cells = celsius.shape
    spot = np.clip(place, 0.0, 1.0) * cells - 0.5
    low = np.clip(np.floor(spot).astype(np.intp), 0, cells - 1)
    rows = np.arange(members)
    near = celsius[rows, low]
    far = np.where(low + 1 < cells, celsius[rows, np.minimum(low + 1, cells - 1)], surface)
    gap = np.where(low + 1 < cells, 1.0, 0.5)
    found: Floats = near + (far - near) * np.clip((spot - low) / gap, 0.0, 1.0)
    return found
