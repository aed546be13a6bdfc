"""What the dashboard says of itself: alarms, blindness, silence, what is not real; and that it holds at any size."""

from datetime import timedelta

import pytest

from firebox.errors import HeldError, JournalError
from firebox.ports import Kind, WatchLink
from firebox.records import AlarmState, Clock, Health, Priority, ProbeHealth, Reading, Status, Tick
from tests.tui.canned import CannedLink, alarm, answers, instant, readings
from tests.tui.conftest import BEGIN
from tui.preferences import Preferences

PAGES = ("escape", "i", "P", "p", "A", "e", "question_mark")


def health(probe, health, text=""):
    return ProbeHealth(time=instant(BEGIN), probe=probe, health=health, role="grate", text=text)


async def test_an_unacknowledged_alarm_fills_a_banner_on_every_page(shown, cook):
    async with shown([*cook, alarm(seconds=BEGIN)]) as seen:
        for key in PAGES:
            await seen.press(key)
            await seen.see("HIGH ALARM", "#alarm-banner")
            banner = seen.app.query_one("#alarm-banner")
            assert banner.display
            assert banner.outer_size.width == seen.app.query_one("#frame").size.width
            assert "FIRST: Put a small split on the coals" in banner.said
            assert "a acknowledge" in banner.said
            assert "18 min left" in banner.said


async def test_an_alarm_that_cannot_wait_takes_the_screen_until_somebody_answers_or_looks_past_it(shown, cook):
    async with shown([*cook, alarm(seconds=BEGIN)]) as seen:
        await seen.see("The fire is dying", "#summons")
        summons = seen.app.query_one("#summons")
        assert summons.display
        assert not seen.app.query_one("#pages").display
        assert "18 min left" in summons.said
        assert "Put a small split on the coals" in summons.said
        assert "I am awake: stop the bell" in summons.said
        await seen.press("escape")
        assert not summons.display
        assert seen.app.query_one("#pages").display
        assert seen.app.query_one("#alarm-banner").display
        seen.link.tell(alarm(seconds=BEGIN, priority=Priority.CRITICAL))
        await seen.until(lambda: summons.display)
        await seen.press("a")
        (entry,) = await seen.left()
        assert (entry.alarm, type(entry).__name__) == ("fire-dying", "Acknowledge")
        seen.link.tell(alarm(seconds=BEGIN, priority=Priority.CRITICAL, state=AlarmState.ACKNOWLEDGED))
        await seen.until(lambda: not summons.display)


@pytest.mark.parametrize(
    "quiet",
    [{"priority": Priority.MEDIUM}, {"state": AlarmState.RETURNED}, {"state": AlarmState.ACKNOWLEDGED}],
    ids=["can-wait", "over", "acknowledged"],
)
async def test_an_alarm_that_can_wait_or_is_over_leaves_the_page_alone(shown, cook, quiet):
    async with shown([*cook, alarm(seconds=BEGIN, **quiet)]) as seen:
        await seen.until(lambda: seen.app.glance().view.alarms)
        assert seen.app.query_one("#pages").display
        assert not seen.app.query_one("#summons").display


async def test_the_banner_goes_when_the_alarm_is_acknowledged_but_the_strip_keeps_it(shown, cook):
    async with shown([*cook, alarm(seconds=BEGIN)]) as seen:
        await seen.see("HIGH ALARM", "#alarm-banner")
        seen.link.tell(alarm(seconds=BEGIN, state=AlarmState.ACKNOWLEDGED))
        await seen.until(lambda: not seen.app.query_one("#alarm-banner").display)
        await seen.see("HIGH ALARM, acknowledged: The fire is dying", "#strip")
        assert "First: Put a small split" in seen.words("#strip")
        assert "1 alarm (high, acknowledged)" in seen.words("#state")


