"""What is known of the pit, in words: what a mark and a split are worth there, and how well that is known."""

from firebox.estimate.worth import FALL, LOOK
from firebox.review import wording
from firebox.review.knowledge import Knowledge
from firebox.review.parts import Section, Table
from firebox.review.whole import Review
from firebox.review.wording import Look
from firebox.setup import Known, Worth


def known(review: Review, look: Look) -> Section | None:
    """Return what is known of the pit of a cook."""
    return None if review.known is None else section(review.known, look)


def section(told: Knowledge, look: Look) -> Section:
    """Return what is known of a pit, with what it was taught by."""
    this = {
        None: "",
        True: "; this one among them",
        False: "; this one not yet among them, which `firebox review --learn` puts right",
    }[told.with_this]
    rows = tuple(
        (
            one.words,
            wording.si(one.value, one.unit),
            f"{wording.si(one.low, one.unit)} to{wording.CLOSE}{wording.si(one.high, one.unit)}",
            wording.UNKNOWN if one.before is None else wording.si(one.before, one.unit),
        )
        for one in told.parameters
    )
    heads = ("what", "likely", "eight of ten between", "before")
    return Section(
        key="known",
        title="What is known of the pit",
        words=(
            *(() if told.worth is None else _worth(told.worth, look)),
            (
                f"That is from {wording.count(told.cooks, 'cook')}, {wording.minutes(60.0 * told.hours)} in all, the last on "
                f"{wording.day(told.learned, look)}{this}."
            ),
        ),
        tables=(Table(heads=heads, rows=rows, wide=(0, 2), full=True, title="As numbers"),),
        small=(
            "Within each ± lie eight of ten. What a pit does in another season or with other wood may lie outside.",
        ),
    )


def _worth(worth: Worth, look: Look) -> tuple[str, ...]:
    return (
        (
            f"With the intake {wording.share(worth.intake)} open, one mark more of it is worth "
            f"{_kelvin(worth.mark, look, signed=True)} after {wording.minutes(LOOK)}."
        ),
        (
            f"A split of {wording.kg(worth.kg, look)} lifts the pit by {_kelvin(worth.lift, look)}, at its highest after "
            f"{_minutes(worth.peak)}."
        ),
        (
            f"One every {_minutes(worth.every)} holds the target. Left alone, the pit has come down "
            f"{wording.kelvin(FALL, look)} from its top after {_minutes(worth.fall)}."
        ),
    )


def _kelvin(known: Known, look: Look, *, signed: bool = False) -> str:
    return f"{wording.kelvin(known.value, look, signed=signed)} (±{wording.CLOSE}{wording.kelvin(known.doubt, look)})"


def _minutes(known: Known) -> str:
    return f"{wording.minutes(known.value)} (±{wording.CLOSE}{wording.minutes(known.doubt)})"
