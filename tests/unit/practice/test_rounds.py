"""The rounds to practise: every one can be set up, begins as its brief says, and is scored by its goal."""

from datetime import UTC, datetime, timedelta

import pytest

from firebox.commands import which
from firebox.errors import ConfigError
from firebox.lessons import Coals, Flame, Smoke, Tally
from firebox.practice.rounds import BUILDS, LEAD, SCENARIOS, WEATHERS, WOODS, Goal, choose, menu, stage
from firebox.practice.score import Ledger, Sample
from firebox.practice.sight import see
from firebox.practice.weather import SKIES
from firebox.records import Reading, Split

START = datetime(2026, 5, 1, 14, 0, tzinfo=UTC)
TARGET, BAND = 121.0, 14.0


def test_what_can_be_chosen_is_what_the_command_line_names() -> None:
    assert tuple(SCENARIOS) == which.SCENARIOS
    assert tuple(BUILDS) == which.SIZES
    assert tuple(WEATHERS) == which.WEATHERS == tuple(SKIES)
    assert tuple(WOODS) == which.WOODS


def test_every_round_has_a_brief_a_goal_and_is_made_for_something_known() -> None:
    told = menu()
    assert len(told.offers) == 9
    for one in told.offers:
        assert one.brief
        assert one.goal
        choose(one.name)


@pytest.mark.parametrize(
    "wrong",
    [
        ("hold", "barrel", None, None),
        ("hold", None, "hail", None),
        ("hold", None, None, "pine"),
        ("sail", None, None, None),
    ],
)
def test_a_name_that_is_not_known_is_refused_with_those_that_are(
    wrong: tuple[str, str | None, str | None, str | None],
) -> None:
    scenario, pit, weather, wood = wrong
    with pytest.raises(ConfigError, match="would be right"):
        choose(scenario, pit=pit, weather=weather, wood=wood)


@pytest.mark.parametrize(
    "name", [name for name, scenario in SCENARIOS.items() if scenario.warm and not scenario.asleep]
)
def test_a_fire_that_is_handed_over_burns_near_its_target(name: str) -> None:
    staged = stage(choose(name, seed=3), START)
    assert abs(staged.session.panel.felt("grate") - staged.setup.target_celsius) < BAND
    assert see(staged.session.fire).coals in {Coals.GLOWING, Coals.BRIGHT}
    assert staged.setup.time == START - timedelta(seconds=LEAD)
    times = [record.time for record in staged.lead]
    assert times == sorted(times)
    assert times[-1] <= START
    assert any(isinstance(record, Split) for record in staged.lead)


@pytest.mark.parametrize("name", ["first fire", "cold to steady"])
def test_a_cold_round_begins_cold(name: str) -> None:
    staged = stage(choose(name), START)
    assert staged.lead == ()
    assert staged.session.panel.felt("grate") < 40.0
    assert see(staged.session.fire).flame is Flame.NONE


def test_the_sleeper_wakes_to_a_fallen_pit_whose_fall_is_on_record() -> None:
    staged = stage(choose("sleeper"), START)
    assert staged.session.panel.felt("grate") <= TARGET - 24.0
    grate = [one.celsius for one in staged.lead if isinstance(one, Reading) and one.probe == "grate"]
    assert grate[0] is not None
    assert grate[-1] is not None
    assert grate[0] > grate[-1] + 10.0


def test_the_same_choice_gives_the_same_fire() -> None:
    one, other = (stage(choose("windy night", seed=5), START) for _ in range(2))
    assert one.lead == other.lead
    one.session.fire.run(600.0)
    other.session.fire.run(600.0)
    assert one.session.fire.grate(0.5) == other.session.fire.grate(0.5)


def test_another_seed_gives_another() -> None:
    one, other = (stage(choose("hold", seed=seed), START) for seed in (1, 2))
    assert one.lead != other.lead


@pytest.mark.parametrize(("wood", "moisture"), [("dry", 0.12), ("wet", 0.45)])
def test_the_wood_that_was_chosen_is_what_the_watch_is_told(wood: str, moisture: float) -> None:
    staged = stage(choose("first fire", wood=wood), START)
    assert staged.moisture == staged.setup.wood.moisture == moisture


# --- the score -----------------------------------------------------------------------------------


def ledger(celsius: list[float], *, smoke: Smoke = Smoke.THIN, warm: bool = True) -> Ledger:
    kept = Ledger(TARGET, BAND, warm=warm)
    kept.samples = [Sample(10.0 * (n + 1), one, smoke) for n, one in enumerate(celsius)]
    return kept


def test_minutes_in_the_band_and_the_worst_on_either_side() -> None:
    tally = ledger([121.0] * 60 + [140.0] * 30 + [100.0] * 30).tally(1200.0)
    assert (tally.minutes, tally.in_band, tally.over, tally.under) == (20.0, 10.0, 19.0, 21.0)
    assert tally.share == 0.5


def test_a_cold_start_counts_as_under_only_after_the_band_was_reached() -> None:
    tally = ledger([20.0] * 60 + [121.0] * 60 + [101.0] * 6, warm=False).tally(9999.0)
    assert tally.under == 20.0


def test_steady_is_a_quarter_of_an_hour_nearly_without_a_break() -> None:
    climb = [80.0] * 60
    assert ledger(climb + [121.0] * 90).tally(9999.0).steady_at == 25.0
    assert ledger(climb + [121.0] * 60).tally(9999.0).steady_at is None
    broken = climb + ([121.0] * 8 + [150.0] * 2) * 12
    assert ledger(broken).tally(9999.0).steady_at is None


def test_a_tally_looks_no_further_than_it_is_asked() -> None:
    kept = ledger([121.0] * 120)
    kept.lay(100.0, 1.0)
    kept.lay(900.0, 2.0)
    kept.alarms = [50.0, 1000.0]
    for when in (10.0, 60.0, 300.0, 1100.0):
        kept.visit(when)
    tally = kept.tally(600.0)
    assert (tally.minutes, tally.wood_kg, tally.alarms, tally.trips) == (10.0, 1.0, 1, 2)


def test_dirty_smoke_is_counted_in_minutes() -> None:
    assert ledger([121.0] * 12, smoke=Smoke.DIRTY).tally(9999.0).smoulder == 2.0
    assert ledger([121.0] * 12, smoke=Smoke.THICK).tally(9999.0).smoulder == 0.0


def test_a_share_is_reached_only_by_a_whole_round() -> None:
    goal = Goal(share=0.8)
    assert goal.reached(Tally(minutes=120.0, in_band=97.0), 120)
    assert not goal.reached(Tally(minutes=120.0, in_band=90.0), 120)
    assert not goal.reached(Tally(minutes=10.0, in_band=10.0), 120)


def test_steady_in_time_is_reached_whatever_comes_after() -> None:
    goal = Goal(steady_by=60.0)
    assert goal.reached(Tally(minutes=70.0, steady_at=58.0), 80)
    assert not goal.reached(Tally(minutes=80.0, steady_at=65.0), 80)
    assert not goal.reached(Tally(minutes=80.0), 80)
