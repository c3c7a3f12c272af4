"""Blocks of a figure stacked from its top: text is measured and broken, and the figure grows with it.

No place is reserved by guess, so a long sentence, plan or reason moves what follows instead of lying on it.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.transforms import offset_copy

__all__ = ["KEPT", "MARGIN", "WIDTH", "Stack", "broken"]

WIDTH = 5.6
"""Inches. With letters of 10 points a figure of this width can still be read on a telephone held upright."""

KEPT = "\N{NO-BREAK SPACE}"
"""A space at which no line is broken; it's drawn as any other."""

MARGIN = 0.18
"""Inches left free on all sides."""

SLACK = 0.98  # letters are placed to whole pixels, so the same line is a little wider at another resolution
_WORD = re.compile(" (?!%)")


class Stack:
    """Blocks from the top of a figure downwards; all lengths in inches.

    Parameters
    ----------
    figure : matplotlib Figure
        Its height is set by `close`.
    """

    def __init__(self, figure: Figure) -> None:
        self.figure = figure
        self.below = MARGIN
        self._placed: list[tuple[Axes, float, float, float, float]] = []

    def text(self, words: str, *, gap: float = 0.0, **style: Any) -> None:
        """Text over the whole width, in as many lines as it needs.

        Parameters
        ----------
        words : str
            Line breaks in it are kept.
        gap : float
            Left free above.
        **style
            Of matplotlib's Text.
        """
        self.below += gap
        width = (self.figure.get_figwidth() - 2 * MARGIN) * SLACK
        from_top = offset_copy(self.figure.transFigure, self.figure, MARGIN, -self.below, units="inches")
        # Codes and notes are somebody else's text: a dollar sign in them begins no formula.
        text = self.figure.text(
            0, 1, "", transform=from_top, va="top", linespacing=1.3, parse_math=False, **style
        )

        def measured(line: str) -> float:
            text.set_text(line)
            return float(text.get_window_extent().width / self.figure.dpi)

        text.set_text("\n".join(broken(words, width, measured)))
        self.below += text.get_window_extent().height / self.figure.dpi

    def axes(self, height: float, *, left: float = 0.0, right: float = 0.0, gap: float = 0.0) -> Axes:
        """Axes that end `left` and `right` short of the margins.

        Parameters
        ----------
        height, left, right, gap : float
            `gap` is left free above, for a title; what stands below the axes needs the next block's gap.

        Returns
        -------
        Axes
        """
        self.below += gap
        axes: Axes = self.figure.add_axes((0.1, 0.1, 0.8, 0.8))
        width = self.figure.get_figwidth() - 2 * MARGIN - left - right
        self._placed.append((axes, MARGIN + left, self.below + height, width, height))
        self.below += height
        self.close()  # what is drawn in it next is measured against the size it has
        return axes

    def close(self) -> None:
        """Make the figure as high as its blocks."""
        width, height = self.figure.get_figwidth(), self.below + MARGIN
        self.figure.set_size_inches(width, height)
        for axes, left, bottom, wide, high in self._placed:
            axes.set_position((left / width, 1 - bottom / height, wide / width, high / height))


def broken(words: str, width: float, measured: Callable[[str], float]) -> list[str]:
    """Lines no wider than `width`, of nearly the same length within a paragraph.

    Parameters
    ----------
    words : str
        Line breaks in it are kept; a number stays with its % sign, and words joined by `KEPT` together.
    width : float
    measured : callable
        Width of one line, in the same unit.

    Returns
    -------
    list of str
    """
    lines = []
    for paragraph in words.split("\n"):
        words_of = _WORD.split(paragraph)
        best = _filled(words_of, width, measured)
        longest = max(map(measured, words_of))
        # The narrowest column with as many lines: no single word is left over for the last.
        for share in (0.95, 0.9, 0.85, 0.8, 0.75, 0.7, 0.65, 0.6):
            narrower = _filled(words_of, share * width, measured) if longest <= share * width else None
            if narrower is None or len(narrower) > len(best):
                break
            best = narrower
        lines += best
    return [line.replace(KEPT, " ") for line in lines]


def _filled(words: list[str], width: float, measured: Callable[[str], float]) -> list[str]:
    lines = [""]
    for word in words:
        longer = f"{lines[-1]} {word}".lstrip()
        if measured(longer) <= width:
            lines[-1] = longer
            continue
        if lines[-1]:
            lines.append("")
        for letter in word:
            # only a word wider than a whole line is cut
            if lines[-1] and measured(lines[-1] + letter) > width:
                lines.append("")
            lines[-1] += letter
    return lines
