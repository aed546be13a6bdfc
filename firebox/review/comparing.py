"""Two or more cooks side by side."""

from collections.abc import Callable, Sequence
from typing import Final

from firebox.review import wording
from firebox.review.blame import Cause
from firebox.review.counsel import Followed
from firebox.review.honesty import Kept
from firebox.review.parts import Section, Table
from firebox.review.rhythm import Middle
from firebox.review.sheet import NO_REAL_FIRE, Sheet
from firebox.review.warnings import Worth
from firebox.review.whole import Review
from firebox.review.wording import Look

Figure = Callable[[Review, Look], str]


def side_by_side(reviews: Sequence[Review], look: Look) -> Sheet:
    """Return two or more cooks side by side, in the order given."""
    rows = tuple((label, *(figure(one, look) for one in reviews)) for label, figure in FIGURES)
    shown = tuple(row for row in rows if any(cell != wording.UNKNOWN for cell in row[1:]))
    return Sheet(
        title=f"{len(reviews)} cooks side by side",
        subtitle="; ".join(_named(one, look) for one in reviews),
        banner="; ".join(sorted({NO_REAL_FIRE[one.kind] for one in reviews if one.kind in NO_REAL_FIRE})),
        sections=(
            Section(
                key="compare",
                title="Side by side",
                words=tuple(words for best in BESTS if (words := best(reviews, look)) is not None),
                tables=tuple(_table(reviews, shown, first) for first in range(0, len(reviews), ABREAST)),
                small=("Weather, meat and wood differ from cook to cook as well: compare like with like.",),
            ),
        ),
    )


def _named(one: Review, look: Look) -> str:
    what = "" if one.round is None else f", {one.round.title} ({wording.score(one.round)})"
    return f"{one.number}: {wording.day(one.began, look)}, {one.pit}{what}"


def _steadiest(reviews: Sequence[Review], _look: Look) -> str | None:
    return _best(
        [(one.holding.inside, one) for one in reviews if one.holding.arrived_seconds is not None],
        "was in its band for most of the time",
        wording.share,
        most=True,
    )


def _thriftiest(reviews: Sequence[Review], look: Look) -> str | None:
    burnt = [(one.fuel.held_kg_per_hour or one.fuel.kg_per_hour, one) for one in reviews]
    return _best(
        [(rate, one) for rate, one in burnt if rate is not None],
        "burnt the least wood an hour",
        lambda rate: wording.kg(rate, look),
        most=False,
    )


def _evenest(reviews: Sequence[Review], _look: Look) -> str | None:
    beats = [(one.rhythm.interval_minutes, one) for one in reviews if len(one.rhythm.fed) >= FEWEST]
    return _best(
        [((beat.high - beat.low) / beat.median, one) for beat, one in beats if beat is not None],
        "had the steadiest rhythm, by the spread of its intervals",
        wording.share,
        most=False,
    )


def _best(found: list[tuple[float, Review]], what: str, tell: Callable[[float], str], *, most: bool) -> str | None:
    """Return which cook did best in one respect, beside what the others came to; None where they are alike."""
    found = sorted(found, key=lambda pair: -pair[0] if most else pair[0])
    if len(found) < 2 or tell(found[0][0]) == tell(found[1][0]):
        return None
    (best, review), *others = found
    return f"Cook {review.number} {what}: {tell(best)}, against {' and '.join(tell(value) for value, _ in others)}."


FEWEST: Final = 5
"""Splits from which a rhythm can be told."""

BESTS: Final = (_steadiest, _thriftiest, _evenest)

ABREAST: Final = 3
"""Cooks in one table, so that it fits 80 columns."""


def _table(reviews: Sequence[Review], rows: Sequence[tuple[str, ...]], first: int) -> Table:
    some = slice(first, first + ABREAST)
    return Table(
        heads=("", *(_head(one) for one in reviews[some])),
        rows=tuple((row[0], *row[1:][some]) for row in rows),
    )


def _head(one: Review) -> str:
    return f"cook {one.number}" + ("" if one.round is None else f", {one.round.title}"[:HEAD])


