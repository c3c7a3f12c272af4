"""A figure with its text alternative, and how every figure looks."""

from __future__ import annotations

import io
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from outcomes.log.atomic import replacing
from outcomes.show.figures.inlined import for_a_page, with_names

__all__ = ["ACCENT", "DARK", "INK", "MID", "PALE", "QUIET", "SOFT", "Picture", "bare", "look"]

# One hue, told apart by lightness (a grey printer keeps it), and one warm accent of middle lightness that
# stays apart from the blues for readers who see red and green alike.
INK = "#22303a"
DARK = "#1d4e6b"
MID = "#477b96"
SOFT = "#a9c6d3"
PALE = "#e3edf1"
QUIET = "#6b757c"
ACCENT = "#a65913"

_LOOK: dict[Any, Any] = {
    "font.size": 10.0,
    "axes.titlesize": 10.0,
    "axes.labelsize": 10.0,
    "xtick.labelsize": 10.0,
    "ytick.labelsize": 10.0,
    "legend.fontsize": 9.0,
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],  # comes with matplotlib, so a figure is the same everywhere
    "text.color": INK,
    "axes.labelcolor": INK,
    "axes.edgecolor": QUIET,
    "axes.linewidth": 0.8,
    "xtick.color": QUIET,
    "ytick.color": QUIET,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "figure.facecolor": "white",
    "axes.facecolor": "white",
    "legend.frameon": False,
    "svg.hashsalt": "outcomes",  # the same figure is the same file
}


@dataclass(frozen=True, eq=False)
class Picture:
    """A figure, its title, and what it says to somebody who can't see it.

    Attributes
    ----------
    figure : matplotlib Figure
    title : str
        One line.
    alt : str
        The figure in words, its numbers included.
    """

    figure: Figure
    title: str
    alt: str

    def save(self, folder: str | os.PathLike[str], name: str) -> list[Path]:
        """Write NAME.png and NAME.svg, both with title and text alternative inside.

        Parameters
        ----------
        folder : str or path
            Must exist.
        name : str
            Without an ending.

        Returns
        -------
        list of Path
            Of the two files.

        Raises
        ------
        InputError
            Nothing can be written there.
        """
        png, svg = Path(folder) / f"{name}.png", Path(folder) / f"{name}.svg"
        with replacing(png) as target:
            self.figure.savefig(
                target, format="png", dpi=160, metadata={"Title": self.title, "Description": self.alt}
            )
        with replacing(svg) as target:
            target.write_text(self.svg(), encoding="utf-8")
        return [png, svg]

    def svg(self, key: str = "", *, inline: bool = False) -> str:
        """The figure as SVG; screen readers are given its title and its description.

        Parameters
        ----------
        key : str
            Begins every name in it, so that several can stand in one page: a letter, then letters, digits,
            - and _. Empty: as in a file.
        inline : bool
            As an element of a page, scaled by it, instead of a file.

        Returns
        -------
        str

        Raises
        ------
        ValueError
            A key that can't be part of a name.
        """
        whole = for_a_page(self._drawn) if inline else self._drawn
        whole, before = (with_names(whole, key), f"{key}-") if key else (whole, "")
        head, start, rest = whole.partition("<svg ")
        attributes, _, body = rest.partition(">")
        named = f'role="img" aria-labelledby="{before}title {before}desc"'
        title = f'<title id="{before}title">{escape(self.title)}</title>'
        desc = f'<desc id="{before}desc">{escape(self.alt)}</desc>'
        return f"{head}{start}{named} {attributes}>\n {title}\n {desc}{body}"

    @cached_property
    def _drawn(self) -> str:
        """As matplotlib writes it, once for a file and for a page."""
        drawn = io.StringIO()
        with mpl.rc_context(_LOOK):
            self.figure.savefig(drawn, format="svg", metadata={"Date": None, "Title": self.title})
        return drawn.getvalue()

    def _repr_png_(self) -> tuple[bytes, dict[str, str]]:
        """For notebooks, which keep the text alternative beside the picture."""
        drawn = io.BytesIO()
        self.figure.savefig(drawn, format="png", dpi=110)
        return drawn.getvalue(), {"alt": self.alt}


@contextmanager
def look(width: float, height: float) -> Iterator[Figure]:
    """A figure drawn in this package's look whatever the user's own settings are.

    Parameters
    ----------
    width, height : float
        Inches.

    Yields
    ------
    matplotlib Figure
    """
    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update(_LOOK)
        figure = Figure(figsize=(width, height))
        FigureCanvasAgg(figure)  # without pyplot, which would keep every figure alive
        yield figure


def bare(axes: Axes) -> None:
    """Take away everything but what is drawn in it.

    Parameters
    ----------
    axes : matplotlib Axes
    """
    axes.set_axis_off()
