"""The meat in words, and the cook's own."""

from firebox.review import wording
from firebox.review.meats import Piece
from firebox.review.parts import Section, Table
from firebox.review.whole import Review
from firebox.review.wording import Look


def meats(review: Review, look: Look) -> Section | None:
    if not review.meats:
        return None
    words = [_piece(one, review, look) for one in review.meats]
    rows = tuple(
        (
            one.cut or one.probe,
            wording.hour(review, stand.seconds, look),
            stand.stage,
            wording.celsius(stand.celsius, look),
        )
        for one in review.meats
        for stand in one.stages
    )
    tables = (Table(heads=("meat", "from", "stage", "at the probe"), rows=rows, left=(0, 1, 2)),) if rows else ()
    small = tuple(dict.fromkeys(text for one in review.meats for text in one.urgent))
    return Section(key="meat", title="The meat", words=tuple(words), tables=tables, small=small)


def _piece(one: Piece, review: Review, look: Look) -> str:
    name = f"{wording.capital(one.cut)} (probe {one.probe})" if one.cut else wording.capital(one.probe)
    parts = []
    if one.on is not None:
        parts.append(f"on at {wording.hour(review, one.on, look)}")
    if one.bark_set is not None:
        parts.append(f"bark set by {wording.hour(review, one.bark_set, look)}")
    if one.wrapped is not None:
        parts.append(f"wrapped in {one.material} at {wording.hour(review, one.wrapped, look)}")
    parts += [f"felt {answer} at {wording.hour(review, at, look)}" for at, answer in one.felt]
    last = f"{wording.celsius(one.last_celsius, look)} inside"
    if one.off is not None:
        parts.append(f"off at {wording.hour(review, one.off, look)} with {last}")
    else:
        parts.append(f"{last} at the end")
    if one.serve is not None:
        parts.append(f"wanted at the table on {wording.day(one.serve, look)}")
    text = f"{name}: {', '.join(parts)}."
    if one.kg is not None and one.cooked_kg is not None:
        how = "weighed" if one.weighed else "as estimated"
        text += f" {wording.kg(one.kg, look)} raw became {wording.kg(one.cooked_kg, look)}, {wording.share(one.kept)} of it ({how})."
    return text


def notes(review: Review, look: Look) -> Section | None:
    if not review.notes:
        return None
    rows = tuple((wording.hour(review, at, look), text) for at, text in review.notes)
    return Section(
        key="notes", title="Your notes", tables=(Table(heads=("at", "note"), rows=rows, left=(0, 1), wide=(1,)),)
    )