async def test_an_alarm_that_is_over_says_so_until_acknowledged(shown, cook):
    async with shown([*cook, alarm(seconds=BEGIN, state=AlarmState.RETURNED)]) as seen:
        await seen.see("HIGH ALARM, NOW OVER", "#alarm-banner")


@pytest.mark.parametrize(
    ("priority", "every"), [(Priority.CRITICAL, 2), (Priority.HIGH, 4), (Priority.MEDIUM, 10), (Priority.LOW, 30)]
)
async def test_the_bell_rings_on_until_someone_acknowledges_the_oftener_the_more_urgent(
    shown, cook, still, priority, every
):
    async with shown(echoes=False) as seen:
        assert seen.rung == 0
        seen.link.tell(alarm(seconds=BEGIN, priority=priority))
        await seen.see("ALARM", "#alarm-banner")
        assert seen.rung == 1
        for _ in range(60):
            still.seconds += 1.0
            seen.app._beat()
        assert seen.rung == pytest.approx(1 + 60 / every, abs=1)
        seen.link.tell(alarm(seconds=BEGIN, priority=priority, state=AlarmState.ACKNOWLEDGED))
        await seen.until(
            lambda: not any(seen.app.query_one(f"#{name}").display for name in ("summons", "alarm-banner"))
        )
        rung = seen.rung
        still.seconds += 60.0
        seen.app._beat()
        assert seen.rung == rung


async def test_a_shelved_alarm_neither_rings_nor_fills_a_banner(shown, cook):
    async with shown([*cook, alarm(seconds=BEGIN, state=AlarmState.SHELVED)]) as seen:
        assert seen.rung == 0
        assert not seen.app.query_one("#alarm-banner").display
        await seen.see("no alarms, 1 set aside", "#state")


async def test_a_dead_probe_is_never_shown_as_a_temperature(shown, cook):
    dead = [health("grate", Health.OPEN), health("grate2", Health.SILENT)]
    async with shown([*cook, *dead]) as seen:
        await seen.see("BLIND: no pit probe can be trusted", "#watch-banner")
        assert "grate: open circuit, grate2: silent" in seen.words("#watch-banner")
        assert "not known" in seen.words("#pit")
        assert "F" not in seen.words("#pit").splitlines()[0]
        await seen.press("p")
        await seen.see("open circuit", "#probes")
        (row,) = (line for line in seen.words("#probes").splitlines() if line.startswith("grate "))
        assert "0F" not in row


async def test_a_bell_that_is_switched_off_is_silent_and_the_banner_comes_all_the_same(shown, still):
    async with shown(app_options={"bell": False}) as seen:
        seen.link.tell(alarm(seconds=BEGIN))
        await seen.see("The fire is dying", "#alarm-banner")
        still.seconds += 600.0
        seen.app._beat()
        assert seen.rung == 0


async def test_every_change_of_the_look_is_told_to_whoever_remembers_it(shown):
    kept = []
    async with shown(app_options={"remember": kept.append}) as seen:
        await seen.press("f", "c", "g", "y", "minus")
        await seen.until(lambda: len(kept) == 5)
        assert kept[-1] == seen.app.preferences


async def test_a_second_trusted_probe_takes_the_place_of_a_dead_one(shown, cook):
    async with shown([*cook, health("grate", Health.STUCK)]) as seen:
        assert not seen.app.query_one("#watch-banner").display
        assert "grate stuck" in seen.words("#state")
        assert seen.words("#pit").splitlines()[-2:] == ["trend not known", "aim 250F ±15, 15 over"]


async def test_a_bad_reading_is_unknown_not_zero(shown, cook):
    bad = [Reading(time=instant(BEGIN), probe=name, status=Status.OPEN) for name in ("grate", "grate2")]
    async with shown([*cook, *bad]) as seen:
        await seen.see("BLIND", "#watch-banner")


