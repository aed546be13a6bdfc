"""Surrogate pits for judging the estimator: made-up physics that is built otherwise than the estimator's own model.

Every log is followed by itself (surface temperature, water, solid), coals lie in a bed with a temperature of its own,
air is drawn by the stack through both dampers in series, walls have layers, the chamber has two zones. All arrays
carry a leading batch axis, so that the branches in which nobody touches the pit again run side by side.

Nothing here is a real pit; all numbers are drawn at random around plausible ones.
"""

from dataclasses import dataclass, field
from typing import Any

import numpy as np

SIGMA = 5.67e-8
STEP = 5.0
LOGS = 120
PIECES = 3
VIEW = np.tile([0.55, 0.9, 1.5], LOGS // PIECES)


@dataclass
class Build:
    litres: float
    wall: float
    insulated: bool
    leak: float
    stack_area: float
    intake_area: float
    height: float
    kp: float
    kc: float
    ke: float
    probe_mix: float
    probe_lag: float
    meat_kg: float
    emissivity: float
    noise: float
    quantum: float
    offset: float
    wind_mean: float
    ambient: float
    moisture: float
    area: float = 0.0
    fb_area: float = 0.0
    usual: float = 0.0


def draw_build(rng: np.random.Generator, litres: float | None = None) -> Build:
    litres = float(litres or np.exp(rng.uniform(np.log(220), np.log(1900))))
    b = Build(
        litres=litres,
        wall=float(rng.choice([0.003, 0.0048, 0.0064, 0.0095])),
        insulated=bool(rng.random() < 0.4),
        leak=float(rng.uniform(0.0, 0.35)),
        stack_area=0.0,
        intake_area=0.0,
        height=float(rng.uniform(0.7, 1.4) * (litres / 400) ** 0.25),
        kp=float(np.exp(rng.normal(0, 0.25))),
        kc=float(np.exp(rng.normal(0, 0.3))),
        ke=float(np.exp(rng.normal(0, 0.3))),
        probe_mix=float(rng.uniform(0.1, 0.6)),
        probe_lag=float(rng.uniform(15, 110)),
        meat_kg=float(rng.uniform(0.0, 0.03) * litres),
        emissivity=float(rng.uniform(0.75, 0.95)),
        noise=float(rng.uniform(0.1, 0.8)),
        quantum=float(rng.choice([0.0, 0.25, 0.5, 1.0])),
        offset=float(rng.normal(0, 1.5)),
        wind_mean=float(rng.uniform(0.3, 3.5)),
        ambient=float(rng.uniform(-3, 28)),
        moisture=float(rng.uniform(0.13, 0.28)),
    )
    vol = litres / 1000
    d = (4 * vol / (2.6 * np.pi)) ** (1 / 3)
    b.area = np.pi * d * 2.6 * d + 0.5 * np.pi * d * d
    fbv = vol * rng.uniform(0.22, 0.4)
    b.fb_area = 6 * fbv ** (2 / 3)
    b.stack_area = 0.018 * (litres / 400) ** 0.7 * rng.uniform(0.8, 1.3)
    b.intake_area = b.stack_area * rng.uniform(0.5, 1.0)
    # the wood a cook of this pit would use for 40 min
    loss = b.area * 12.5 * 85 + b.fb_area * (6 if b.insulated else 24) * (200 if b.insulated else 210)
    flue = 0.012 * (litres / 400) ** 0.8 * 1010 * 100
    b.usual = float((loss + flue) * 1700 / 14.5e6 * rng.uniform(0.8, 1.25))
    return b


def weather(rng, b, seconds):
    n = int(seconds / STEP) + 2
    wind = np.empty(n)
    w, slow = 0.0, 0.0
    for i in range(n):
        w += STEP / 90 * -w + np.sqrt(2 * STEP / 90) * 0.25 * rng.normal()
        slow += STEP / 3000 * -slow + np.sqrt(2 * STEP / 3000) * 0.25 * rng.normal()
        wind[i] = b.wind_mean * np.exp(0.6 * w + slow)
    t = np.arange(n) * STEP
    amb = b.ambient - 4 * np.sin(t / 3600 * 2 * np.pi / 24) + 0.5 * np.sin(t / 1500)
    return wind, amb + 273.15


@dataclass
class State:
    a: dict[str, Any] = field(default_factory=dict)

    def copy(self) -> "State":
        return State({k: v.copy() for k, v in self.a.items()})


def cold(b: Build, batch: int = 1) -> "State":
    ta = b.ambient + 273.15
    one = np.ones(batch)
    a = {
        "fbw": np.full((batch, 3), ta),
        "w1": np.full((batch, 2), ta),
        "w2": np.full((batch, 2), ta),
        "m1": ta * one,
        "m2": ta * one,
        "bed": 0.02 * one,
        "tbed": ta * one,
        "ms": np.zeros((batch, LOGS)),
        "ms0": np.full((batch, LOGS), 1e-9),
        "mw": np.zeros((batch, LOGS)),
        "ts": np.full((batch, LOGS), ta),
        "probe": ta * one,
        "gas": ta * one,
        "ash": 0.0 * one,
        "tst": ta * one,
        "heat": 0.0 * one,
        "soot": 0.0 * one,
        "air": 0.0 * one,
    }
    return State(a)


def add_log(s: State, slot: int, kg: float, u: float, ta: float, hot: bool = False) -> None:
    a = s.a
    dry = kg / (1 + u) / PIECES
    piece = slice(PIECES * slot, PIECES * slot + PIECES)
    a["ms"][:, piece] = dry
    a["ms0"][:, piece] = dry
    a["mw"][:, piece] = (0.03 if hot else u) * dry
    a["ts"][:, piece] = 850.0 if hot else ta


def step(s: State, b: Build, controls: tuple[Any, Any, Any, Any], wind: Any, ta: Any) -> None:
    """One step in place. controls: intake, stack, cook door, firebox door (fractions)."""
    a = s.a
    rough, grease = a.get("rough", 1.0), a.get("grease", 0.0)  # of each log; W that burn in the chamber
    oi, os_, dc, df = controls
    sz = b.litres / 400
    dp = 0.0342 * 101325 * b.height * (1 / ta - 1 / np.maximum(a["tst"], ta + 1)) + 0.05 * wind**2
    ai = b.intake_area * (0.03 + oi) * np.exp(-0.12 * a["ash"] / sz) + df * 0.1 * sz**0.66
    ast = b.stack_area * (0.04 + os_) + dc * 0.2
    res = 1 / (0.65 * ai) ** 2 + 1 / (0.65 * ast) ** 2 + 1 / (0.45 * b.stack_area) ** 2
    air = np.sqrt(2 * 1.2 * np.maximum(dp, 0.02) / res)
    cp = 1020.0
    # wood
    area = 0.07 * rough * a["ms0"] ** 0.667 * (a["ms"] / a["ms0"]) ** 0.5
    tb = a["tbed"][:, None]
    tg = a["gas"][:, None]
    q = (
        area
        * VIEW
        * (
            12 * (0.6 * tg + 0.4 * tb - a["ts"])
            + 0.35 * b.emissivity * SIGMA * (tb**4 - a["ts"] ** 4)
            + 0.15 * SIGMA * 0.5 * (a["fbw"][:, :1] ** 4 - a["ts"] ** 4)
        )
    )
    ev = area * 0.012 * b.ke * np.clip((a["ts"] - 365) / 120, 0, 2) * (a["mw"] / (0.2 * a["ms0"]))
    ev = np.minimum(ev, a["mw"] / STEP)
    py = area * 0.0042 * b.kp * np.clip((a["ts"] - 470) / 200, 0, 1.3) * (a["ms"] > 1e-4)
    py = np.minimum(py, a["ms"] / STEP)
    vol = 0.79 * py
    vs = vol.sum(1)
    cr = (
        0.00026
        * b.kc
        * sz**0.33
        * np.maximum(a["bed"], 0) ** 0.67
        * np.clip((a["tbed"] - 500) / 350, 0, 1.2)
        * (air / (0.02 * sz)) ** 0.45
    )
    cr = np.minimum(cr, a["bed"] / STEP)
    need = vs * 5.2 + cr * 11.0
    avail = 0.85 * air
    frac = np.minimum(1.0, avail / np.maximum(need, 1e-9))
    cr = cr * (0.4 + 0.6 * frac)
    vb = np.minimum(vs, np.maximum(avail - cr * 11.0, 0) / 5.2)
    hot = np.clip((a["gas"] - 450) / 200, 0.15, 1.0)
    qv = 15.5e6 * vb * (0.55 + 0.42 * hot)
    qc = 30e6 * cr
    a["heat"], a["flame"] = qv + qc, qv
    a["soot"] = vs - vb
    a["air"] = air
    back = 0.13 * qv[:, None] * area / np.maximum(area.sum(1, keepdims=True), 1e-6)
    # wood temperatures; half of the char glows on the log
    cs = 0.16 * a["ms0"] * 1800 + 60
    a["ts"] = np.minimum(a["ts"] + STEP * (q + back - ev * 2.4e6 - py * 3e5) / cs, 950.0)
    a["ms"] = np.maximum(a["ms"] - STEP * py, 0)
    a["mw"] = np.maximum(a["mw"] - STEP * ev, 0)
    a["bed"] = np.maximum(a["bed"] + STEP * (0.2 * py.sum(1) - cr), 1e-4)
    a["ash"] = a["ash"] + STEP * 0.015 * py.sum(1)
    cb = 1100 * a["bed"] + 1500 * sz**0.7
    fba = b.fb_area
    bede = 0.10 * fba * (0.3 + 0.7 * np.minimum(1, a["bed"] / (0.4 * sz)))
    loss = bede * (0.8 * SIGMA * (a["tbed"] ** 4 - a["fbw"][:, 0] ** 4) + 6 * (a["tbed"] - a["gas"])) + 0.2 * q.clip(
        0
    ).sum(1)
    dtb = (0.75 * qc + 0.16 * qv - loss) / cb
    a["tbed"] = np.clip(a["tbed"] + np.clip(STEP * dtb, -40, 40), ta, 1350)
    # gas through the firebox
    hot_in = (
        np.maximum(0.25 * qc + 0.84 * qv - back.sum(1), 0) + bede * 6 * (a["tbed"] - a["gas"]) - ev.sum(1) * 2.0e6
    )
    g1 = 14 * fba
    a["gas"] = np.clip((air * cp * ta + g1 * a["fbw"][:, 0] + hot_in) / (air * cp + g1), ta - 5, 1500)
    a["gas"] = np.minimum(a["gas"], 1500)
    # the chamber in two zones
    leak = b.leak * air + dc * 0.12 * sz**0.66
    hz = 17.0 * b.area / 2
    m = 6.0 * b.area / 2 * 0.4 + b.meat_kg * 0.6
    flow = air + 0.5 * leak
    rad = 0.04 * fba * SIGMA * (a["fbw"][:, 0] ** 4 - a["w1"][:, 0] ** 4)
    z1 = (air * cp * a["gas"] + 0.5 * leak * cp * ta + hz * a["w1"][:, 0] + m * a["m1"] + grease) / (
        flow * cp + hz + m
    )
    z2 = (flow * cp * z1 + 0.5 * leak * cp * ta + hz * a["w2"][:, 0] + m * a["m2"]) / ((air + leak) * cp + hz + m)
    a["z1"], a["z2"], a["tst"] = z1, z2, z2 - 4
    ho = 5.0 + 4.2 * wind**0.75
    # walls: two layers a zone
    cw = 7850 * 500 * b.wall * b.area / 4
    kw = 45.0 / (b.wall / 2) * b.area / 2
    kw = min(kw, 0.4 * cw / STEP)
    for w, z, r in (("w1", z1, rad), ("w2", z2, 0.0)):
        inn, out = a[w][:, 0], a[w][:, 1]
        o = b.area / 2 * (ho * (out - ta) + b.emissivity * SIGMA * (out**4 - ta**4))
        f = kw * (inn - out)
        a[w][:, 0] = inn + STEP * (hz * (z - inn) + r - f) / cw
        a[w][:, 1] = out + STEP * (f - o) / cw
    for mm, z in (("m1", z1), ("m2", z2)):
        evap = b.meat_kg * 0.5 * 12.0 * np.clip((a[mm] - 320) / 25, 0, 1)
        a[mm] = a[mm] + STEP * (m * (z - a[mm]) - evap) / (b.meat_kg * 1700 + 6000 * sz)
    # firebox walls: three layers, the last ones insulating or not
    cf = 7850 * 500 * b.wall * fba * 0.8 * np.array([1.0, 0.6, 1.0])
    k1, k2 = (3.0, 3.0) if b.insulated else (300.0, 300.0)
    fb = a["fbw"]
    inq = g1 * (a["gas"] - fb[:, 0]) + bede * 0.8 * SIGMA * (a["tbed"] ** 4 - fb[:, 0] ** 4) - rad
    f1 = k1 * fba * (fb[:, 0] - fb[:, 1])
    f2 = k2 * fba * (fb[:, 1] - fb[:, 2])
    o = fba * (ho * (fb[:, 2] - ta) + b.emissivity * SIGMA * (fb[:, 2] ** 4 - ta**4))
    fb[:, 0] += STEP * (inq - f1) / cf[0]
    fb[:, 1] += STEP * (f1 - f2) / cf[1]
    fb[:, 2] += STEP * (f2 - o) / cf[2]
    seen = (1 - b.probe_mix) * (0.4 * z1 + 0.6 * z2) + b.probe_mix * (0.4 * a["w1"][:, 0] + 0.6 * a["w2"][:, 0])
    a["grate"] = seen
    a["probe"] = a["probe"] + (1 - np.exp(-STEP / b.probe_lag)) * (seen - a["probe"])


@dataclass
class Cook:
    build: Build
    times: np.ndarray
    grate: np.ndarray
    readings: np.ndarray
    deeds: list
    marks: np.ndarray
    branches: np.ndarray
    heat: np.ndarray
    floor: np.ndarray


def run(seed, hours=6.0, litres=None, lazy=False, branch_every=300.0):
    """Cook on a random pit; returns the cook with branches, shape (marks, minutes 0..60)."""
    rng = np.random.default_rng(seed)
    b = draw_build(rng, litres)
    total = hours * 3600
    wind, amb = weather(rng, b, total + 3700)
    s = cold(b)
    slot, deeds = 0, []
    oi, os_ = 0.7, 1.0
    for frac in (0.9, 0.9, 0.9, 0.7):
        add_log(s, slot, b.usual * frac, b.moisture, amb[0], hot=True)
        slot += 1
    s.a["bed"] += 0.6 * b.usual
    s.a["tbed"] += 700
    deeds.append((0.0, "lit", 3.4 * b.usual))
    deeds.append((0.0, "intake", oi))
    deeds.append((0.0, "stack", os_))
    next_split, door_c, door_f = 25 * 60.0, 0.0, 0.0
    next_door = rng.uniform(60, 90) * 60
    next_damper = 40 * 60
    times, grate, reads, heat = [], [], [], []
    saved, marks = [], []
    n = int(total / STEP)
    last_split = 0.0
    for i in range(n):
        t = i * STEP
        ta = amb[i]
        temp = float(s.a["probe"][0]) - 273.15
        slope = temp - grate[-24] if len(grate) > 30 else 0.0
        wait = (45 if lazy else 18) * 60
        if (
            slot < LOGS // PIECES
            and (t >= next_split and ((temp < 123 - (6 if lazy else 0) and slope < 0.5) or t - last_split > 45 * 60))
        ) or (slot < LOGS // PIECES and t - last_split > 900 and temp < 105 and slope < 0):
            kg = b.usual * float(np.clip(rng.normal(1.0, 0.18), 0.5, 1.6))
            told = kg * float(np.clip(rng.normal(1.0, 0.12), 0.7, 1.4))
            deeds.append((t, "fb", 1.0))
            deeds.append((t + 15, "split", told))
            deeds.append((t + 30, "fb", 0.0))
            add_log(s, slot, kg, b.moisture, ta)
            slot += 1
            door_f = t + 30
            last_split = t
            next_split = t + wait * rng.uniform(0.85, 1.2)
        if t >= next_damper and rng.random() < 0.004:
            new = oi
            if temp > 127 and slope > -0.3:
                new = oi - 0.125 * rng.integers(1, 3)
            elif temp < 115:
                new = oi + 0.125 * rng.integers(1, 3)
            new = float(np.clip(new, 0.125, 1.0))
            if new != oi:
                oi = new
                deeds.append((t, "intake", oi))
                next_damper = t + 480
        if t >= next_door:
            door_c = t + float(rng.uniform(20, 90))
            deeds.append((t, "cook", 1.0))
            deeds.append((door_c, "cook", 0.0))
            next_door = t + rng.uniform(40, 80) * 60
        step(s, b, (oi, os_, float(t < door_c), float(t < door_f)), wind[i], ta)
        if i % 2 == 1:
            times.append(t + STEP)
            v = float(s.a["probe"][0]) - 273.15
            grate.append(float(s.a["grate"][0]) - 273.15)
            heat.append(float(s.a["heat"][0]))
            r = v + b.offset + b.noise * rng.normal()
            if rng.random() < 0.002:
                r += rng.normal() * 40
            if b.quantum:
                r = round(r / b.quantum) * b.quantum
            reads.append(np.nan if rng.random() < 0.01 else r)
        if (t + STEP) % branch_every == 0 and t + STEP >= 900:
            saved.append(s.copy())
            marks.append((i + 1, oi, os_))
    # branches, all in one batch
    len(saved)
    big = State({key: np.concatenate([x.a[key] for x in saved]) for key in saved[0].a})
    idx = np.array([m[0] for m in marks])
    ci = np.array([m[1] for m in marks])
    cs = np.array([m[2] for m in marks])
    out, floor = (_left_alone(big.copy(), b, (ci, cs, 0.0, 0.0), w, amb, idx) for w in (wind, None))
    return Cook(
        b,
        np.array(times),
        np.array(grate),
        np.array(reads),
        deeds,
        idx * STEP,
        out + b.offset,
        np.array(heat),
        floor + b.offset,
    )


def _left_alone(s, b, controls, wind, amb, idx):
    """March every branch for an hour; wind None: the mean wind instead of the true one (what perfect physics could do)."""
    out = np.empty((idx.size, 61))
    out[:, 0] = s.a["grate"] - 273.15
    for j in range(720):
        step(s, b, controls, b.wind_mean if wind is None else wind[idx + j], amb[idx + j])
        if (j + 1) % 12 == 0:
            out[:, (j + 1) // 12] = s.a["grate"] - 273.15
    return out