HEAD: Final = 14
"""Characters of a round's name over a column; in full it stands above the table."""


def _kept(review: Review, minutes: int) -> Kept | None:
    return next((one for one in review.honesty.kept if one.minutes == minutes), None)


def _median(middle: Middle | None) -> float | None:
    return None if middle is None else middle.median


def _error(minutes: int) -> Figure:
    def figure(review: Review, look: Look) -> str:
        kept = _kept(review, minutes)
        return wording.kelvin(None if kept is None else kept.error, look, digits=1)

    return figure


def _coverage(review: Review, _look: Look) -> str:
    kept = _kept(review, 15)
    return wording.share(None if kept is None else kept.coverage)


def _outside(review: Review, look: Look) -> str:
    return wording.celsius(None if review.outside is None else review.outside.mean, look)


def _cause(review: Review, _look: Look) -> str:
    cost: dict[Cause, float] = {}
    for one in review.excursions:
        cost[one.causes[0].cause] = cost.get(one.causes[0].cause, 0.0) + one.minutes
    return max(cost, key=lambda cause: cost[cause]).value if cost else wording.UNKNOWN


def _followed(review: Review, _look: Look) -> str:
    asked = [one for one in review.advice.given if one.followed is not Followed.UNASKED]
    done = sum(one.followed in {Followed.YES, Followed.PARTLY} for one in asked)
    return f"{done} of {len(asked)}" if asked else wording.UNKNOWN


def _alarms(review: Review, _look: Look) -> str:
    vain = sum(one.worth is Worth.VAIN for one in review.alarms)
    return f"{len(review.alarms)} ({vain} in vain)" if vain else str(len(review.alarms))


def _yield(review: Review, _look: Look) -> str:
    return next((wording.share(one.kept) for one in review.meats if one.kept is not None), wording.UNKNOWN)


FIGURES: Final[tuple[tuple[str, Figure], ...]] = (
    ("length", lambda r, _: wording.minutes(60.0 * r.hours)),
    ("target", lambda r, look: f"{wording.celsius(r.target, look)} ± {wording.kelvin(r.band, look)}"),
    ("air outside", _outside),
    ("to the band", lambda r, _: wording.minutes(r.holding.arrived_after_minutes)),
    ("in the band", lambda r, _: wording.share(r.holding.inside if r.holding.arrived_seconds is not None else None)),
    ("above it", lambda r, _: wording.share(r.holding.above if r.holding.arrived_seconds is not None else None)),
    ("below it", lambda r, _: wording.share(r.holding.below if r.holding.arrived_seconds is not None else None)),
    ("off the target by", lambda r, look: wording.kelvin(r.holding.mean_off, look, digits=1)),
    ("out of the band", lambda r, _: wording.count(len(r.excursions), "time")),
    ("mostly because of", _cause),
    ("splits", lambda r, _: str(r.fuel.splits)),
    ("a split every", lambda r, _: wording.minutes(_median(r.rhythm.interval_minutes))),
    ("a usual split", lambda r, look: wording.kg(_median(r.rhythm.kg), look)),
    ("lifts the pit by", lambda r, look: wording.kelvin(_median(r.rhythm.rise), look)),
    ("top after", lambda r, _: wording.minutes(_median(r.rhythm.peak_minutes))),
    ("wood an hour", lambda r, look: wording.kg(r.fuel.held_kg_per_hour or r.fuel.kg_per_hour, look)),
    ("wood in all", lambda r, look: wording.kg(r.fuel.kg, look)),
    ("cost", lambda r, look: wording.money(r.fuel.cost, look)),
    ("cost an hour", lambda r, look: wording.money(r.fuel.cost_per_hour, look)),
    ("forecast off, 15 min", _error(15)),
    ("forecast off, 30 min", _error(30)),
    ("80 % band held, 15 min", _coverage),
    ("advice followed", _followed),
    ("alarms", _alarms),
    ("meat left of raw", _yield),
)
"""What is told of each cook, in this order; a row that nobody has a figure for is left out."""
