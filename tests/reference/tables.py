"""Published tables that tests compare with, as they stand in `tests/data`."""

import csv
from pathlib import Path

DATA = Path(__file__).parents[1] / "data"


def rows(name):
    """Return the rows of a table, each a dict by the words of its head."""
    with (DATA / name).open() as file:
        return list(csv.DictReader(file))
