"""The answer about sessions as plain text for a terminal."""

from __future__ import annotations

from collections.abc import Sequence

from outcomes.answers.sessions_answer import KnownSessionsAnswer, SessionsAnswer
from outcomes.answers.wording import CAUTIONS, chance, count, held, percent, spanned
from outcomes.show.plan_text import client_lines, plan_in_words, rests_on, support_in_words, wrapped

__all__ = ["facts", "sessions_table", "sessions_text"]

BAR = 32  # characters of a chance of 1
SHOWN = 0.005  # numbers of sessions rarer than this at the far end share a line


def sessions_text(
    answer: SessionsAnswer, *, bar: str = "█", besides: Sequence[str] = (), tells_condition: bool = False
) -> str:
    """Sentence, table with bars, what a course takes, what it rests on, cautions.

    Parameters
    ----------
    answer : SessionsAnswer
    bar : str
        One character that bars are drawn with.
    besides : sequence of str
        Lines about chair time, price, calendar, condition.
    tells_condition : bool
        Whether they tell of strand condition; what a session takes off it on average is left out then, since
        it comes from another model.

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
        said = f"  wide band     {wide}"
        if answer.band_high is not None:
            said += f" ({round(100 * answer.band_coverage)} % band and one more)"
        lines += [said, ""]
    else:
        lines += [""] if answer.support_notes else []
        lines += [*(f"  {line}".rstrip() for line in sessions_table(answer, bar=bar)), ""]
        lines += [*_levels(answer), ""]
    lines += [*besides, ""] if besides else []
    lines += facts(answer, tells_condition=tells_condition)
    lines += ["", *(f"  ! {caution}" for caution in CAUTIONS)]
    return "\n".join(wrapped(line) for line in lines)


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
    shown: tuple[float, ...] = ()
    for level in answer.levels:
        if (level.median, level.low, level.high) == shown:
            break
        shown = (level.median, level.low, level.high)
        lines.append(f"    {level.session:<10}  {level.median:<5g} {level.span:<12}for {chance(level.holds)}")
        if level.low >= answer.question.goal:
            break
    return lines


def facts(answer: SessionsAnswer, *, brief: bool = False, tells_condition: bool = False) -> list[str]:
    """What was asked, what it rests on, whether the log covers it.

    Parameters
    ----------
    answer : SessionsAnswer
    brief : bool
        False: also what was averaged over.
    tells_condition : bool
        Whether an answer about strand condition stands beside it.

    Returns
    -------
    list of str
        A line each, not wrapped.
    """
    return [
        f"  asked         {plan_in_words(answer)}; every session alike",
        *(
            client_lines(answer.past, answer.rate, answer.question)
            if isinstance(answer, KnownSessionsAnswer)
            else []
        ),
        *([] if brief else _particulars(answer)),
        *([] if brief or tells_condition else _condition(answer)),
        f"  rests on      {rests_on(answer)}",
        f"  support       {support_in_words(answer)}",
    ]


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
    return lines


def _condition(answer: SessionsAnswer) -> list[str]:
    first, later = answer.condition_drops
    if first is None:
        return []
    after = "" if later is None else f", {later:.1f} in a later one"
    return [f"  condition     falls by {first:.1f} of 5 points in a first session{after}, on average"]
