"""The page of a review in a real browser: nothing asked of a network, no error, nothing cut off, light, dark, on paper."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.e2e.browser import Browser, browser, command
from tests.unit.report.test_page import NASTY, made, night

pytestmark = [
    pytest.mark.e2e,
    pytest.mark.skipif(command() is None, reason="chromium is not installed"),
]

FOLDED = "[...document.querySelectorAll('details table')].map(table => table.checkVisibility())"

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def shown(tmp_path_factory):
    with browser(tmp_path_factory.mktemp("profile")) as it:
        yield it


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    path = tmp_path_factory.mktemp("page") / "cook.html"
    path.write_text(made(night(notes=[NASTY], minutes=500), price_per_kg=0.4), encoding="utf-8")
    return path


@pytest.mark.parametrize("width", [1100, 390, 320])
@pytest.mark.parametrize("dark", [False, True])
def test_it_opens_without_an_error_a_request_or_a_sideways_scroll(shown: Browser, page: Path, width, dark):
    shown.asked.clear()
    shown.open(page, width=width, dark=dark)
    assert shown.trouble == []
    assert set(shown.asked) == {page.as_uri()}
    assert shown.tell("document.documentElement.scrollWidth") <= width
    assert shown.tell("[...document.querySelectorAll('figure')].every(f => [...f.querySelectorAll('svg')]"
                      ".filter(s => s.getBoundingClientRect().height > 100).length == 1)")  # fmt: skip


@pytest.mark.parametrize("dark", [False, True])
def test_its_words_stand_out_from_what_is_behind_them(shown: Browser, page: Path, dark):
    """Contrast as WCAG 2.2 reckons it, 1.4.3: 4.5 to 1 for text of this size."""
    shown.open(page, dark=dark)
    for selector in ("p", "td", "th", "figcaption", ".tries span", ".tiles .note", ".small"):
        ink = shown.tell(f"getComputedStyle(document.querySelector('{selector}')).color")
        behind = shown.tell(f"getComputedStyle(document.querySelector('{selector}').closest('.tiles div, .tries, html'))"
                            ".backgroundColor")  # fmt: skip
        assert contrast(ink, behind) >= 4.5, selector


def contrast(first: str, second: str) -> float:
    """Return the contrast of two colours as the browser names them."""
    light, dark = sorted((luminance(first), luminance(second)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def luminance(colour: str) -> float:
    parts = [int(part) / 255.0 for part in colour[colour.index("(") + 1 : -1].split(",")[:3]]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_dark_and_light_differ_and_paper_is_white(shown: Browser, page: Path, tmp_path):
    seen = []
    for dark in (False, True):
        shown.open(page, dark=dark)
        seen.append(shown.tell("getComputedStyle(document.documentElement).backgroundColor"))
        stroke = "getComputedStyle(document.querySelector('svg.broad path[style*=\"--pit\"]')).stroke"
        seen.append(shown.tell(stroke))
    assert len(set(seen)) == 4
    assert shown.tell(FOLDED) == [False]
    shown.call(
        "Emulation.setEmulatedMedia", media="print", features=[{"name": "prefers-color-scheme", "value": "dark"}]
    )
    assert shown.tell("getComputedStyle(document.documentElement).backgroundColor") == "rgb(255, 255, 255)"
    assert shown.tell(FOLDED) == [True], "what is folded away on a screen is printed"
    shown.call("Emulation.setEmulatedMedia", media="")
    shown.paper(tmp_path / "cook.pdf")
    assert (tmp_path / "cook.pdf").read_bytes().startswith(b"%PDF")


def test_the_picture_is_not_empty(shown: Browser, page: Path, tmp_path):
    shown.open(page)
    shown.picture(tmp_path / "cook.png")
    assert (tmp_path / "cook.png").stat().st_size > 50_000


@pytest.mark.slow
@pytest.mark.timeout(300)
def test_a_fire_kept_by_the_real_keeper_is_looked_back_on(tmp_path, shown: Browser):
    """The demo burns for near an hour of its own, as fast as it goes; then its review and its page."""
    environment = {**os.environ, "FIREBOX_HOME": str(tmp_path), "PYTHONPATH": str(ROOT)}
    keeper = subprocess.Popen([sys.executable, "-m", "firebox", "keep", "--demo", "--rate", "120"], env=environment)
    try:
        with pytest.raises(subprocess.TimeoutExpired):
            keeper.wait(25.0)
    finally:
        keeper.terminate()
        keeper.wait(30.0)

    def firebox(*arguments: str) -> str:
        asked = [sys.executable, "-m", "firebox", *arguments]
        return subprocess.run(asked, env=environment, capture_output=True, text=True, check=True).stdout

    told = firebox("review", "--demo")
    assert told.startswith("DEMO: an invented fire\n")
    assert "Three things to try next time" in told
    assert max(len(line) for line in told.splitlines()) <= 80
    path = tmp_path / "demo.html"
    firebox("review", "--demo", "--page", str(path))
    shown.asked.clear()
    shown.open(path)
    assert shown.trouble == []
    assert set(shown.asked) == {path.as_uri()}
