"""The answer about sessions as plain text for a terminal."""

from __future__ import annotations

import re
import textwrap

from outcomes.answers.sessions_answer import SessionsAnswer
from outcomes.answers.wording import CAUTIONS, chance, count, held, percent, spanned

__all__ = ["facts", "plan_in_words", "rests_on", "sessions_table", "sessions_text", "wrapped"]

WIDTH = 80
BAR = 32  # characters of a chance of 1
_KEPT = "\N{NO-BREAK SPACE}"
SHOWN = 0.005  # numbers of sessions rarer than this at the far end share a line


def sessions_text(answer: SessionsAnswer, *, bar: str = "█") -> str:
    """Sentence, table with bars, what it rests on, cautions.

    Parameters
    ----------
    answer : SessionsAnswer
    bar : str
        One character that bars are drawn with.

    Returns
    -------
    str
        Several lines, the sentence first; no chances where the plan is outside the log.
    """
    outside = answer.support == "outside"
    lines = [answer.sentence, ""]
    lines += [f"  why: {note}" for note in answer.support_notes]
    if outside:
        wide = spanned(answer.band_low, answer.band_high, answer.limit)
        lines += [f"  wide band     {wide} ({round(100 * answer.band_coverage)} % band and one more)", ""]
    else:
        lines += [""] if answer.support_notes else []
        lines += [*(f"  {line}".rstrip() for line in sessions_table(answer, bar=bar)), ""]
        lines += [*_levels(answer), ""]
    lines += facts(answer)
    lines += ["", *(f"  ! {caution}" for caution in CAUTIONS)]
    return "\n".join(wrapped(line) for line in lines)


def wrapped(line: str) -> str:
    """A line no wider than a terminal, what runs over standing under where the first line's words begin.

    Parameters
    ----------
    line : str

    Returns
    -------
    str
        One line or several.
    """
    start = re.match(r" *(?:(?:\d+ % )?[a-z]+(?: [a-z]+)?   +|! |why: |note: |line \d+: )?", line)
    indent = " " * (start.end() if start else 0)
    kept = re.sub(r"(?<=\d) %", f"{_KEPT}%", line)  # a number and its % stay together
    return textwrap.fill(kept, WIDTH, subsequent_indent=indent, break_long_words=False).replace(_KEPT, " ")


def sessions_table(answer: SessionsAnswer, *, bar: str = "█") -> list[str]:
    """Chances with bars, the band, the chance today, a line each.

    Parameters
    ----------
    answer : SessionsAnswer
        Not outside the log.
    bar : str
        One character that bars are drawn with.

    Returns
    -------
    list of str
    """
    shown = len(answer.sessions) - 1
    while shown > 1 and sum(answer.sessions[shown - 1 :]) < SHOWN:
        shown -= 1
    rows = [(f"in {count(k)}", answer.sessions[k - 1]) for k in range(1, shown + 1)]
    if (rest := sum(answer.sessions[shown:])) > 0:
        rows.append((f"in {shown + 1} or more", rest))
    low, high = answer.band_low, answer.band_high
    lines = [f"{name:<14}{percent(p):>6}  {bar * round(BAR * p)}".rstrip() for name, p in rows]
    lines.append("")
    coverage = round(100 * answer.band_coverage)
    lines.append(
        f"{f'{coverage} % band':<12}  {spanned(low, high, answer.limit)}; in whole sessions it holds for "
        f"{chance(held(answer.sessions, low, high))} clients"
    )
    source = "starter values" if answer.basis.starter else "this log"
    lines.append(
        f"today         {percent(answer.today)} reach the goal; as far as {source} can tell, "
        f"{percent(answer.today_low)} to {percent(answer.today_high)} ({round(100 * answer.coverage)} % band)"
    )
    return lines


def _levels(answer: SessionsAnswer) -> list[str]:
    lines = ["  level read after each session (middle; most lie between)"]
    for level in answer.levels:
        band = f"{level.low:g} to {level.high:g}"
        lines.append(f"    {level.session:<10}  {level.median:<5g} {band:<12}for {chance(level.holds)}")
        if level.low >= answer.question.goal:
            break
    return lines


def plan_in_words(answer: SessionsAnswer) -> str:
    """What was asked.

    Parameters
    ----------
    answer : SessionsAnswer

    Returns
    -------
    str
    """
    asked = answer.question
    anybody = "one of this log's stylists" if answer.basis.visits else "a stylist"
    whose = {None: anybody, "new": "a stylist new to this log"}
    who = whose.get(asked.stylist, f"stylist {asked.stylist}")
    return (
        f"level {asked.start:g} to {asked.goal:g}, {asked.hair} hair, {asked.peroxide:g} % developer, "
        f"{'no' if asked.heat == 'none' else asked.heat} heat, at most {asked.minutes:g} minutes, {who}"
    )


def facts(answer: SessionsAnswer, *, brief: bool = False) -> list[str]:
    """What was asked, what it rests on, whether the log covers it.

    Parameters
    ----------
    answer : SessionsAnswer
    brief : bool
        False: also what was averaged over.

    Returns
    -------
    list of str
        A line each, not wrapped.
    """
    covered = {"inside": "well within what the log covers", "edge": "at the edge of what the log covers"}
    said = covered.get(answer.support, "the log does not cover this")
    if answer.basis.starter:
        said = said.replace("what the log covers", "what is usual in the trade")
        said = said.replace("the log does not cover this", "beyond what is usual in the trade")
    return [
        f"  asked         {plan_in_words(answer)}; every session alike",
        *([] if brief else _particulars(answer)),
        f"  rests on      {rests_on(answer)}",
        f"  support       {answer.support}: {said}",
    ]


def rests_on(answer: SessionsAnswer) -> str:
    """How much was logged, and whether it was checked.

    Parameters
    ----------
    answer : SessionsAnswer

    Returns
    -------
    str
    """
    basis = answer.basis
    checked = "checked out of sample" if basis.calibrated else "not yet checked out of sample"
    visits, clients, stylists = (
        count(n, thing)
        for n, thing in ((basis.visits, "visit"), (basis.clients, "client"), (basis.stylists, "stylist"))
    )
    starter = "starter values of the trade, no source; " if basis.starter else ""
    return f"{starter}{visits}, {clients}, {stylists}; {checked}"


def _particulars(answer: SessionsAnswer) -> list[str]:
    asked, lines = answer.question, []
    for column, shares in answer.averaged.items():
        said = ", ".join(f"{value} ({percent(p)})" for value, p in shares.items())
        lines.append(f"  not asked     {column.replace('_', ' ')}: {said}")
    if answer.averaged:
        lines.append(f"                averaged over the log's visits with {asked.hair} hair")
    looks = answer.look_minutes
    if looks is None:
        lines.append("  looks         none before the rinse")
    else:
        every = f"{looks[0]:g}" if looks[0] == looks[1] else f"{looks[0]:.0f} to {looks[1]:.0f}"
        whence = "the usual (no source): the log has none" if answer.looks_assumed else "as in the log"
        lines.append(f"  looks         every {every} minutes, {whence}")
    first, later = answer.condition_drops
    if first is not None:
        after = "" if later is None else f", {later:.1f} in a later one"
        lines.append(
            f"  condition     falls by {first:.1f} of 5 points in a first session{after}, on average"
        )
    return lines
