"""Whatever somebody does to a practice fire: the round goes on, every word has its figures, the energy stays accounted for."""

from datetime import UTC, datetime

from hypothesis import example, given, settings
from hypothesis import strategies as st

from firebox.practice.coached import Coached
from firebox.practice.rounds import BUILDS, SCENARIOS, WEATHERS, WOODS, choose
from firebox.records import Damper, DamperName, Door, DoorName, Entry, Lit, MeatOn, Note, Rake, Split, Spritz

START = datetime(2026, 5, 1, 14, 0, tzinfo=UTC)

kilograms = st.one_of(st.none(), st.floats(0.0, 8.0))
fractions = st.floats(0.0, 1.0)
deeds: st.SearchStrategy[Entry] = st.one_of(
    st.builds(lambda kg: Split(time=START, kg=kg), kilograms),
    st.builds(lambda kg: Lit(time=START, kg=kg), kilograms),
    st.builds(
        lambda name, opening: Damper(time=START, damper=name, open=opening), st.sampled_from(DamperName), fractions
    ),
    st.builds(lambda name, wide: Door(time=START, door=name, open=wide), st.sampled_from(DoorName), st.booleans()),
    st.sampled_from([Rake(time=START), Spritz(time=START), Note(time=START, text="gusts"), MeatOn(time=START)]),
)
evenings = st.lists(st.tuples(st.sampled_from([10.0, 60.0, 300.0, 900.0]), deeds), max_size=12)


@settings(max_examples=12, deadline=None)
@given(
    scenario=st.sampled_from(sorted(SCENARIOS)),
    pit=st.sampled_from(sorted(BUILDS)),
    weather=st.sampled_from(sorted(WEATHERS)),
    wood=st.sampled_from(sorted(WOODS)),
    evening=evenings,
    guess=st.one_of(st.none(), st.integers(0, 3)),
)
@example("sleeper", "anvil", "breezy", "damp", [(10.0, Split(time=START, kg=8e-151))], None)
@example(
    "first fire",
    "anvil",
    "breezy",
    "damp",
    [(10.0, Split(time=START, kg=0.009)), (10.0, Split(time=START, kg=0.011))],
    None,
)
def test_any_evening_can_be_played_and_told(
    scenario: str, pit: str, weather: str, wood: str, evening: list[tuple[float, Entry]], guess: int | None
) -> None:
    round_ = Coached(choose(scenario, pit=pit, weather=weather, wood=wood), lambda _record: (), START)
    round_.begin()
    for wait, deed in evening:
        round_.act(deed)
        round_.run(round_.play.seconds + wait)
        round_.answer(guess)
    round_.ask(wanted=False)
    round_.run(round_.play.seconds + 600.0)
    told = round_.coaching(over=True)
    for lesson in told.lessons:
        words = lesson.text.format(*(f"{figure.value:.1f}" for figure in lesson.figures))
        assert "{" not in words
        assert "nan" not in words
    assert told.verdict is not None
    tally = told.verdict.mine
    assert 0.0 <= tally.in_band <= tally.minutes
    assert 0.0 <= tally.smoulder <= tally.minutes
    assert tally.trips <= len(evening)
    assert abs(round_.play.fire.imbalance()) < 0.01
