"""Options about chair time, price, calendar and strand condition, which stand beside a question."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from outcomes.errors import InputError

if TYPE_CHECKING:
    from outcomes.answers.sessions_answer import SessionsAnswer
    from outcomes.predictive.lift import LiftPredictive

__all__ = ["BESIDES", "add_besides", "answered_besides"]

BESIDES = ("minutes_per_visit", "price", "hours", "weeks_between", "condition", "floor")


def add_besides(parser: argparse.ArgumentParser) -> None:
    """Add the options.

    Parameters
    ----------
    parser : ArgumentParser
    """
    group = parser.add_argument_group("what it takes")
    group.add_argument(
        "--minutes-per-visit", metavar="M", help="time in the chair of a visit, in place of the log's"
    )
    group.add_argument("--price", metavar="P", help="price of a visit, in any currency")
    group.add_argument("--hours", metavar="H", help="the price is for H hours in the chair instead")
    group.add_argument(
        "--weeks-between", metavar="W", help="weeks from session to session, in place of the log's"
    )
    group.add_argument(
        "--condition",
        metavar="C",
        help="strand condition before, 5 (strong) to 2; none is forecast at 1, breaking",
    )
    group.add_argument("--floor", metavar="F", help="condition below which a course stops, 2 (default) to 5")


def answered_besides(
    args: argparse.Namespace, predictive: LiftPredictive, answer: SessionsAnswer
) -> tuple[dict[str, Any], list[str]]:
    """What the options ask, and what the log tells of it without being asked.

    Parameters
    ----------
    args : Namespace
    predictive : LiftPredictive
    answer : SessionsAnswer

    Returns
    -------
    dict
        To stand in the JSON beside the answer.
    list of str
        To stand in its text.

    Raises
    ------
    InputError
        As `course_costs` and `course_condition`; a floor without a condition.
    """
    if args.floor is not None and args.condition is None:
        raise InputError("floor: found no condition beside it; expected both; give --condition too")
    from outcomes.answers.costs import course_costs
    from outcomes.show.costs_text import costs_lines

    figures = {name: getattr(args, name) for name in BESIDES[:4]}
    costs = course_costs(predictive, answer, **figures)
    found, lines = costs.to_dict(), costs_lines(costs)
    if args.condition is not None:
        from outcomes.answers.condition import course_condition
        from outcomes.show.condition_text import condition_lines

        condition = course_condition(predictive, answer, args.condition, args.floor)
        found["condition"] = condition.to_dict()
        lines = [*condition_lines(condition, answer.sessions), *lines]
    return found, lines
