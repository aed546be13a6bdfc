"""The dashboard over an invented cook, on a clock that stands still until a test moves it."""

from contextlib import asynccontextmanager
from datetime import UTC
from functools import cache

import pytest

from tests.tui.canned import CannedLink, history, instant
from tui.app import Dashboard
from tui.preferences import Preferences

BEGIN = 4.2 * 3600.0
"""Logical seconds at which the invented cook stands: 01:12, some ten minutes before a split is due."""


class StillClock:
    """Real seconds that pass only when told to."""

    def __init__(self):
        self.seconds = 1000.0

    def __call__(self):
        return self.seconds


@cache
def _history(seconds):
    return tuple(history(seconds))


@pytest.fixture
def still():
    return StillClock()


@pytest.fixture
def cook():
    """Return the records of the cook so far."""
    return _history(BEGIN)


@pytest.fixture
def make(still):
    """Return a dashboard on the still clock over a link."""

    def make(link, preferences=None, **more):
        return Dashboard(
            link,
            preferences or Preferences(),
            now=still,
            wall=lambda: instant(BEGIN),
            zone=UTC,
            encoding=more.pop("encoding", "utf-8"),
            **more,
        )

    return make


class Shown:
    """A running dashboard as a test sees it."""

    def __init__(self, app, pilot, link, until):
        self.app, self.pilot, self.link, self.until = app, pilot, link, until
        self.rung = 0

    async def press(self, *keys):
        await self.pilot.press(*keys)

    async def see(self, words, widget="#frame"):
        """Return once some words stand in a part of the screen."""
        await self.until(lambda: words in self.words(widget))

    def words(self, widget="#frame"):
        """Return what is written in a part of the screen."""
        node = self.app.query_one(widget)
        found = [
            part.said for part in node.query("Words") if part.display and all(up.display for up in part.ancestors)
        ]
        for rows in node.query("Rows"):
            if rows.display and all(up.display for up in rows.ancestors):
                found += [rows.get_option_at_index(index).prompt for index in range(rows.option_count)]
        if hasattr(node, "said"):
            found.append(node.said)
        return "\n".join(found)

    async def left(self, count=1):
        """Return the entries that lie in the link, once there are so many."""
        await self.until(lambda: len(self.link.left) >= count)
        return self.link.left


@pytest.fixture
def shown(make, cook, until, monkeypatch):
    """Return a context in which a dashboard runs over the cook, or over the records given."""

    @asynccontextmanager
    async def show(records=None, *, size=(80, 24), preferences=None, app_options=None, **link_options):
        link = CannedLink(cook if records is None else records, **link_options)
        app = make(link, preferences, **(app_options or {}))
        async with app.run_test(size=size) as pilot:
            seen = Shown(app, pilot, link, until)
            monkeypatch.setattr(app, "bell", lambda: setattr(seen, "rung", seen.rung + 1))
            if records is None or records:
                await until(lambda: app.glance().view.epoch is not None)
            await pilot.pause()
            yield seen
        assert link.closed or await closes(link, until)

    async def closes(link, until):
        await until(lambda: link.closed)
        return True

    return show