async def test_silence_longer_than_two_ticks_is_called_stale(shown, still):
    async with shown() as seen:
        still.seconds += 11.0
        seen.app._beat()
        assert not seen.app.query_one("#watch-banner").display
        still.seconds += 3.0
        seen.app._beat()
        await seen.see("STALE: nothing heard for 14 s", "#watch-banner")
        assert "14 s old" in seen.words("#pit")
        assert seen.words("#next").startswith("OLD")
        seen.link.tell(Tick(time=instant(BEGIN + 14.0)))
        await seen.until(lambda: not seen.app.query_one("#watch-banner").display)


async def test_the_clock_stands_still_rather_than_running_on_in_silence(shown, still):
    async with shown() as seen:
        still.seconds += 3600.0
        seen.app._beat()
        await seen.see("01:12:12", "#header")


async def test_logical_time_runs_at_the_rate_of_the_fire(shown, still):
    async with shown(kind=Kind.DEMO, rate=20.0) as seen:
        still.seconds += 2.0
        seen.app._beat()
        await seen.see("01:12:40", "#header")


async def test_a_dead_keeper_is_called_by_its_name_and_started_at_a_key(shown):
    started = []
    async with shown(alive=False, app_options={"revive": lambda: started.append(True)}) as seen:
        await seen.see("NOBODY IS WATCHING - press k to start the keeper", "#watch-banner")
        await seen.press("k")
        await seen.until(lambda: bool(started))
        seen.link.alive = True
        seen.link.tell(Tick(time=instant(BEGIN + 1.0)))
        await seen.until(lambda: not seen.app.query_one("#watch-banner").display)


async def test_a_keeper_that_does_not_start_says_why(shown):
    def revive():
        raise HeldError("process 17 keeps this pit")

    async with shown(alive=False, app_options={"revive": revive}) as seen:
        await seen.press("k")
        await seen.see("The keeper did not start: process 17 keeps this pit", "#answer")


async def test_a_dashboard_that_cannot_start_the_keeper_names_the_command(shown):
    async with shown(alive=False) as seen:
        await seen.see("start it with: firebox keep", "#watch-banner")


async def test_an_old_history_is_told_by_its_age(shown, make):
    async with shown(app_options={}, alive=False) as seen:
        seen.app._wall = lambda: instant(BEGIN + 3600.0)
        seen.app._view = seen.app._view.__class__()
        seen.app._follower._view = seen.app._view
        seen.link.tell(*readings(BEGIN), *answers(BEGIN))
        await seen.see("What you see is 1 h old", "#watch-banner")


@pytest.mark.parametrize(
    ("kind", "rate", "words", "letters", "size"),
    [
        (Kind.DEMO, 20.0, "DEMO FIRE - NOT A REAL PIT x20", "DEMO", (80, 24)),
        (Kind.DEMO, 20.0, "DEMO FIRE - NOT A REAL PIT", "DEMO", (60, 20)),
        (Kind.DEMO, 20.0, "DEMO FIRE - NOT A REAL PIT x20", "DEMO", (160, 50)),
        (Kind.PRACTICE, 1.0, "PRACTICE FIRE - NOT A REAL PIT", "PRACTICE", (80, 24)),
        (Kind.REPLAY, 60.0, "REPLAY - THIS IS THE PAST x60", "REPLAY", (80, 24)),
    ],
)
async def test_what_is_not_real_says_so_on_every_page(shown, kind, rate, words, letters, size):
    async with shown(kind=kind, rate=rate, size=size) as seen:
        for key in PAGES:
            await seen.press(key)
            await seen.see(words, "#header")
            for edge in ("#edge-left", "#edge-right"):
                assert seen.app.query_one(edge).display
                assert seen.app.query_one(edge).said.replace("\n", "").startswith(letters)


async def test_a_real_pit_has_no_such_border(shown):
    async with shown() as seen:
        assert not seen.app.query_one("#edge-left").display
        assert "North pit" in seen.words("#header")


