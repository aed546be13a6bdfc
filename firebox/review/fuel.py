"""Wood, and what it cost."""

from msgspec import Struct

from firebox.records import Lit, Out
from firebox.review.chronicle import Chronicle
from firebox.review.holding import held
from firebox.review.rhythm import usual_kg


class Fuel(Struct, frozen=True, kw_only=True):
    """Wood of a cook, by the log.

    Attributes
    ----------
    kg : float
        All of it, with what the fire was lit with; splits without a weight count as usual ones.
    splits, unweighed : int
        Pieces laid, and those of them without a weight.
    hours : float
        From the first wood until the fire was let out or the record ends.
    kg_per_hour : float or None
        Of all of it over all of that.
    held_kg_per_hour : float or None
        While the pit was to be held; None where that was less than an hour.
    cost, cost_per_hour : float or None
        None: no price is known.
    """

    kg: float
    splits: int
    unweighed: int
    hours: float
    kg_per_hour: float | None
    held_kg_per_hour: float | None
    cost: float | None
    cost_per_hour: float | None


def fuel(cook: Chronicle, price_per_kg: float | None = None) -> Fuel:
    """Return the wood of a cook and, at a price a kilogram, what it cost."""
    usual = usual_kg(cook)
    laid = [(at, split.kg) for at, split in cook.log.splits() if split.kg != 0.0]
    weights = [(at, usual if kg is None else kg) for at, kg in laid]
    lit = [(deed.seconds, deed.entry.kg or 0.0) for deed in cook.deeds(Lit) if isinstance(deed.entry, Lit)]
    wood = [*weights, *lit]
    begun = min((at for at, _ in wood), default=cook.end)
    let_out = [deed.seconds for deed in cook.deeds(Out) if deed.seconds > max((at for at, _ in wood), default=0.0)]
    hours = max(0.0, min([*let_out, cook.end]) - begun) / 3600.0
    kg = sum(weight for _, weight in wood)
    rate = kg / hours if hours >= 0.5 and wood else None
    span = held(cook)
    holds = span is not None and span.end - span.start >= 3600.0
    return Fuel(
        kg=kg,
        splits=len(laid),
        unweighed=sum(weight is None for _, weight in laid),
        hours=hours,
        kg_per_hour=rate,
        held_kg_per_hour=None
        if span is None or not holds
        else (sum(weight for at, weight in wood if span.start <= at <= span.end) * 3600.0 / (span.end - span.start)),
        cost=None if price_per_kg is None else kg * price_per_kg,
        cost_per_hour=None if price_per_kg is None or rate is None else rate * price_per_kg,
    )
