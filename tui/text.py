"""Values as the cook reads them: pure functions from numbers to words."""

import math
import re
import textwrap
from datetime import datetime, tzinfo
from typing import Final

from firebox.records import (
    Acknowledge,
    Answer,
    Awake,
    Damper,
    Door,
    Entry,
    Feel,
    Health,
    Hush,
    Lit,
    MeatOn,
    Note,
    Out,
    Phase,
    Picture,
    Pit,
    Question,
    Rake,
    Resumed,
    Service,
    Serving,
    Shelve,
    Signal,
    Sleep,
    Split,
    Spritz,
    Target,
    Trouble,
    Turn,
    Undo,
    Weigh,
    Wrap,
)
from firebox.setup import Wood
from firebox.units import Degrees, celsius_to, kelvin_to, kg_to
from tui.preferences import Preferences

UNKNOWN: Final = "--"

HEALTH: Final = {
    Health.WAITING: "not heard yet",
    Health.GOOD: "good",
    Health.OPEN: "open circuit",
    Health.SHORTED: "shorted",
    Health.FAILED: "failed",
    Health.SILENT: "silent",
    Health.STUCK: "stuck",
    Health.IMPLAUSIBLE: "not believable",
    Health.DISAGREEING: "disagrees with its neighbour",
    Health.CHECKED: "being checked",
}

SIGNAL: Final = {
    Signal.GOOD: "good",
    Signal.FAILURE: "failure",
    Signal.FUNCTION_CHECK: "function check",
    Signal.OUT_OF_SPECIFICATION: "out of specification",
    Signal.MAINTENANCE_REQUIRED: "maintenance required",
}
"""The status signals of NAMUR NE 107, in words."""

PHASE: Final = {
    Phase.UNLIT: "not lit",
    Phase.STARTING: "starting",
    Phase.RISING: "building",
    Phase.STEADY: "steady",
    Phase.FALLING: "burning down",
    Phase.DYING: "dying",
    Phase.OUT: "out",
    Phase.UNKNOWN: "not known",
}


def is_known(value: float | None) -> bool:
    """Tell whether a number is there and finite."""
    return value is not None and math.isfinite(value)


def whole(value: float) -> str:
    """Return a number rounded to whole ones, halves upwards, without a negative zero."""
    return str(math.floor(value + 0.5))


_BOTH: Final = re.compile(
    r"(?P<c>-?\d+(?:\.\d+)?(?:(?:-| and | to )\d+(?:\.\d+)?)?) C \((?P<f>-?\d+(?:\.\d+)?(?:-\d+(?:\.\d+)?)?) F\)"
)


def own_degrees(text: str, preferences: Preferences) -> str:
    """Return words of the watch, which knows no cook's unit and tells both, with the cook's alone.

    Examples
    --------
    >>> own_degrees("14 C (25 F) more; between 10 and 54 C (50-130 F)", Preferences())
    '25 F more; between 50-130 F'
    """
    kept = r"\g<f> F" if preferences.degrees is Degrees.F else r"\g<c> C"
    return _BOTH.sub(kept, text)


def degrees(celsius: float | None, preferences: Preferences) -> str:
    """Return a temperature in whole degrees with its scale; unknown is never 0.

    Examples
    --------
    >>> degrees(121.1, Preferences()), degrees(None, Preferences())
    ('250F', '--')
    """
    if celsius is None or not math.isfinite(celsius):
        return UNKNOWN
    return whole(celsius_to(celsius, preferences.degrees)) + preferences.degrees


def difference(kelvin: float, preferences: Preferences) -> str:
    """Return a temperature difference in the cook's degrees, without a scale."""
    return whole(kelvin_to(kelvin, preferences.degrees)) if math.isfinite(kelvin) else UNKNOWN


def trend(kelvin_per_hour: float | None, preferences: Preferences) -> str:
    """Return where a temperature is going, in words.

    Examples
    --------
    >>> trend(-4.4, Preferences())
    'falling 8 an hour'
    """
    if kelvin_per_hour is None or not math.isfinite(kelvin_per_hour):
        return "trend not known"
    number = whole(abs(kelvin_to(kelvin_per_hour, preferences.degrees)))
    if number == "0":
        return "steady"
    return f"{'rising' if kelvin_per_hour > 0 else 'falling'} {number} an hour"