async def test_a_link_in_trouble_is_named_and_followed_on(shown, monkeypatch):
    async with shown() as seen:
        trouble = ["the journal is locked"]
        news = seen.link.news

        def failing():
            if trouble:
                raise JournalError(trouble[0])
            return news()

        monkeypatch.setattr(seen.link, "news", failing)
        await seen.see("the journal is locked", "#watch-banner")
        trouble.clear()
        await seen.until(lambda: not seen.app.query_one("#watch-banner").display)


async def test_a_link_that_breaks_for_good_is_said_on_the_screen(shown, monkeypatch):
    async with shown() as seen:

        def broken():
            raise ZeroDivisionError("a defect")

        monkeypatch.setattr(seen.link, "news", broken)
        await seen.see("The dashboard lost the watch", "#watch-banner")


async def test_setting_the_clock_moves_all_times_and_no_point(shown, cook):
    shift = timedelta(hours=3)
    jump = Clock(time=instant(BEGIN), to=instant(BEGIN) + shift)
    async with shown([*cook, jump]) as seen:
        await seen.see("04:12:00", "#header")
        await seen.press("e")
        await seen.see("00:00  fire lit", "#log")
        assert seen.app.glance().view.seconds == BEGIN


async def test_before_anything_is_heard_nothing_is_made_up(shown):
    async with shown([]) as seen:
        await seen.see("NO ADVICE", "#next")
        assert "0F" not in seen.words()
        await seen.press("s", "enter")
        (entry,) = await seen.left()
        assert entry.kg is None


@pytest.mark.parametrize("size", [(60, 20), (40, 10), (200, 60), (80, 24), (20, 5)])
async def test_it_holds_at_any_size_and_while_being_resized(shown, cook, size):
    async with shown([*cook, alarm(seconds=BEGIN)], kind=Kind.DEMO, alive=False) as seen:
        await seen.pilot.resize_terminal(*size)
        for key in (*PAGES, "escape", "s", "escape"):
            await seen.press(key)
            await seen.pilot.pause()
        await seen.pilot.resize_terminal(80, 24)
        await seen.see("OLD", "#fire")


async def test_sixty_columns_still_show_the_pit_the_move_and_the_way_out(shown):
    async with shown(size=(60, 20)) as seen:
        assert "ONE MEDIUM SPLIT, 1.4 kg" in seen.words("#next")
        assert "at 01:37, in 25 min" in seen.words("#next")
        assert "aim 250F" in seen.words("#pit")
        assert "? all keys" in seen.words("#keys")
        assert "q leave" in seen.words("#keys")


@pytest.mark.parametrize("how", ["told", "encoding"])
async def test_ascii_alone_when_told_or_when_the_terminal_knows_no_more(shown, cook, how):
    preferences = Preferences(ascii=how == "told")
    options = {"encoding": "utf-8" if how == "told" else "ascii"}
    async with shown(
        [*cook, alarm(seconds=BEGIN)], preferences=preferences, app_options=options, kind=Kind.DEMO, size=(160, 50)
    ) as seen:
        for key in (*PAGES, "escape", "v", "s"):
            await seen.press(key)
            await seen.pilot.pause()
            lines = [
                "".join(segment.text for segment in strip) for strip in seen.app.screen._compositor.render_strips()
            ]
            assert [line for line in lines if not line.isascii()] == [], key


async def test_no_color_is_honoured(shown, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    async with shown() as seen:
        assert seen.app.no_color
        assert seen.app.theme == "uncoloured"
        for strip in seen.app.screen._compositor.render_strips():
            for _text, style, _control in strip:
                if style is not None:
                    for colour in (style.color, style.bgcolor):
                        assert colour is None or colour.is_default
        await seen.press("y")
        await seen.see("NO_COLOR is set", "#answer")
        assert seen.app.theme == "uncoloured"


def test_the_link_of_the_tests_is_a_link():
    link: WatchLink = CannedLink()
    assert link.status().alive
