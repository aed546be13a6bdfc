"""Conditions of the meat: ready to be felt, too long where germs grow, held too cool."""

from collections.abc import Iterator
from typing import Final

from msgspec.structs import replace

from firebox.records import Meat, Priority
from firebox.warn.catalogue import member
from firebox.warn.view import Finding, View

WORTH_A_WALK: Final = "go and feel"
"""How the stage of a piece of meat ends while it is."""


def meat_findings(view: View) -> Iterator[tuple[str, Finding]]:
    """Yield what is to be told of each piece of meat, by what was last told of it."""
    for meat in view.now.meats:
        was_hot = meat.probe in view.course.been_hot
        if meat.unsafe is not None:
            yield member("meat-unsafe", meat.probe), _unsafe(meat, meat.unsafe, view)
        elif meat.safety and meat.safety_urgent:
            family = "meat-too-cool" if was_hot else "meat-unsafe"
            yield member(family, meat.probe), Finding(text=_sentence(meat), probe=meat.probe)
        if _is_ready(meat):
            text = f"The meat on {meat.probe} may be ready: only a hand can tell."
            first = None if meat.feel is None else f"Go and feel: {meat.feel}"
            yield member("meat-ready", meat.probe), Finding(text=text, probe=meat.probe, first=_ended(first))


UP_WITHIN_KELVIN: Final = 8.0
"""No farther below its target the pit is up to it: what is slow then is the meat."""


def _unsafe(meat: Meat, unsafe: str, view: View) -> Finding:
    """Return what is to be told of meat that is not safe: in words that stay true while its clock runs on.

    Close to the limit it is told less urgently than beyond it, so that the crossing is told anew.
    """
    if unsafe == "long":
        text = f"The meat on {meat.probe} has been more than 6 h between 10 and 54 C (50-130 F): too long."
        first = "Do not serve it by heat alone: go by the rules of the place; read the safety lines on the meat page."
        return Finding(text=text, probe=meat.probe, first=first)
    if unsafe == "raw":
        text = f"The meat on {meat.probe} is off the heat and NOT COOKED."
        return Finding(text=text, probe=meat.probe, first="Put it back on the heat, or log where it is if it is on.")
    text = f"The meat on {meat.probe} has been more than 5 h of at most 6 between 10 and 54 C (50-130 F)."
    up = view.level is not None and view.level >= view.said.target - UP_WITHIN_KELVIN
    slow = (
        "The pit is at its target, the meat is slow: set a hotter target or finish it in a hot oven; see the meat page."
        if up
        else None
    )
    return Finding(text=text, probe=meat.probe, priority=Priority.MEDIUM, first=slow)


FOR_THE_MEAT: Final = ("pit-too-cold", "split-stalled", "fire-dying")
"""Alarms of a fire that goes down: no harm where nothing is on the grate any more."""


def eased(view: View, found: dict[str, Finding]) -> dict[str, Finding]:
    """Return the findings, those of a fire that goes down eased where all the meat is off: whether it may, the cook says."""
    if not is_all_off(view):
        return found
    return {
        alarm: replace(finding, priority=Priority.LOW, first=ALL_OFF) if alarm in FOR_THE_MEAT else finding
        for alarm, finding in found.items()
    }


ALL_OFF: Final = "All the meat is off: if the fire may go out, press x. If more is to be cooked, see to the fire now."


def is_all_off(view: View) -> bool:
    """Tell whether every piece that was heard of rests, and none has to go back on."""
    seconds = {piece.second for piece in view.now.setup.meats}
    pieces = [meat for meat in view.now.meats if meat.probe not in seconds]
    awaited = {piece.probe for piece in view.now.setup.meats} - {meat.probe for meat in pieces}
    off = all(meat.where not in (None, "grate") and meat.unsafe != "raw" for meat in pieces)
    return bool(pieces) and not awaited and off


def _is_ready(meat: Meat) -> bool:
    """Tell whether it is worth a walk to the meat now: its stage says so until somebody has felt it."""
    return meat.celsius is not None and meat.stage is not None and meat.stage.endswith(WORTH_A_WALK)


def _sentence(meat: Meat) -> str:
    words = meat.safety[0]
    return _ended(f"The meat on {meat.probe}: {words}") or words


def _ended(text: str | None) -> str | None:
    return text if text is None or text.endswith((".", "!", "?")) else f"{text}."