def mass(kg: float | None, preferences: Preferences) -> str:
    """Return a weight in the cook's unit, to a tenth."""
    if kg is None or not math.isfinite(kg):
        return UNKNOWN
    return f"{kg_to(kg, preferences.mass):.1f} {preferences.mass}"


def clock(instant: datetime, preferences: Preferences, zone: tzinfo | None, *, seconds: bool = False) -> str:
    """Return a clock time in the cook's zone (None: that of the machine).

    Examples
    --------
    >>> from datetime import UTC
    >>> clock(datetime(2026, 5, 2, 14, 5, 9, tzinfo=UTC), Preferences(hours=12), UTC)
    '2:05 pm'
    """
    local = instant.astimezone(zone)
    tail = f":{local.second:02}" if seconds else ""
    if preferences.hours == 24:
        return f"{local.hour:02}:{local.minute:02}{tail}"
    return f"{local.hour % 12 or 12}:{local.minute:02}{tail} {'am' if local.hour < 12 else 'pm'}"


def span(seconds: float) -> str:
    """Return a length of time in words short enough for a countdown.

    Examples
    --------
    >>> span(4), span(730), span(3900), span(7200)
    ('4 s', '12 min', '1 h 05', '2 h')
    """
    whole_seconds = int(max(0.0, min(seconds, 1e9)))
    if whole_seconds < 60:
        return f"{whole_seconds} s"
    minutes = int(whole_seconds / 60 + 0.5)
    if minutes < 60:
        return f"{minutes} min"
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest:02}" if rest and hours < 48 else f"{hours} h"


def countdown(seconds: float) -> str:
    """Return how far off a moment is: "in 12 min", "now", "4 min overdue".

    Examples
    --------
    >>> countdown(725), countdown(20), countdown(-300)
    ('in 12 min', 'now', '5 min overdue')
    """
    if seconds > 45:
        return f"in {span(max(seconds, 60))}"
    return "now" if seconds > -60 else f"{span(-seconds)} overdue"


def ago(seconds: float | None) -> str:
    """Return how long ago something was: "3 s ago", "never"."""
    return "never" if seconds is None else f"{span(seconds)} ago"


def mark(opening: float | None, marks: int) -> str:
    """Return a damper's opening as the cook reads it off the damper.

    Examples
    --------
    >>> mark(0.5, 8), mark(0.0, 8), mark(1.0, 8), mark(None, 8)
    ('4 of 8', 'shut', 'fully open', '--')
    """
    if opening is None or not math.isfinite(opening):
        return UNKNOWN
    number = math.floor(opening * marks + 0.5)
    if number <= 0:
        return "shut"
    return "fully open" if number >= marks else f"{number} of {marks}"


def size_word(kg: float | None, wood: Wood) -> str:
    """Return "small", "medium" or "large", whichever of the owner's sizes a weight is nearest to; "" if none fits.

    A weight fits when it is within a quarter of the size, the spread of split wood by eye.
    """
    sizes = (("small", wood.small_kg), ("medium", wood.medium_kg), ("large", wood.large_kg))
    fits = [(abs(kg - size), word) for word, size in sizes if kg and size and abs(kg - size) <= 0.25 * size]
    return min(fits)[1] if fits else ""


def wood_words(kg: float | None, wood: Wood, preferences: Preferences) -> str:
    """Return a split in words: "medium split, 1.4 kg"."""
    size = size_word(kg, wood)
    named = f"{size} split" if size else "split"
    return f"{named}, {mass(kg, preferences)}" if is_known(kg) else named


ASKED: Final = {"split": "split then", "damper": "damper moved then", "door": "door moved then"}
"""What a question is about -> the words of its answer."""


def question_words(question: Question, when: str) -> str:
    """Return what the watch asks; `when` is the hour it asks about."""
    match question.suggests:
        case Split():
            return f"Did a split go on about {when}? None is logged."
        case Damper(damper=damper):
            return f"Was the {damper} moved about {when}? Nothing is logged."
        case Door(door=door, open=is_open):
            return f"Was the {door} door {'opened' if is_open else 'closed'} about {when}? Nothing is logged."


