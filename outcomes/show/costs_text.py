"""Chair time, price and calendar of a course as lines for a terminal."""

from __future__ import annotations

from outcomes.answers.amounts import hours_said, money_said, weeks_said, whole_money
from outcomes.answers.costs import CostsAnswer, Total
from outcomes.answers.wording import count

__all__ = ["costs_lines"]

_KEPT = "\N{NO-BREAK SPACE}"
_LABELS = {"chair_time": "chair time", "cost": "cost", "calendar": "calendar"}
_UNTIL = {
    "chair_time": "until the goal is read",
    "cost": "in the currency of your price",
    "calendar": "from today's session to the last",
}


def costs_lines(answer: CostsAnswer) -> list[str]:
    """A line each, the middle first; no middle where the plan is outside the log.

    Parameters
    ----------
    answer : CostsAnswer

    Returns
    -------
    list of str
        Not wrapped.
    """
    return [_line(name, total, answer) for name, total in answer.totals]


def _line(name: str, total: Total, answer: CostsAnswer) -> str:
    coverage = round(100 * total.coverage)
    if answer.is_outside:
        band = f"wide band {_spanned(name, total, answer.limit)} {_UNTIL[name]}"
    elif total.median is None:
        band = f"beyond {count(answer.limit)}; {coverage} % band {_spanned(name, total, answer.limit)}"
    else:
        about = "about " if total.median else ""
        middle = f"{about}{_said(name, total.median, total)} {_UNTIL[name]}"
        band = f"{middle}; {coverage} % band {_spanned(name, total, answer.limit)}"
    return f"  {_LABELS[name]:<14}{band}; rests on {total.rests_on}"


def _spanned(name: str, total: Total, limit: int) -> str:
    if total.low is None:
        return f"beyond {count(limit)}"
    low = _said(name, total.low, total)
    if total.high is None:
        return f"{low} or more"
    high = _said(name, total.high, total)
    if low == high:
        return low
    return f"{low.split(' ')[0] if name == 'calendar' else low} to {high}"


def _said(name: str, amount: float, total: Total) -> str:
    if name == "chair_time":
        return hours_said(amount).replace(" ", _KEPT)  # hours and their minutes stay on one line
    if name == "calendar":
        return weeks_said(amount)
    return money_said(amount) if "hours" in total.entered else whole_money(amount)
