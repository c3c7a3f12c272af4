"""Effects on the lift rate as a forest plot: a point and a band for every term, no difference as a line."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import groupby
from math import log
from typing import Any

import seaborn as sns
from matplotlib.axes import Axes
from matplotlib.ticker import FixedLocator, FuncFormatter, NullFormatter, NullLocator

from outcomes.show.figures.picture import DARK, INK, QUIET, Picture, look
from outcomes.show.figures.stack import WIDTH, Stack

__all__ = ["effects_picture"]

_TICKS = ((0.9, 0.8, 0.7, 0.5, 0.3, 0.2, 0.1), (1.1, 1.25, 1.5, 2.0, 3.0, 4.0, 5.0, 10.0))
_ROW = 0.24  # inches
_NAMES, _NUMBERS = 1.6, 1.62
_STEM = ("start_level",)  # parts of a curve, which say nothing one by one
_EXPONENTS = {
    "peroxide": "developer strength / 6 %",
    "mix_ratio": "parts of developer to one of lightener / 2",
    "applications": "number of applications",
}
_POWERS = "Exponents: the lift rate goes with each of these to this power"
_ALONE = {"later_session": ("Session", "later")}  # heading and row of a term without categories


def effects_picture(effects: Mapping[str, Any]) -> Picture:
    """Picture of the ratios among the effects, each against the category that its band is read against.

    Exponents stand below as text. Values that weren't given, and the curve over the start level, are left to
    the table.

    Parameters
    ----------
    effects : mapping
        The `effects` of a predictive distribution: "terms" with term, ratio or value, low, high, meaning;
        "coverage".

    Returns
    -------
    Picture
    """
    said = [term for term in effects["terms"] if _is_shown(term["term"])]
    terms = [term for term in said if "ratio" in term]
    exponents = [
        f"{_EXPONENTS[term['term']]}: {_numbers(term, 'value')}"
        for term in said
        if term["term"] in _EXPONENTS
    ]
    coverage = round(100 * effects["coverage"])
    title = "How fast hair lifts, one thing against another"
    with look(WIDTH, 4.0) as figure:
        stack = Stack(figure)
        stack.text(title, fontsize=13, fontweight="bold")
        stack.text(
            f"Ratio of lift rates, all else alike, with its {coverage} % band; 1 is no difference.",
            gap=0.08, color=QUIET,
        )  # fmt: skip
        lines = _lines(terms)
        if terms:
            height = _ROW * len(lines)
            _forest(stack.axes(height, left=_NAMES, right=_NUMBERS, gap=0.2), lines)
            stack.below += 0.42  # scale and what it measures
        else:
            stack.text("In this log nothing differs that could be compared.", gap=0.25)
        if exponents:
            stack.text(f"{_POWERS}:", gap=0.2, color=QUIET)
            stack.text("\n".join(exponents), gap=0.06)
        stack.close()
    alt = f"{title}. Ratios of lift rates with {coverage} % bands. {_in_words(lines) or 'None'}."
    if exponents:
        alt += f" {_POWERS}: {'; '.join(exponents)}."
    return Picture(figure, title, alt)


def _is_shown(name: str) -> bool:
    return not name.startswith(_STEM) and not name.endswith("[not given]")


def _lines(terms: list[Any]) -> list[tuple[str, Any]]:
    """Rows from the top: a heading for each column that names its reference, then its categories."""
    lines: list[tuple[str, Any]] = []
    for column, group in groupby(terms, key=lambda term: str(term["term"]).partition("[")[0]):
        of = list(group)
        heading, row = _ALONE.get(column, (column.replace("_", " ").capitalize(), "with it"))
        lines.append((f"{heading}{_against(of[0])}", None))
        lines += [(term["term"].partition("[")[2].rstrip("]") or row, term) for term in of]
    return lines


def _against(term: Mapping[str, Any]) -> str:
    """The reference, as the meaning of a term names it at its end."""
    _, word, reference = str(term.get("meaning", "")).rpartition(" against ")
    return f", against {reference}" if word else ""


def _forest(axes: Axes, lines: list[tuple[str, Any]]) -> None:
    drawn = [(row, term) for row, (_, term) in enumerate(lines) if term is not None]
    for row, term in drawn:
        axes.plot([term["low"], term["high"]], [row, row], color=DARK, linewidth=2.2, solid_capstyle="butt")
        axes.annotate(
            _numbers(term, "ratio"), (1.0, row), xytext=(9, 0), textcoords="offset points",
            xycoords=("axes fraction", "data"), va="center_baseline", annotation_clip=False,
        )  # fmt: skip
    axes.axvline(1.0, color=INK, linewidth=1.0, zorder=1)
    sns.scatterplot(
        x=[term["ratio"] for _, term in drawn], y=[row for row, _ in drawn], ax=axes, color="white",
        edgecolor=DARK, linewidth=1.8, s=42, zorder=3,
    )  # fmt: skip
    _scale(axes, [term for _, term in drawn])
    inch = 1.0 / (WIDTH * axes.get_position().width)
    for row, (name, term) in enumerate(lines):
        indent, colour = (0.0, QUIET) if term is None else (0.16, INK)
        # a long heading may reach the line of no difference, which then stops short of it
        axes.annotate(
            name, ((indent - _NAMES) * inch, row), xycoords=("axes fraction", "data"),
            va="center_baseline", annotation_clip=False, color=colour,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
        )  # fmt: skip
    axes.set(ylim=(len(lines) - 0.5, -0.5), ylabel="", yticks=[])
    axes.set_xlabel("slower   \N{LEFTWARDS ARROW}   lift rate   \N{RIGHTWARDS ARROW}   faster")
    axes.spines["left"].set_visible(False)


def _scale(axes: Axes, terms: list[Any]) -> None:
    """Logarithmic, so that a half and a double lie equally far from no difference."""
    low = min([0.9, *(term["low"] for term in terms)]) * 0.97
    high = max([1.1, *(term["high"] for term in terms)]) * 1.03
    axes.set_xscale("log")
    axes.set_xlim(low, high)
    axes.xaxis.set_major_locator(FixedLocator(_ticks(low, high)))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axes.xaxis.set_minor_locator(NullLocator())
    axes.xaxis.set_minor_formatter(NullFormatter())


def _ticks(low: float, high: float) -> list[float]:
    """1, and from there to both sides whatever leaves room for its label."""
    room = 0.17 * log(high / low)
    ticks = [1.0]
    for side in _TICKS:
        last = 1.0
        for tick in side:
            if low <= tick <= high and abs(log(tick / last)) >= room:
                ticks.append(tick)
                last = tick
    return sorted(ticks)


def _numbers(term: Mapping[str, Any], name: str) -> str:
    value, low, high = (round(term[key], 2) + 0.0 for key in (name, "low", "high"))  # no "-0.00"
    return f"{value:.2f} ({low:.2f} to {high:.2f})"


def _in_words(lines: list[tuple[str, Any]]) -> str:
    """The rows as a sentence for each column: "Heat, against no heat: low 1.10 (1.07 to 1.12), ..."."""
    sentences: list[tuple[str, list[str]]] = []
    for name, term in lines:
        if term is None:
            sentences.append((name, []))
        else:
            sentences[-1][1].append(f"{name} {_numbers(term, 'ratio')}")
    return ". ".join(f"{heading}: {', '.join(rows)}" for heading, rows in sentences)
