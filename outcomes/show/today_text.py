"""One session look by look, as plain text for a terminal."""

from __future__ import annotations

from outcomes.answers.today import LookAhead, TodayAnswer
from outcomes.answers.wording import CAUTIONS, likely
from outcomes.show.plan_text import client_lines, plan_in_words, rests_on, support_in_words, wrapped

__all__ = ["today_text"]


def today_text(answer: TodayAnswer) -> str:
    """Sentence, a line for each look, what it rests on, cautions.

    Parameters
    ----------
    answer : TodayAnswer

    Returns
    -------
    str
        No middle and no chance of what the log doesn't cover.
    """
    outside = answer.support == "outside"
    lines = [answer.sentence, "", *(f"  why: {note}" for note in answer.support_notes)]
    lines += [""] if answer.support_notes else []
    if outside:
        last = answer.looks[-1]
        after = f"{last.minutes:g} minute{'' if last.minutes == 1 else 's'}"
        lines.append(f"  wide band     level {last.level.span} after {after}")
    else:
        lines.append("  minutes   level read   most read      goal read by then")
        lines += [_line(look, is_last=look is answer.looks[-1]) for look in answer.looks]
        lines += ["", "  * worth a look: at least 1 in 20 such clients would be read at the goal"]
        lines.append("  Levels are of hair that's left so long; a session ends once the goal is read.")
        lines.append(
            "  These minutes are about the level alone; look as often as the maker and the hair ask."
        )
    lines += [
        "",
        f"  asked         {plan_in_words(answer)}",
        *client_lines(answer.past, answer.rate, answer.question),
        f"  rests on      {rests_on(answer)}",
        f"  support       {support_in_words(answer)}",
        "",
        *(f"  ! {caution}" for caution in CAUTIONS),
    ]
    return "\n".join(wrapped(line) for line in lines)


def _line(look: LookAhead, *, is_last: bool) -> str:
    level = look.level
    star = "rinse" if is_last else "*" if look.is_worth else ""
    reached = likely(look.reached)
    return f"  {look.minutes:>7g}   {level.median:<10g}   {level.span:<12}   {reached:>5}  {star}".rstrip()
