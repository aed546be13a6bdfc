"""What a deed does is found by burning the same fire on with it and without it."""

from datetime import UTC, datetime
from functools import cache

import pytest

from firebox.lessons import Measure
from firebox.practice.effects import SHOWS, Effect, effect, lesson
from firebox.practice.rounds import choose, stage
from firebox.practice.session import Session
from firebox.records import Damper, DamperName, Door, DoorName, Entry, Lit, Note, Rake, Split

START = datetime(2026, 5, 1, 14, 0, tzinfo=UTC)


@cache
def session() -> Session:
    return stage(choose("hold", seed=2), START).session


def found(entry: Entry) -> Effect:
    return effect(session().fire, entry, split_kg=1.4)


def intake(opening: float) -> Damper:
    return Damper(time=START, damper=DamperName.INTAKE, open=opening)


def test_a_split_shows_after_minutes_and_more_wood_shows_more() -> None:
    small, large = found(Split(time=START, kg=0.9, moisture=0.18)), found(Split(time=START, kg=1.8, moisture=0.18))
    assert small.shows_at is not None
    assert large.shows_at is not None
    assert SHOWS < small.peak < large.peak
    assert 300.0 < large.peak_at <= 3600.0


def test_wet_wood_makes_a_lower_hump() -> None:
    dry, wet = (found(Split(time=START, kg=1.4, moisture=moisture)) for moisture in (0.12, 0.6))
    assert wet.crest < dry.crest - 3.0
    assert wet.peak < dry.peak - 3.0


def test_closing_the_intake_cools_and_to_leave_it_does_nothing() -> None:
    fire = session().fire
    assert found(intake(max(0.0, fire.intake - 0.25))).peak < -SHOWS
    same = found(intake(fire.intake))
    assert (same.peak, same.shows_at) == (0.0, None)


def test_the_fire_itself_is_not_touched() -> None:
    fire = session().fire
    before = (fire.seconds, fire.intake, fire.stored(), len(fire.hearth.pieces), fire.firebox_door)
    for entry in (Split(time=START, kg=1.4), intake(1.0), Rake(time=START), Lit(time=START, kg=2.0)):
        found(entry)
    assert (fire.seconds, fire.intake, fire.stored(), len(fire.hearth.pieces), fire.firebox_door) == before


CALM = Effect(dip=0.0, dip_at=30.0, peak=9.0, peak_at=1200.0, shows_at=300.0, crest=6.0, crest_at=1000.0)


@pytest.mark.parametrize(
    ("entry", "effect_of", "words"),
    [
        (Split(time=START, kg=1.4), CALM, "the hump comes at"),
        (Split(time=START, kg=1.4), Effect(dip=4.0, dip_at=60.0, peak=9.0, peak_at=1.0, shows_at=1.0, crest=6.0, crest_at=5.0), "First it takes"),
        (Split(time=START, kg=1.4), Effect(dip=0.0, dip_at=1.0, peak=9.0, peak_at=1.0, shows_at=1.0, crest=0.0), "only slows the fall"),
        (Split(time=START, kg=1.4), Effect(dip=0.0, dip_at=1.0, peak=0.5, peak_at=1.0, shows_at=None), "hardly show"),
        (intake(0.75), CALM, "opened to 6. It shows from"),
        (intake(0.2), Effect(dip=0.0, dip_at=1.0, peak=-5.0, peak_at=9.0, shows_at=1.0), "turned down to 2. It shows from"),
        (intake(0.8), Effect(dip=0.0, dip_at=1.0, peak=-5.0, peak_at=9.0, shows_at=1.0), "carries more heat out"),
        (intake(0.2), CALM, "less heat out"),
        (intake(0.0), CALM, "Intake shut."),
        (intake(1.0), CALM, "Intake opened wide."),
        (intake(0.4), CALM, "left where it was"),
        (intake(0.8), Effect(dip=0.0, dip_at=1.0, peak=0.5, peak_at=9.0, shows_at=None), "not short of air"),
        (Lit(time=START, kg=2.0), CALM, "Lit."),
        (Rake(time=START), CALM, "air gets at the coals"),
        (Rake(time=START), Effect(dip=0.0, dip_at=1.0, peak=0.5, peak_at=9.0, shows_at=None), "clear enough"),
        (Door(time=START, open=True), CALM, "within a minute"),
        (Door(time=START, door=DoorName.FIREBOX, open=True), CALM, "more air than the intake"),
        (Door(time=START, open=False), CALM, "Door shut"),
    ],
)  # fmt: skip
def test_an_effect_is_told_in_words_whose_figures_all_have_a_place(
    entry: Entry, effect_of: Effect, words: str
) -> None:
    told = lesson(600.0, entry, effect_of, celsius=120.0, before=0.4)
    assert told is not None
    filled = told.text.format(*(f"<{figure.measure}>" for figure in told.figures))
    assert words in filled
    assert "{" not in filled
    for number, figure in enumerate(told.figures):
        assert f"{{{number}}}" in told.text
        assert figure.measure is not Measure.CLOCK or figure.value > 600.0


def test_of_a_note_there_is_nothing_to_say() -> None:
    assert lesson(0.0, Note(time=START, text="windy"), CALM, celsius=120.0) is None
