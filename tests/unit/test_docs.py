"""The pages say what the program does."""

import re
from pathlib import Path

from firebox.warn import catalogue

ROOT = Path(__file__).parents[2]


def test_the_table_of_alarms_is_the_catalogue_that_runs() -> None:
    page = (ROOT / "DEVELOPERS.md").read_text()
    found = re.search(r"<!-- alarms -->\n(.*?)\n<!-- /alarms -->", page, re.DOTALL)
    assert found is not None
    assert found[1] == catalogue.table().strip()


def test_every_package_has_its_place_in_the_room_plan() -> None:
    page = (ROOT / "DEVELOPERS.md").read_text()
    rooms = [place.name for place in (ROOT / "firebox").iterdir() if (place / "__init__.py").exists()]
    assert [room for room in rooms if f"firebox/{room}/" not in page] == []


def test_the_pages_hold_lead_nowhere_that_is_not_there() -> None:
    for page in [*ROOT.glob("*.md"), *(ROOT / "hardware").rglob("*.md")]:
        for target in re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", page.read_text()):
            assert (page.parent / target).exists(), f"{page.name}: {target}"
