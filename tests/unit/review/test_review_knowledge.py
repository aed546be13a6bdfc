"""What is known of the pit, as a review tells it."""

import math

import pytest

from firebox.review.knowledge import knowledge
from firebox.review.sheet import sheet
from firebox.review.wording import Look
from firebox.setup import Known, KnownPit, Learned, Worth
from firebox.units import Degrees

from .hand_made import START, at, cook, looked, split


def known(*, flaming: float = 1200.0, spread: float = 0.2, cooks=(START,)) -> KnownPit:
    return KnownPit(
        parameters={
            "flaming_time": Learned(value=flaming, spread=spread),
            "char_yield": Learned(value=0.25, spread=0.1),
            "of a later version": Learned(value=1.0, spread=1.0),
        },
        cooks=cooks,
        hours=6.5,
        learned=at(390),
        worth=Worth(
            kg=1.4, intake=0.375, every=Known(value=38.0, doubt=6.0), lift=Known(value=14.0, doubt=3.0),
            peak=Known(value=17.0, doubt=4.0), fall=Known(value=26.0, doubt=5.0), mark=Known(value=9.0, doubt=4.0),
        ),
    )  # fmt: skip


def test_a_parameter_is_told_with_what_it_was_before_and_between_what_it_lies():
    told = knowledge(known(), known(flaming=1500.0), START)
    assert told is not None
    flaming, char = told.parameters
    assert (flaming.name, flaming.value, flaming.before) == ("flaming_time", 1200.0, 1500.0)
    assert flaming.low == pytest.approx(1200.0 * math.exp(-0.2563), rel=1e-3)
    assert flaming.high == pytest.approx(1200.0 * math.exp(0.2563), rel=1e-3)
    assert char.before == 0.25
    assert told.with_this


def test_of_a_pit_that_nothing_was_learned_of_nothing_is_told():
    assert knowledge(None) is None
    keys = [section.key for section in sheet(looked(cook(60, lambda _: 120.0)), Look()).sections]
    assert "known" not in keys


@pytest.mark.parametrize(
    ("cooks", "words"), [((START,), "this one among them"), ((at(-9000),), "`firebox review --learn`")]
)
def test_a_review_says_from_which_cooks_it_is_known(cooks, words):
    records = cook(60, lambda _: 120.0, split(10), known=known(flaming=900.0))
    made = sheet(looked(records, known=known(cooks=cooks)), Look(degrees=Degrees.C))
    section = next(one for one in made.sections if one.key == "known")
    assert words in section.words[-1]
    assert section.tables[0].rows[0] == (
        "it flames for", "20\u00a0min", "15\u00a0min to\u00a026\u00a0min", "15\u00a0min",
    )  # fmt: skip


def test_what_a_mark_and_a_split_are_worth_is_told_in_the_cooks_units():
    def words(degrees: Degrees) -> str:
        made = sheet(looked(cook(60, lambda _: 120.0), known=known()), Look(degrees=degrees))
        return " ".join(next(one for one in made.sections if one.key == "known").words).replace("\u00a0", " ")

    told = words(Degrees.C)
    assert "With the intake 38 % open, one mark more of it is worth +9 °C (± 4 °C) after 20 min." in told
    assert "A split of 1.4 kg lifts the pit by 14 °C (± 3 °C), at its highest after 17 min (± 4 min)." in told
    assert "One every 38 min (± 6 min) holds the target." in told
    assert "worth +16 °F (± 7 °F)" in words(Degrees.F)
