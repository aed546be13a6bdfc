"""Colours by name: matplotlib draws with numbered inks, and the page says what each one is by day, by night, on paper.

So one drawing serves all three, and follows the reader's own choice of light or dark without a script.
"""

import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

NAMES: Final = (
    "ink", "soft", "rule", "pit", "other", "band", "wood", "intake", "stack", "door", "meat", "meat2", "meat3",
    "foretold", "early", "middle", "late", "good", "bad", "paper",
)  # fmt: skip
"""Each is a custom property of the page's style."""

_INKS: Final = {name: f"#0102{number:02x}" for number, name in enumerate(NAMES, 3)}
_BY_INK: Final = {ink: name for name, ink in _INKS.items()}

STYLE: Final[dict[Any, Any]] = {  # names and values as matplotlib has them
    "svg.fonttype": "none",
    "svg.hashsalt": "firebox",
    "font.family": "sans-serif",
    "font.size": 9.0,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.spines.left": False,
    "axes.linewidth": 0.8,
    "axes.titlesize": 9.5,
    "axes.titlelocation": "left",
    "axes.titlepad": 7.0,
    "axes.axisbelow": True,
    "axes.grid": True,
    "axes.grid.axis": "y",
    "grid.linewidth": 0.6,
    "lines.solid_capstyle": "round",
    "lines.solid_joinstyle": "round",
    "path.simplify_threshold": 0.4,
    "xtick.major.size": 3.5,
    "ytick.major.size": 0.0,
    "xtick.major.width": 0.8,
    "legend.frameon": False,
    "legend.fontsize": 8.5,
}


def ink(name: str) -> str:
    """Return the number under which matplotlib draws with an ink."""
    return _INKS[name]


@contextmanager
def drawing(width: float, height: float) -> Iterator[Figure]:
    """Give an empty figure of so many inches, in the page's own style."""
    colours: dict[Any, Any] = {
        "text.color": ink("ink"), "axes.labelcolor": ink("soft"), "axes.edgecolor": ink("rule"), "grid.color": ink("rule"),
        "xtick.color": ink("rule"), "ytick.color": ink("rule"), "xtick.labelcolor": ink("soft"),
        "ytick.labelcolor": ink("soft"), "axes.titlecolor": ink("ink"), "figure.facecolor": "none", "axes.facecolor": "none",
    }  # fmt: skip
    with mpl.rc_context({**STYLE, **colours}):
        figure = Figure(figsize=(width, height), layout="constrained")
        FigureCanvasSVG(figure)
        yield figure


def svg(figure: Figure, label: str, name: str, kind: str) -> str:
    """Return a figure as an element of a page, its inks by name.

    Parameters
    ----------
    figure : Figure
    label : str
        What is to be seen, for whoever cannot see it; escaped already.
    name : str
        Begins what the parts of this drawing are called, so that two on a page do not mix.
    kind : str
        Its class.
    """
    out = io.StringIO()
    figure.savefig(out, format="svg", metadata={"Date": None}, transparent=True)
    text = re.sub(r"<metadata>.*?</metadata>|<style.*?</style>", "", out.getvalue(), flags=re.DOTALL)
    text = text[text.index("<svg") :]
    box = re.search(r'viewBox="([^"]*)"', text)
    assert box is not None
    text = re.sub(
        r"<svg [^>]*>", f'<svg class="{kind}" role="img" aria-label="{label}" viewBox="{box[1]}">', text, count=1
    )
    meant = set(re.findall(r'(?:url\(|href=")#([^)"]+)', text))
    text = re.sub(r' id="([^"]*)"', lambda found: f' id="{name}-{found[1]}"' if found[1] in meant else "", text)
    text = re.sub(r'(url\(|href=")#', rf"\g<1>#{name}-", text)
    text = re.sub(r"#0102[0-9a-f]{2}", lambda found: f"var(--{_BY_INK[found[0]]})", text)
    text = re.sub(r"(\d+\.\d{2})\d+", r"\1", text)  # a hundredth of a point is finer than any paper
    return re.sub(r"\s*\n\s*", " ", text).strip()


def direct(axes: Axes, x: float, y: float, text: str, name: str) -> None:
    """Write a word beside what it names, in its own ink: nobody has to look it up in a legend."""
    axes.annotate(
        text, (x, y), xytext=(5, 0), textcoords="offset points", color=ink(name), va="center", fontsize=8.5,
        annotation_clip=False,
    )  # fmt: skip
