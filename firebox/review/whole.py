"""All figures of one cook."""

from collections.abc import Iterable
from datetime import datetime

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from firebox.records import DoorName, Record
from firebox.review.chronicle import Chronicle, chronicle
from firebox.review.counsel import Advice, advice
from firebox.review.fuel import Fuel, fuel
from firebox.review.holding import Holding, Slept, holding, slept
from firebox.review.honesty import Honesty, honesty
from firebox.review.knowledge import Knowledge, knowledge
from firebox.review.leaving import Excursion, excursions
from firebox.review.meats import Piece, pieces
from firebox.review.rhythm import Rhythm, rhythm
from firebox.review.warnings import Called, Raised, called, raised
from firebox.setup import KnownPit, Role, Round, role_of
from firebox.warn.rates import Rates, rates


class Outside(Struct, frozen=True, kw_only=True):
    """The air outside, where a probe told it. [degC]"""

    mean: float
    low: float
    high: float


class Opened(Struct, frozen=True, kw_only=True):
    """A door that stood open."""

    seconds: float
    minutes: float
    door: DoorName


class Review(Struct, frozen=True, kw_only=True):
    """What can be told of one cook when it is over.

    Attributes
    ----------
    number : int
        Of the cook, in its journal.
    kind : str
        "live" for a real fire.
    began, ended : datetime
        Of its first and last record; `seconds` below count from the first.
    target, band : float
        The newest. [degC, K]
    """

    number: int
    kind: str
    pit: str
    began: datetime
    ended: datetime
    target: float
    band: float
    damper_marks: int
    outside: Outside | None
    grates: tuple[str, ...]
    holding: Holding
    excursions: tuple[Excursion, ...]
    rhythm: Rhythm
    fuel: Fuel
    honesty: Honesty
    advice: Advice
    alarms: tuple[Raised, ...]
    rates: Rates
    called: tuple[Called, ...]
    meats: tuple[Piece, ...]
    notes: tuple[tuple[float, str], ...]
    known: Knowledge | None
    doors: tuple[Opened, ...]
    slept: tuple[Slept, ...]
    gap_minutes: float
    """In which nobody watched."""
    round: Round | None
    """What was practised; None: nothing."""
    going_on: bool
    """It was not over yet when it was looked back on."""

    @property
    def hours(self) -> float:
        """How long the record is. [h]"""
        return (self.ended - self.began).total_seconds() / 3600.0


def review(
    records: Iterable[Record],
    *,
    number: int = 1,
    kind: str = "live",
    price_per_kg: float | None = None,
    known: KnownPit | None = None,
    going_on: bool = False,
) -> tuple[Review, Chronicle]:
    """Return the figures of a cook, and the cook laid out by the clock, for whoever draws it.

    Parameters
    ----------
    records : iterable of Record
        In and out, in the order of the journal; readings may be thinned.
    number : int
    kind : str
    price_per_kg : float, optional
        Of wood, in any currency.
    known : KnownPit, optional
        What cooks have taught of the pit by now.
    going_on : bool
        Whether it is not over yet.
    """
    cook = chronicle(records)
    beat = rhythm(cook)
    return (
        Review(
            number=number,
            kind=kind,
            pit=cook.setup.pit,
            began=cook.epoch,
            ended=cook.instant(cook.end),
            target=float(cook.target[-1]),
            band=float(cook.band[-1]),
            damper_marks=cook.setup.damper_marks,
            outside=_outside(cook),
            grates=cook.grates(),
            holding=holding(cook),
            excursions=excursions(cook, beat),
            rhythm=beat,
            fuel=fuel(cook, price_per_kg),
            honesty=honesty(cook),
            advice=advice(cook),
            alarms=raised(cook),
            called=called(cook),
            rates=rates(
                [replace(alarm, time=cook.instant(at)) for at, alarm in cook.alarms],
                cook.epoch,
                cook.instant(cook.end),
            ),
            meats=pieces(cook),
            notes=cook.notes,
            known=knowledge(known, cook.setup.known, cook.epoch),
            slept=slept(cook),
            doors=tuple(
                Opened(seconds=span.start, minutes=(span.end - span.start) / 60.0, door=door)
                for door in DoorName
                for span in cook.doors(door)
            ),
            round=cook.setup.round,
            going_on=going_on,
            gap_minutes=sum(gap.end - gap.start for gap in cook.resumed) / 60.0,
        ),
        cook,
    )


def _outside(cook: Chronicle) -> Outside | None:
    names = [name for name in cook.probes if role_of(name, cook.setup) is Role.AMBIENT]
    heard = [cook.probes[name][np.isfinite(cook.probes[name])] for name in sorted(names)]
    known = next((values for values in heard if len(values)), None)
    if known is None:
        return None
    low, high = np.quantile(known, (0.02, 0.98))
    return Outside(mean=float(known.mean()), low=float(low), high=float(high))
