"""The call that a sleeping cook was promised: the next move is due."""

from typing import Final

from firebox.warn.view import Finding, View

DUE_MINUTES: Final = 1.0
"""Wood due within this is due now. [min]"""


def wake_up(view: View) -> Finding | None:
    """Tell a cook who sleeps, as far as told, that the next move is due."""
    now = view.now
    move = now.move
    if move is None or move.hold or now.log.asleep_since(now.seconds) is None:
        return None
    wood = move.split is not None and move.split.in_minutes <= DUE_MINUTES
    air = move.intake is not None or move.stack is not None
    if wood:
        with_air = " and air" if air else ""
        return Finding(
            text=f"Wood{with_air} is due, as the next move says.",
            minutes_until=0.0,
            first="Lay the split that the next move asks for, log it, then lie down again.",
        )
    if air:
        return Finding(text="The dampers want setting, as the next move says.", minutes_until=0.0)
    return None
