"""Effects on the lift rate as a forest plot: a point and a band for every term, no difference as a line."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import groupby
from typing import Any

from outcomes.show.figures.forest import NAMES, NUMBERS, ROW, forest
from outcomes.show.figures.picture import QUIET, Picture, look
from outcomes.show.figures.scale import numbers
from outcomes.show.figures.stack import WIDTH, Stack

__all__ = ["effects_picture"]

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
        f"{_EXPONENTS[term['term']]}: {numbers(term, 'value')}" for term in said if term["term"] in _EXPONENTS
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
            height = ROW * len(lines)
            forest(stack.axes(height, left=NAMES, right=NUMBERS, gap=0.2), lines, "lift rate")
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


def _in_words(lines: list[tuple[str, Any]]) -> str:
    """The rows as a sentence for each column: "Heat, against no heat: low 1.10 (1.07 to 1.12), ..."."""
    sentences: list[tuple[str, list[str]]] = []
    for name, term in lines:
        if term is None:
            sentences.append((name, []))
        else:
            sentences[-1][1].append(f"{name} {numbers(term, 'ratio')}")
    return ". ".join(f"{heading}: {', '.join(rows)}" for heading, rows in sentences)
