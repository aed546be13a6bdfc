"""Starting values of the alarm catalogue against the published ones.

Source
------
EEMUA 191, "Alarm systems: a guide to design, management and procurement": starting deadband of 1 % of range for
temperatures (verified in a consultancy's copy of the table) and a starting delay of 60 s (from memory); priorities
spread as about 80 % low, 15 % medium, 5 % high (verified, two copies). NAMUR NE 43: a fault counts once it has lasted
4 s (verified, secondary).

Tolerances: the deadband is exact on the usual range of a pit gauge, 0-300 degC. The delays of the hard limits depart
on purpose, shorter above (a fire runs away within minutes) and longer below (doors last minutes); the test holds the
departure to a factor of four. The spread of priorities is that of alarms raised over a month, not of the catalogue, so
only its order is looked at.
"""

from collections import Counter

from firebox.estimate.probes import PERSIST_SECONDS
from firebox.records import Priority
from firebox.warn.catalogue import CATALOGUE, kind_of, member, table

RANGE_KELVIN = 300.0


def test_temperature_deadbands_are_one_percent_of_range() -> None:
    assert CATALOGUE["pit-too-hot"].deadband == CATALOGUE["pit-too-cold"].deadband == 0.01 * RANGE_KELVIN


def test_delays_of_the_hard_limits_lie_around_the_starting_value() -> None:
    for alarm in ("pit-too-hot", "pit-too-cold"):
        assert 60.0 / 4.0 <= CATALOGUE[alarm].on_seconds <= 60.0 * 4.0
        assert CATALOGUE[alarm].off_seconds == 60.0


def test_a_fault_has_to_last_four_seconds() -> None:
    assert PERSIST_SECONDS == 4.0


def test_nothing_in_the_catalogue_is_critical_by_itself_and_high_is_not_the_rule() -> None:
    spread = Counter(kind.priority for kind in CATALOGUE.values())
    assert spread[Priority.CRITICAL] == 0
    assert spread[Priority.HIGH] <= spread[Priority.MEDIUM] + spread[Priority.LOW]


def test_every_alarm_has_all_that_the_standard_asks_of_a_catalogue() -> None:
    """ISA-18.2 asks for cause, consequence, response time, priority and corrective action (from memory)."""
    for kind in CATALOGUE.values():
        assert kind.cause
        assert kind.consequence
        assert kind.minutes > 0.0
        assert kind.first.endswith(".")
        assert kind.over.endswith(".")
        assert set(kind.under) | set(kind.beside) <= set(CATALOGUE)
        assert 0.0 < kind.shelve_minutes <= 480.0


def test_the_printed_catalogue_has_a_row_for_each_alarm() -> None:
    rows = table().splitlines()[2:]
    assert len(rows) == len(CATALOGUE)
    assert {row.count("|") for row in rows} == {table().splitlines()[0].count("|")}


def test_the_id_of_a_member_leads_back_to_its_family() -> None:
    for kind in CATALOGUE.values():
        alarm = member(kind.id, "left") if kind.per else kind.id
        assert kind_of(alarm) is kind
    assert kind_of("probe-open") is None
    assert len(member("probe-disagreeing", "x" * 64)) == 64
