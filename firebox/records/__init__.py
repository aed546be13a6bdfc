"""What flows through the program: one definition for memory, journal, MQTT and the JSON stream.

===========  ==========================================================================================
`record`     what every record is, and the ranges of values
`readings`   in: samples of probes, and the tick that asks for an answer and closes it
`entries`    in: what the cook did or says
`pit`        out: where the pit is going, the next move, the fire, questions
`meat`       out: each piece of meat
`timetable`  out: the plan of the cook
`warnings`   out: the health of probes, alarms, and what became of telling people (only written down)
`codec`      records to bytes and back
===========  ==========================================================================================

`Setup`, which comes in as well, is in `firebox.setup`. Whoever uses a record takes it from here.

A constructor does not validate. Outside data enters through `decode` or `from_plain`, and nowhere else.
"""

from firebox.records.codec import (
    RECORDS,
    decode,
    encode,
    from_plain,
    kind_of,
    parse,
    payload,
    unknown_fields,
    word_of,
)
from firebox.records.entries import (
    ENTRIES,
    Acknowledge,
    Answer,
    Awake,
    Clock,
    Damper,
    DamperName,
    Door,
    DoorName,
    Entry,
    Feel,
    Hush,
    Lit,
    MeatOn,
    Note,
    Out,
    Picture,
    Pit,
    Rake,
    Resumed,
    Service,
    Serving,
    Shelve,
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
from firebox.records.meat import Meat, Resting
from firebox.records.pit import Burning, Expected, Fire, Move, NextSplit, Outlook, Phase, Question, Stage
from firebox.records.readings import Reading, Status, Tick
from firebox.records.record import Celsius, Fraction, Instant, Kg, Name, Record
from firebox.records.timetable import PlanRow, Shift, Timetable
from firebox.records.warnings import (
    Alarm,
    AlarmState,
    Health,
    Notice,
    Occasion,
    Priority,
    ProbeHealth,
    Problem,
    Signal,
)

__all__ = [
    "ENTRIES",
    "RECORDS",
    "Acknowledge",
    "Alarm",
    "AlarmState",
    "Answer",
    "Awake",
    "Burning",
    "Celsius",
    "Clock",
    "Damper",
    "DamperName",
    "Door",
    "DoorName",
    "Entry",
    "Expected",
    "Feel",
    "Fire",
    "Fraction",
    "Health",
    "Hush",
    "Instant",
    "Kg",
    "Lit",
    "Meat",
    "MeatOn",
    "Move",
    "Name",
    "NextSplit",
    "Note",
    "Notice",
    "Occasion",
    "Out",
    "Outlook",
    "Phase",
    "Picture",
    "Pit",
    "PlanRow",
    "Priority",
    "ProbeHealth",
    "Problem",
    "Question",
    "Rake",
    "Reading",
    "Record",
    "Resting",
    "Resumed",
    "Service",
    "Serving",
    "Shelve",
    "Shift",
    "Signal",
    "Sleep",
    "Split",
    "Spritz",
    "Stage",
    "Status",
    "Target",
    "Tick",
    "Timetable",
    "Trouble",
    "Turn",
    "Undo",
    "Weigh",
    "Wrap",
    "decode",
    "encode",
    "from_plain",
    "kind_of",
    "parse",
    "payload",
    "unknown_fields",
    "word_of",
]
