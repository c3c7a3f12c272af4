"""When it needs a refresh: the share of clients whose hair has faded so far, by washes and by weeks."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import seaborn as sns
from matplotlib.axes import Axes

from outcomes.answers.refresh import RefreshAnswer, if_missing
from outcomes.answers.wording import CAUTIONS, count, likely, percent
from outcomes.show.figures.picture import ACCENT, DARK, PALE, QUIET, Picture, look
from outcomes.show.figures.stack import WIDTH, Stack

__all__ = ["refresh_picture"]

FloatArray = npt.NDArray[np.float64]


def refresh_picture(answer: RefreshAnswer) -> Picture:
    """Picture of a refresh.

    Parameters
    ----------
    answer : RefreshAnswer

    Returns
    -------
    Picture
    """
    washes, shares = (np.array(values) for values in zip(*answer.reached, strict=True))
    low, median, high = answer.washes.low, answer.washes.median, answer.washes.high
    title = f"Faded by {answer.gone}"
    below = _below(answer)
    with look(WIDTH, 4.6) as figure:
        stack = Stack(figure)
        stack.text(answer.sentence, fontsize=13, fontweight="bold")
        axes = stack.axes(2.4, left=0.5, right=0.25, gap=0.62)
        if low is not None:
            last = washes[-1] if high is None else high
            axes.axvspan(low, last, color=PALE, linewidth=0, zorder=0)
        seen = washes <= answer.longest
        _line(axes, washes[seen], shares[seen], "-")
        if not seen.all():
            rest = washes >= washes[seen][-1]
            _line(axes, washes[rest], shares[rest], ":")
            axes.axvline(answer.longest, color=QUIET, linewidth=1.0, linestyle=(0, (5, 3)))
        if median is not None:
            axes.plot([median, median], [0, 50], color=ACCENT, linewidth=1.6, zorder=2)
            axes.plot([median], [50], "o", color=ACCENT, markersize=6, zorder=4)
        axes.set(xlim=(0, washes[-1]), ylim=(0, 102), yticks=(0, 50, 100))
        axes.set_xlabel("washes")
        axes.set_ylabel("clients, %")
        per_week = answer.washes_per_week
        weeks = axes.secondary_xaxis("top", functions=(_scaled(1.0 / per_week), _scaled(per_week)))
        weeks.set_xlabel(f"weeks, at {per_week:g} washes a week")
        stack.text(f"{below} {' '.join(CAUTIONS)}", gap=0.6, color=QUIET, fontsize=9.5)
        stack.close()
    chosen = range(10, len(washes), 10)
    told = "; ".join(f"{washes[i]:.0f} washes {likely(float(shares[i]))}" for i in chosen)
    whose = f"Clients whose hair has faded by {answer.gone}"
    alt = f"{answer.sentence} {whose}: {told}. {below} {' '.join(CAUTIONS)}"
    return Picture(figure, title, alt)


def _line(axes: Axes, washes: FloatArray, shares: FloatArray, style: str) -> None:
    sns.lineplot(
        x=washes,
        y=100.0 * shares,
        ax=axes,
        color=DARK,
        linewidth=2.4,
        linestyle=style,
        zorder=3,
        legend=False,
    )


def _scaled(factor: float) -> Callable[[npt.ArrayLike], FloatArray]:
    return lambda washes: np.asarray(factor * np.asarray(washes))


def _below(answer: RefreshAnswer) -> str:
    said = [
        f"The line: clients like this whose hair has faded by {answer.gone}. Shaded: 8 in 10 of them "
        "get there within it.",
        f"From {count(answer.basis.visits, 'visit')} read after washes.",
    ]
    if not answer.within_log:
        said.append(f"Dotted: past the {answer.longest:g} washes that the log followed.")
    said.append(f"{percent(answer.missing)} of clients who had it were never read after washes.")
    said.append(if_missing(answer))
    return " ".join(said)
