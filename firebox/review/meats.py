"""The meat of a cook: its stages by the clock, and what it weighed."""

from datetime import datetime
from typing import Final

from msgspec import Struct

from firebox.cooklog import Deed, Doing
from firebox.records import Feel, Meat, MeatOn, Serving, Wrap
from firebox.review.chronicle import Chronicle

STOOD: Final = 300.0
"""Seconds that a stage has to last to be told."""


class Stand(Struct, frozen=True, kw_only=True):
    """A stage of the meat, from `seconds` on."""

    seconds: float
    stage: str
    celsius: float | None


class Piece(Struct, frozen=True, kw_only=True):
    """One piece of meat as it went.

    Attributes
    ----------
    on, off, wrapped : float or None
        When it went onto the grate, came off, was wrapped. [s]
    bark_set : float or None
        When its bark was set, as estimated. [s]
    first_celsius, last_celsius : float or None
        At the probe, when first heard and at the end (or when it came off).
    felt : tuple of (float, str)
        What the cook's hand said.
    kg, cooked_kg : float or None
        Raw, as weighed or as the owner told it; and what came off, as weighed or as estimated.
    weighed : bool
        Whether `cooked_kg` was weighed.
    urgent : tuple of str
        What was said of food safety and was urgent, each once.
    """

    probe: str
    cut: str | None
    on: float | None
    off: float | None
    wrapped: float | None
    material: str | None
    bark_set: float | None
    stages: tuple[Stand, ...]
    first_celsius: float | None
    last_celsius: float | None
    felt: tuple[tuple[float, str], ...]
    kg: float | None
    cooked_kg: float | None
    weighed: bool
    urgent: tuple[str, ...]
    serve: datetime | None = None
    """When it was wanted at the table."""

    @property
    def kept(self) -> float | None:
        """Share of the raw weight that is left to serve."""
        return None if not self.kg or self.cooked_kg is None else self.cooked_kg / self.kg


def pieces(cook: Chronicle) -> tuple[Piece, ...]:
    """Return the pieces of meat that a probe was in, by the name of the probe."""
    found = []
    for name in sorted(cook.meats):
        heard = [(at, one) for at, one in cook.meats[name] if one.celsius is not None]
        if heard:
            found.append(_piece(cook, name, heard))
    return tuple(found)


def _piece(cook: Chronicle, name: str, heard: list[tuple[float, Meat]]) -> Piece:
    on = [deed.seconds for deed, entry in _doings(cook, MeatOn, name) if isinstance(entry, MeatOn) and entry.on]
    off = [deed.seconds for deed, entry in _doings(cook, MeatOn, name) if isinstance(entry, MeatOn) and not entry.on]
    wraps = [
        (deed.seconds, entry.material)
        for deed, entry in _doings(cook, Wrap, name)
        if isinstance(entry, Wrap) and entry.material != "none"
    ]
    taken = off[-1] if off else None
    since = [(at, one) for at, one in heard if not on or at >= on[0]] or heard
    last = [one for at, one in heard if taken is None or at <= taken] or [one for _, one in heard]
    owned = next((one.kg for one in cook.setup.meats if one.probe == name), None)
    raw = next((one.kg_in for _, one in reversed(heard) if one.kg_in is not None), owned)
    out = next((one.kg_out for _, one in reversed(heard) if one.kg_out is not None), None)
    lost = next((one.weight_lost for one in reversed(last) if one.weight_lost is not None), None)
    thought = None if raw is None or lost is None else raw * (1.0 - lost)
    return Piece(
        probe=name,
        cut=next((one.cut for _, one in reversed(heard) if one.cut), None),
        on=on[0] if on else None,
        off=taken,
        wrapped=wraps[0][0] if wraps else None,
        material=wraps[0][1] if wraps else None,
        bark_set=next((at for at, one in heard if one.bark is not None and one.bark >= 1.0), None),
        stages=_stages(since),
        first_celsius=since[0][1].celsius,
        last_celsius=last[-1].celsius,
        felt=tuple(
            (deed.seconds, entry.answer) for deed, entry in _doings(cook, Feel, name) if isinstance(entry, Feel)
        ),
        kg=raw,
        cooked_kg=thought if out is None else out,
        weighed=out is not None,
        serve=next(
            (entry.serve for _, entry in reversed(_doings(cook, Serving, name)) if isinstance(entry, Serving)), None
        ),
        urgent=tuple(dict.fromkeys(text for _, one in heard if one.safety_urgent for text in one.safety[:1])),
    )


def _doings(cook: Chronicle, kind: type[MeatOn | Wrap | Feel | Serving], name: str) -> list[tuple[Deed, Doing]]:
    """Return the doings that were about a piece; those that name none were about all."""
    return [
        (deed, deed.entry)
        for deed in cook.deeds(kind)
        if isinstance(deed.entry, MeatOn | Wrap | Feel | Serving) and deed.entry.probe in {None, name}
    ]


def _stages(heard: list[tuple[float, Meat]]) -> tuple[Stand, ...]:
    steps: list[list[tuple[float, Meat]]] = []
    for at, one in heard:
        if one.stage is None:
            continue
        if steps and steps[-1][0][1].stage == one.stage:
            steps[-1].append((at, one))
        else:
            steps.append([(at, one)])
    told: list[Stand] = []
    for step in steps:
        at, one = step[0]
        lasted = step[-1][0] - at >= STOOD
        if lasted and one.stage is not None and (not told or told[-1].stage != one.stage):
            told.append(Stand(seconds=at, stage=one.stage, celsius=one.celsius))
    return tuple(told)