def entry_words(entry: Entry, wood: Wood, marks: int, preferences: Preferences) -> str:
    """Return what an entry says, in the cook's words."""
    match entry:
        case Split():
            return wood_words(entry.kg, wood, preferences) + ("" if is_known(entry.kg) else ", weight not told")
        case Damper():
            return f"{entry.damper} to {mark(entry.open, marks)}"
        case Door():
            return f"{entry.door} door {'opened' if entry.open else 'closed'}"
        case Target():
            band = f" within {difference(entry.band, preferences)}" if entry.band else ""
            return f"target {degrees(entry.celsius, preferences)}{band}"
        case Lit():
            return "fire lit" + (f" with {mass(entry.kg, preferences)}" if entry.kg else "")
        case Out():
            return "fire left to die, cook over"
        case Sleep():
            return "lay down to sleep"
        case Awake():
            return "up again"
        case Rake():
            return "coals raked"
        case Spritz():
            return "spritzed" + _what(entry.probe)
        case Wrap():
            what = _what(entry.probe)
            return f"unwrapped{what}" if entry.material == "none" else f"wrapped{what} in {entry.material}"
        case MeatOn():
            return f"meat{_what(entry.probe)} {'on' if entry.on else 'off' + _to_rest(entry, preferences)}"
        case Feel():
            return f"felt{_what(entry.probe)}: {entry.answer}"
        case Turn():
            return f"meat{_what(entry.probe)} {entry.how}"
        case Weigh():
            return f"meat{_what(entry.probe)} weighed going {entry.when}: {mass(entry.kg, preferences)}"
        case Picture():
            return f"picture{_what(entry.probe)}: {entry.file}"
        case Hush():
            return f"prompt {'hushed' if entry.on else 'heard again'}{_what(entry.probe)}: {entry.care}"
        case Serving():
            wrap = "bare" if entry.wrap == "none" else f"in {entry.wrap}"
            return f"planned{_what(entry.probe)} for {entry.serve.astimezone():%a %H:%M}, {wrap}, rest: {entry.rest}"
        case Note():
            return f"note: {entry.text}"
        case Acknowledge():
            return f"alarm acknowledged: {entry.alarm}"
        case Shelve():
            return (
                f"alarm shelved for {whole(entry.minutes)} min: {entry.alarm}"
                if entry.minutes
                else (f"alarm taken back from the shelf: {entry.alarm}")
            )
        case Service():
            return f"alarm {'out of' if entry.out else 'back in'} service: {entry.alarm}"
        case Undo():
            return "an entry taken back"
        case Answer():
            return f"{'yes' if entry.yes else 'no'}: {'a' if entry.yes else 'no'} {ASKED[entry.about]}"
        case Pit():
            return "the pit described"
        case Resumed():
            return f"nobody watched for {span(entry.gap_seconds)}"
        case Trouble():
            return f"{entry.what} {entry.name}: {entry.text if entry.on else 'well again'}"
        case _:
            return "clock set"


def _to_rest(entry: MeatOn, preferences: Preferences) -> str:
    """Return where meat goes that comes off, as far as told."""
    if entry.rest is None:
        return ""
    at = f" at {degrees(entry.celsius, preferences)}" if entry.celsius is not None else ""
    return f", to the {'holding oven' if entry.rest == 'oven' else entry.rest}{at}"


def share(value: float | None) -> str:
    """Return a share in whole hundredths; "--" when not known.

    Examples
    --------
    >>> share(0.356), share(None)
    ('36%', '--')
    """
    return UNKNOWN if value is None or not math.isfinite(value) else f"{whole(100.0 * value)}%"


def _what(probe: str | None) -> str:
    return f" {probe}" if probe else ""


def parse_number(text: str) -> float | None:
    """Return a number typed by the cook, with a point or a comma; None where it is none."""
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def cut(text: str, width: int) -> str:
    """Return a text on one line and no wider than `width`; what is cut off is shown as ".."."""
    line = " ".join(text.split())
    return line if len(line) <= width else line[: max(0, width - 2)] + ".."


def block(text: str, width: int) -> tuple[str, ...]:
    """Return a text as lines of exactly `width`, with a space at either side, so that a banner fills its row.

    Examples
    --------
    >>> block("Look at the coals.", 12)
    (' Look at    ', ' the coals. ')
    """
    return tuple(f" {line}".ljust(width) for line in textwrap.wrap(text, max(8, width - 2)))
