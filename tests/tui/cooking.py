"""An invented brisket and a pork shoulder on the canned cook, as the watch would tell of them; all figures are made up."""

from datetime import timedelta

from firebox.records import Meat, PlanRow, Resting, Serving, Shift, Timetable
from tests.tui.canned import instant
from tests.tui.conftest import BEGIN

NOW = instant(BEGIN)
SERVE = instant(BEGIN + 13.8 * 3600.0)

SAFETY = (
    "heat and time at the probe meet the table for whole muscle. Pierced or injected meat needs more. [USDA FSIS, beef]",
)


WRAP = (
    "bark is set: look that it does not rub off. Wrapping now ends the plateau: in foil 2 h 15 sooner, with soft bark; in "
    "paper 1 h 30 sooner, with firmer bark; bare it stays hardest"
)
HURRY = (
    "flat, if late: 14 C (25 F) more in the pit from now on saves up to 2 h 10; foil once the bark is set saves up to 1 h 40; "
    "at the least it rests 1 h"
)


def after(hours):
    return NOW + timedelta(hours=hours)


def brisket(**told):
    """A brisket on the plateau."""
    return Meat(
        **{
            "time": NOW,
            "probe": "flat",
            "celsius": 72.9,
            "drift_per_hour": 1.1,
            "stage": "on the plateau",
            "cut": "brisket",
            "middle_celsius": 71.5,
            "outside_celsius": 88.0,
            "bark": 1.0,
            "rendered": 0.41,
            "tender": (0.05, 0.09, 0.16),
            "weight_lost": 0.22,
            "minutes": (60, 120, 240, 360, 480),
            "p10": (72.0, 73.0, 75.0, 80.0, 84.0),
            "p50": (74.0, 75.0, 79.0, 85.0, 90.0),
            "p90": (76.0, 78.0, 84.0, 91.0, 95.0),
            "ready_from": after(5.6),
            "ready": after(7.8),
            "ready_until": after(10.5),
            "feel_at": after(5.6),
            "feel": "push a thin probe into the flat where it is thickest: it should slide in with hardly any drag",
            "hints": (
                WRAP,
                "tip off juices that pool on top: bark under a pool goes soft",
            ),
            "care": ("wrap", "juices"),
            "hushed": ("turn",),
            "safety": SAFETY,
            "where": "grate",
            "wrapped": "none",
            "chance": 0.0,
            "pull_low": 84.0,
            "pull_high": 93.0,
            "pull": "pull it while it still holds on a little: the long hot hold does the rest",
            "kg_in": 5.4,
            **told,
        }
    )


def ready(**told):
    """The same, time to feel."""
    rests = (
        Resting(
            rest="counter", wrap="foil", celsius=20.0, peak_celsius=93.2, slice_at=after(2.1), hot_until=after(1.9)
        ),
        Resting(
            rest="counter", wrap="paper", celsius=20.0, peak_celsius=93.0, slice_at=after(1.6), hot_until=after(1.4)
        ),
        Resting(
            rest="cooler", wrap="foil", celsius=20.0, peak_celsius=93.8, slice_at=after(6.5), hot_until=after(5.8)
        ),
        Resting(rest="oven", wrap="foil", celsius=63.0, peak_celsius=93.5),
    )
    feel = (
        "go and feel: push a thin probe into the flat where it is thickest: it should slide in with hardly any drag"
    )
    return brisket(
        **{
            "celsius": 92.1,
            "middle_celsius": 91.4,
            "drift_per_hour": 2.2,
            "stage": "go and feel",
            "tender": (0.7, 0.98, 1.4),
            "chance": 0.48,
            "worth_feeling": True,
            "hints": (feel,),
            "care": ("feel",),
            "hushed": (),
            "rests": rests,
            **told,
        }
    )


def resting(**told):
    """The same, in a cooler."""
    rests = (
        Resting(
            rest="cooler", wrap="paper", celsius=20.0, peak_celsius=90.1, slice_at=after(5.2), hot_until=after(4.9)
        ),
    )
    return brisket(
        **{
            "celsius": 89.5,
            "middle_celsius": 89.9,
            "drift_per_hour": -4.0,
            "stage": "resting",
            "where": "cooler",
            "wrapped": "paper",
            "hints": (),
            "care": (),
            "hushed": (),
            "feel_at": None,
            "ready": after(5.2),
            "felt": "giving",
            "hold": "hot",
            "hot_until": after(4.9),
            "rests": rests,
            "kg_out": 3.6,
            "pull": None,
            **told,
        }
    )


def shoulder(**told):
    """A pork shoulder on a second probe, younger."""
    return brisket(
        **{
            "probe": "point",
            "cut": "pork shoulder",
            "celsius": 58.0,
            "stage": "coming up",
            "middle_celsius": 56.0,
            "bark": 0.4,
            "bark_at": after(1.5),
            "hints": (),
            "care": (),
            "hushed": (),
            "kg_in": None,
            **told,
        }
    )


def serving(**told):
    return Serving(
        **{
            "time": instant(1800.0),
            "id": "serving-1",
            "serve": SERVE,
            "wrap": "paper",
            "rest": "cooler",
            "people": 2,
            **told,
        }
    )


def row(what, early, likely, late, **told):
    return PlanRow(
        what=what, early=after(early), likely=after(likely), late=after(late), probe="flat", cut="brisket", **told
    )


def timetable(**told):
    """The plan of that brisket, on time."""
    return Timetable(
        **{
            "time": instant(BEGIN - 240.0),
            "serve": SERVE,
            "probability": 0.91,
            "minutes_late": -10.0,
            "verdict": "on time, 91% sure to be ready, rested and hot",
            "live": True,
            "rows": (
                row("meat on", -3.2, -3.2, -3.2, done=True),
                row("bark is set", -0.4, -0.4, -0.4, done=True),
                row("wrap", 0.0, 0.4, 1.2, note="in paper, once the bark holds"),
                row("half the fat is out", 0.3, 0.9, 1.8),
                row("connective tissue gives way", 3.1, 4.6, 6.2, note="from here on heat and time count together"),
                row("go and feel; pull when it says so", 5.6, 7.8, 10.5, note="while it still holds on a little: the hold does the rest"),
                row("latest into the rest, in a cooler", 12.8, 12.8, 12.8),
                PlanRow(what="serve", early=SERVE, likely=SERVE, late=SERVE),
                row("can be sliced", 12.5, 14.0, 15.9, note="its middle has come down to 60 C (140 F)"),
            ),
            "wood_kg": 31.5,
            "splits": 23,
            "split_kg": 1.4,
            "minutes_between": 42.0,
            "fire_hours": 10.5,
            "watches": (
                Shift(person=1, begin=NOW, end=after(3.5)),
                Shift(person=2, begin=after(3.5), end=after(7.0)),
                Shift(person=1, begin=after(7.0), end=after(10.5)),
            ),
            "advice": (
                "flat, if early: it stays above 57 C (135 F) for about 5 h where it rests; longer needs a holding oven at 60-65 C",
                HURRY,
                "Safe comes before punctual: heat and time inside the meat, and the rules of the place.",
            ),
            **told,
        }
    )  # fmt: skip


LATE = {
    "minutes_late": 95.0,
    "probability": 0.2,
    "verdict": "LATE by about 40 min; a slow one by 1 h 35",
}
