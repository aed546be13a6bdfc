"""The page of a review: one file, nothing loaded, nothing run, whatever the cook wrote."""

import re
from datetime import timedelta, timezone
from html.parser import HTMLParser

import pytest

from firebox.records import Awake, MeatOn, Note, Sleep
from firebox.report.page import page
from firebox.review.comparing import side_by_side
from firebox.review.sheet import sheet
from firebox.review.whole import review
from firebox.review.wording import Look
from firebox.units import Degrees
from tests.unit.review.hand_made import alarm, at, cook, damper, door, hump, lit, outlook, readings, split
from tests.unit.review.test_review_worth import meat

NASTY = "<script>alert('x')</script><img src=x onerror=alert(1)> \" ' & </svg></style>"
LOOK = Look(degrees=Degrees.C, zone=timezone(timedelta(hours=2)))


def night(*, notes=(), pit="hand-made", minutes=300):
    times = range(20, minutes, 45)
    return cook(
        minutes, lambda m: 118.0 + sum(hump(m - one, 14.0) for one in times), lit(), *(split(m, 1.0) for m in times),
        *door(100, 2), damper(60, 0.25), *(outlook(m, 118.0, m5=119.0, m15=121.0) for m in range(0, minutes - 30, 2)),
        alarm(90, "fire-dying"), *(Note(time=at(5 + n), text=text) for n, text in enumerate(notes)),
        MeatOn(time=at(30)), Sleep(time=at(120)), Awake(time=at(180)), *(meat(m, "climbing", 20.0 + 0.1 * m) for m in range(minutes)),
        *readings(minutes, lambda m: 20.0 + 0.1 * m, "flat"), *readings(minutes, lambda m: 110.0, "grate2"), pit=pit,
    )  # fmt: skip


def made(records, look=LOOK, **more):
    looked = review(records, **more)
    return page(sheet(looked[0], look), [looked], look)


@pytest.fixture(scope="module")
def plain():
    return made(night(), price_per_kg=0.4)


class Parts(HTMLParser):
    """Collects tags with their attributes, and complains of what is not closed."""

    VOID = frozenset({"meta", "br", "img", "link", "input", "hr"})

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.tags, self.open, self.text = [], [], ""
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text += data


def test_the_page_asks_nothing_of_any_network_and_runs_nothing(plain):
    parts = Parts(plain)
    names = {tag for tag, _ in parts.tags}
    assert (
        names & {"script", "link", "img", "iframe", "object", "embed", "base", "form", "foreignobject", "image"}
        == set()
    )
    assert not re.search(r"https?:|//[a-z]|@import|url\((?!#)", plain)
    for _, attributes in parts.tags:
        assert not [name for name in attributes if name.startswith("on")]
        assert attributes.get("href", "#").startswith("#")
        assert attributes.get("xlink:href", "#").startswith("#")
    policy = next(a["content"] for tag, a in parts.tags if a.get("http-equiv") == "Content-Security-Policy")
    assert "default-src 'none'" in policy
    assert "script" not in policy


def test_what_the_cook_wrote_is_shown_as_it_was_written():
    text = made(night(notes=[NASTY], pit=f"pit {NASTY}"[:64]))
    parts = Parts(text)
    names = {tag for tag, _ in parts.tags}
    assert names & {"script", "img"} == set()
    assert NASTY in parts.text


def test_every_picture_comes_in_two_shapes_with_words_for_who_cannot_see_it(plain):
    pictures = [attributes for tag, attributes in Parts(plain).tags if tag == "svg"]
    assert [one["class"] for one in pictures] == ["broad", "slim"] * 3
    assert all(one["role"] == "img" and len(one["aria-label"]) > 20 for one in pictures)


def test_every_ink_follows_light_dark_and_paper(plain):
    used = set(re.findall(r"var\(--(\w+)\)", plain))
    style = plain[plain.index("<style>") : plain.index("</style>")]
    for theme in re.findall(r":root \{(.*?)\}", style, re.DOTALL):
        assert used <= set(re.findall(r"--(\w+):", theme))
    drawn = "".join(re.findall(r"<svg.*?</svg>", plain, re.DOTALL))
    assert not re.search(r"#[0-9a-f]{6}\b", drawn), "a colour that does not follow the reader's choice"


def test_no_name_inside_the_pictures_is_used_twice(plain):
    ids = [attributes["id"] for _, attributes in Parts(plain).tags if "id" in attributes]
    assert len(ids) == len(set(ids))
    meant = set(re.findall(r"url\(#([^)]+)\)", plain)) | set(re.findall(r'href="#([^"]+)"', plain))
    assert meant <= set(ids)


def test_the_same_cook_gives_the_same_page(plain):
    assert made(night(), price_per_kg=0.4) == plain


def test_a_fire_that_was_no_real_one_says_so_at_the_top():
    text = made(night(), kind="demo")
    assert text.index('class="banner">DEMO') < text.index("<h1>")


@pytest.mark.parametrize(
    "records", [night(minutes=30), cook(20, lambda _: None), cook(90, lambda _: 40.0, split(5, None))]
)
def test_a_cook_of_which_little_is_known_has_a_page_too(records):
    parts = Parts(made(records))
    assert "Three things to try next time" in parts.text
    assert not re.search(r"\bnan\b", parts.text, re.IGNORECASE)


def test_cooks_side_by_side_have_a_page_with_one_picture():
    looked = [review(night(), number=1), review(night(minutes=200), number=2)]
    text = page(side_by_side([one for one, _ in looked], LOOK), looked, LOOK)
    parts = Parts(text)
    assert [attributes["class"] for tag, attributes in parts.tags if tag == "svg"] == ["broad", "slim"]
    assert "cook 2" in parts.text


def test_the_hours_on_the_page_are_the_cooks_own(plain):
    assert "18:20" in plain  # 16:20 UTC, two hours to the east
