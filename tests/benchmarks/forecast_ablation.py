"""What each part of the estimate buys: the same cooks, with one part after the other left out.

============  ===========================================================================================
fuel          nothing is known of wood, dampers or doors: trends alone
hypotheses    one belief of the pit instead of several, and nothing is looked for that nobody logged
silent        nothing is looked for that nobody logged
calibration   bands as wide as the model thinks, whatever came of earlier ones
learning      the pit's parameters stay what its dimensions say
============  ===========================================================================================
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from typing import Any, Final
from unittest.mock import patch

import numpy as np

from firebox.estimate import course, greybox, hindsight, ledger, priors, refit, silent
from firebox.records import Damper, Door, Lit, Rake, Record, Split
from tests.benchmarks.forecast_cooks import HORIZONS, Cook
from tests.benchmarks.forecast_score import Table, mean

_FUEL: Final = (Split, Lit, Damper, Door, Rake)


def _nothing_found(*_: object) -> None:
    return None


def _unfitted(story: refit.Story, *_: object) -> tuple[refit.Story, None]:
    return story, None


_UNLOGGED: Final = ((course, "found", _nothing_found), (silent, "UNKNOWN", np.inf))

PARTS: Final[dict[str, tuple[tuple[Any, str, Any], ...]]] = {
    "fuel": (),
    "hypotheses": ((course, "TEMPERS", priors.TEMPERS[1:2]), *_UNLOGGED),
    "silent": _UNLOGGED,
    "calibration": ((ledger, "WIDEST", 0.0), (hindsight, "WIDEST", 0.0)),
    "learning": ((refit, "fitted", _unfitted), (greybox, "LEARNING", 0.0), (hindsight, "LESSON", 0.0)),
}
"""Part -> what is put in its place: module, name, stand-in."""


@contextmanager
def left_out(part: str | None) -> Iterator[None]:
    """Leave a part of the estimate out meanwhile."""
    with ExitStack() as stack:
        for module, name, stand_in in PARTS[part] if part else ():
            stack.enter_context(patch.object(module, name, stand_in))
        yield


def told(records: Sequence[Record], part: str | None) -> Sequence[Record]:
    """Return the records without the fuel story where that is to be left out."""
    return [record for record in records if not isinstance(record, _FUEL)] if part == "fuel" else records


def report(cooks: Sequence[Cook], score: Callable[[Cook, str | None], Table]) -> None:
    """Print error, coverage and CRPS with everything, and without each part."""
    print(f"== ablation: {len(cooks)} cooks ==")
    print(
        f"{'without':14}"
        + "".join(f"{m:>7d}'" for m in HORIZONS)
        + "   mean absolute error [K], 80 % band [%], CRPS [K]"
    )
    for part in (None, *PARTS):
        tables = [score(cook, part) for cook in cooks]
        rows = np.ones(sum(len(table.error) for table in tables), dtype=bool)
        for text, values in (
            (part or "nothing", mean(np.concatenate([table.error for table in tables]), rows)),
            ("  band", 100.0 * mean(np.concatenate([table.inside for table in tables]), rows)),
            ("  CRPS", mean(np.concatenate([table.crps for table in tables]), rows)),
        ):
            print(f"{text:14}" + "".join(f"{value:8.2f}" for value in values), flush=True)
