"""Options of a plan at the chair, and of the client it is for; read for every command that takes one."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from typing import TYPE_CHECKING

from outcomes.cli.needed import check_given
from outcomes.cli.reading import LOG_HELP, add_reading_options, need_log, read_with
from outcomes.errors import InputError

if TYPE_CHECKING:
    from outcomes.answers.question import Question
    from outcomes.predictive.lift import LiftPredictive
    from outcomes.predictive.past import Past

__all__ = ["ASKED", "Asked", "add_client", "add_plan", "read_plan"]

ASKED = ("start", "goal", "hair", "peroxide", "heat", "minutes")


@dataclass(frozen=True)
class Asked:
    """A plan that was read.

    Attributes
    ----------
    predictive : LiftPredictive
    question : Question
    past : Past or None
        None for a new client.
    """

    predictive: LiftPredictive
    question: Question
    past: Past | None


def add_plan(parser: argparse.ArgumentParser) -> None:
    """Options of a plan. Numbers are read by the answer itself, whose complaint is one line.

    Parameters
    ----------
    parser : ArgumentParser
    """
    parser.add_argument("model", metavar="MODEL", help="model file written by `outcomes fit`")
    parser.add_argument("--start", metavar="LEVEL", help="level before lightening, 1 to 10 in half steps")
    parser.add_argument("--goal", metavar="LEVEL", help="level aimed at")
    parser.add_argument(
        "--hair",
        metavar="WORD",
        help="natural, coloured or lightened, today; where today goes on with a course, before its first "
        "session, unless that is told or logged",
    )
    parser.add_argument("--peroxide", metavar="PERCENT", help="developer strength in %% (20 volume is 6)")
    parser.add_argument("--heat", metavar="WORD", help="none, low, medium or high")
    parser.add_argument("--minutes", metavar="MINUTES", help="longest processing time intended, 1 to 180")
    parser.add_argument(
        "--stylist",
        metavar="CODE",
        help="a stylist's code, or `new`; without it, one of the log's stylists by their share of visits",
    )


def add_client(parser: argparse.ArgumentParser) -> None:
    """Options of a client whose earlier sessions are known.

    Parameters
    ----------
    parser : ArgumentParser
    """
    group = parser.add_argument_group("a client whose earlier sessions are known")
    group.add_argument(
        "--past",
        metavar="SESSION",
        action="append",
        help="an earlier session of this client, the oldest first; once for each. "
        "start, achieved, minutes, peroxide, heat and stop are needed; goal (by default today's; of one that "
        "ended at its goal far below, what it reached), hair and stylist may be given",
    )
    group.add_argument("--client", metavar="CODE", help="or the client's code in a log")
    group.add_argument("--log", metavar="LOG", help=f"that log: {LOG_HELP}")
    add_reading_options(group)


def read_plan(args: argparse.Namespace, what: str) -> Asked:
    """The plan, and what is known of its client.

    Parameters
    ----------
    args : Namespace
        With the options of `add_plan` and `add_client`.
    what : str
        That needs the plan, such as "a question".

    Returns
    -------
    Asked

    Raises
    ------
    InputError
        Options that are lacking or don't go together; a value, log or map that can't be used; a client whom
        the log doesn't know.
    ModelFileError
        As `load_model`.
    """
    check_given(args, what, *ASKED)
    _check_client(args)
    from outcomes.answers.earlier import of_the_course, read_past
    from outcomes.answers.question import ask
    from outcomes.predictive.saved import load_model

    predictive = load_model(args.model).lift
    values = [getattr(args, name) for name in (*ASKED, "stylist")]
    question = ask(predictive, *values)
    if args.client is None:
        past = read_past(predictive, question, args.past)
        return Asked(predictive, of_the_course(question, past), past)
    from outcomes.models.client import past_of_client

    log = read_with(args, args.log)
    past = past_of_client(predictive, log, args.client, question.start, question.goal)
    return Asked(predictive, of_the_course(question, past), past)


def _check_client(args: argparse.Namespace) -> None:
    if args.client is not None and args.past:
        raise InputError("--client: found --past beside it; the log has the past; leave out one of them")
    for one, other in (("client", "log"), ("log", "client")):
        if getattr(args, one) is not None and getattr(args, other) is None:
            raise InputError(f"--{one}: found no --{other} beside it; expected both; give the other too")
    need_log(args, args.log)
