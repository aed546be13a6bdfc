"""What the watch would like to know is asked on the fire's page and answered with one key."""

from datetime import timedelta

import msgspec
import pytest

from firebox.records import Answer, Damper, DamperName, Door, DoorName, Question, Split
from tests.tui.canned import CannedLink, instant
from tests.tui.conftest import BEGIN

HAPPENED = instant(BEGIN) - timedelta(minutes=14)


def asked(suggests=None, name="split-15720", *, is_open=True):
    entry = suggests or Split(time=HAPPENED, at=HAPPENED)
    return Question(time=instant(BEGIN), question=name, text="", open=is_open, suggests=entry)


async def test_a_question_is_asked_with_its_two_keys(shown, cook):
    async with shown(records=[*cook, asked()]) as seen:
        await seen.see("Did a split go on about 00:58?", "#question")
        assert "Y yes" in str(seen.words("#question"))
        assert "N no" in str(seen.words("#question"))


async def test_without_a_question_there_is_no_line_and_the_keys_say_so(shown):
    async with shown() as seen:
        assert not seen.app.query_one("#question").display
        await seen.press("Y")
        await seen.see("The watch asks nothing just now.", "#answer")
        await seen.press("N")
        assert not seen.link.left


async def test_yes_enters_what_was_asked_back_when_it_happened(shown, cook):
    async with shown(records=[*cook, asked()]) as seen:
        await seen.see("Did a split go on", "#question")
        await seen.press("Y")
        (entry,) = await seen.left()
        assert isinstance(entry, Split)
        assert entry.at == HAPPENED
        assert entry.time == instant(BEGIN)
        assert len(entry.id) == 32
        await seen.until(lambda: not seen.app.query_one("#question").display)


async def test_no_enters_an_answer_and_the_question_goes(shown, cook):
    async with shown(records=[*cook, asked()]) as seen:
        await seen.see("Did a split go on", "#question")
        await seen.press("N")
        (entry,) = await seen.left()
        assert isinstance(entry, Answer)
        assert (entry.question, entry.about, entry.yes, entry.at) == ("split-15720", "split", False, HAPPENED)
        await seen.see("no: no split then at 00:58", "#answer")
        await seen.until(lambda: not seen.app.query_one("#question").display)


async def test_a_question_that_is_closed_is_asked_no_more(shown, cook):
    async with shown(records=[*cook, asked(), asked(is_open=False)]) as seen:
        await seen.see("NEXT")
        assert not seen.app.query_one("#question").display


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        (Damper(time=HAPPENED, at=HAPPENED, damper=DamperName.INTAKE, open=0.5), "Was the intake moved about 00:58?"),
        (Door(time=HAPPENED, at=HAPPENED, door=DoorName.COOK, open=True), "Was the cook door opened about 00:58?"),
    ],
)
async def test_dampers_and_doors_are_asked_about_in_their_own_words(shown, cook, entry, words):
    async with shown(records=[*cook, asked(entry)]) as seen:
        await seen.see(words, "#question")
        await seen.press("Y")
        (entered,) = await seen.left()
        assert msgspec.structs.replace(entered, time=HAPPENED, id=None) == entry


def test_the_question_as_it_looks(looks_at, cook):
    assert looks_at([*cook, asked()])


@pytest.fixture
def looks_at(make, snap_compare, until):
    def compare(records):
        app = make(CannedLink(records), None)

        async def settled(pilot):
            await until(lambda: app.glance().view.questions and app.glance().status is not None)
            app.show()
            await pilot.pause()

        return snap_compare(app, terminal_size=(80, 24), run_before=settled)

    return compare
