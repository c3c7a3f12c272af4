"""Effects on the lift rate as a forest plot: a point and a band for every term, no effect as a line."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import seaborn as sns
from matplotlib.axes import Axes
from matplotlib.ticker import FixedLocator, FuncFormatter, NullFormatter, NullLocator

from outcomes.show.figures.picture import DARK, INK, QUIET, Picture, look

__all__ = ["effects_picture"]

_TICKS = (0.7, 0.8, 0.9, 1.0, 1.1, 1.25, 1.5, 2.0)
_ROW = 0.27  # inches


def effects_picture(effects: Mapping[str, Any]) -> Picture:
    """Picture of the ratios among the effects; terms that are no ratios are left to the table.

    Parameters
    ----------
    effects : mapping
        The `effects` of a predictive distribution: "terms" with term, ratio, low, high; "coverage".

    Returns
    -------
    Picture
    """
    terms = [
        term for term in effects["terms"] if "ratio" in term and not term["term"].startswith("start_level")
    ]
    terms = [term for term in terms if not term["term"].endswith("[not given]")]
    coverage = round(100 * effects["coverage"])
    title = "How fast hair lifts, against the reference"
    height = 1.55 + _ROW * max(len(terms), 1)
    with look(8.0, height) as figure:
        top, bottom = 1 - 0.85 / height, 0.62 / height
        axes: Axes = figure.add_axes((0.29, bottom, 0.5, top - bottom))
        figure.text(0.03, 1 - 0.2 / height, title, fontsize=12.5, fontweight="bold", va="top")
        figure.text(
            0.03, 1 - 0.5 / height, f"Ratio of lift rates with its {coverage} % band; 1 is no difference",
            fontsize=9.5, color=QUIET, va="top",
        )  # fmt: skip
        for row, term in enumerate(terms):
            if row % 2 == 0:
                axes.axhspan(
                    row - 0.5, row + 0.5, xmin=-0.53, xmax=1.4, color="#f4f7f8", clip_on=False, zorder=0
                )
            axes.plot(
                [term["low"], term["high"]], [row, row], color=DARK, linewidth=2.2, solid_capstyle="butt"
            )
            said = f"{term['ratio']:.2f}  ({term['low']:.2f} to {term['high']:.2f})"
            axes.annotate(
                said,
                (1.02, row),
                xycoords=("axes fraction", "data"),
                va="center_baseline",
                fontsize=9.5,
                annotation_clip=False,
            )
        axes.axvline(1.0, color=INK, linewidth=1.0, zorder=1)
        rows = list(range(len(terms)))
        sns.scatterplot(
            x=[term["ratio"] for term in terms], y=rows, ax=axes, color="white", edgecolor=DARK,
            linewidth=1.8, s=42, zorder=3,
        )  # fmt: skip
        _scale(axes, terms)
        axes.set_yticks(rows, [_named(term["term"]) for term in terms])
        axes.set(ylim=(len(terms) - 0.5, -0.5), ylabel="")
        axes.set_xlabel("slower   \N{LEFTWARDS ARROW}   lift rate   \N{RIGHTWARDS ARROW}   faster")
        axes.tick_params(axis="y", length=0)
        axes.spines["left"].set_visible(False)
    each = "; ".join(
        f"{_named(term['term'])} {term['ratio']:.2f} ({term['low']:.2f} to {term['high']:.2f})"
        for term in terms
    )
    return Picture(figure, title, f"{title}. Ratios of lift rates with {coverage} % bands: {each}.")


def _scale(axes: Axes, terms: list[Any]) -> None:
    """Logarithmic, so that a half and a double lie equally far from no effect."""
    low = min([0.9, *(term["low"] for term in terms)])
    high = max([1.1, *(term["high"] for term in terms)])
    axes.set_xscale("log")
    axes.set_xlim(low * 0.97, high * 1.03)
    axes.xaxis.set_major_locator(FixedLocator([tick for tick in _TICKS if low * 0.97 <= tick <= high * 1.03]))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axes.xaxis.set_minor_locator(NullLocator())
    axes.xaxis.set_minor_formatter(NullFormatter())


def _named(term: str) -> str:
    """ "heat[low]" as "heat: low"."""
    return term.replace("[", ": ").rstrip("]").replace("_", " ")
