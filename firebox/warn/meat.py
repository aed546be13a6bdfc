"""Conditions of the meat: ready to be felt, too long where germs grow, held too cool."""

from collections.abc import Iterator
from typing import Final

from firebox.records import Meat
from firebox.warn.catalogue import member
from firebox.warn.view import Finding, View

WORTH_A_WALK: Final = "go and feel"
"""How the stage of a piece of meat ends while it is."""


def meat_findings(view: View) -> Iterator[tuple[str, Finding]]:
    """Yield what is to be told of each piece of meat, by what was last told of it."""
    for meat in view.now.meats:
        was_hot = meat.probe in view.course.been_hot
        if meat.safety and meat.safety_urgent:
            family = "meat-too-cool" if was_hot else "meat-unsafe"
            yield member(family, meat.probe), Finding(text=_sentence(meat), probe=meat.probe)
        if _is_ready(meat):
            text = f"The meat on {meat.probe} is likely to be done."
            first = None if meat.feel is None else f"Go and feel: {meat.feel}"
            yield member("meat-ready", meat.probe), Finding(text=text, probe=meat.probe, first=_ended(first))


def _is_ready(meat: Meat) -> bool:
    """Tell whether it is worth a walk to the meat now: its stage says so until somebody has felt it."""
    return meat.celsius is not None and meat.stage is not None and meat.stage.endswith(WORTH_A_WALK)


def _sentence(meat: Meat) -> str:
    words = meat.safety[0]
    return _ended(f"The meat on {meat.probe}: {words}") or words


def _ended(text: str | None) -> str | None:
    return text if text is None or text.endswith((".", "!", "?")) else f"{text}."
