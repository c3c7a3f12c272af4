"""Ways of working side by side, as plain text for a terminal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from string import ascii_uppercase

from outcomes.answers.compare import NO_ADVICE, CompareAnswer, Option, Pair
from outcomes.answers.wording import CAUTIONS, likely, percent, span, spanned
from outcomes.show.plan_text import wrapped
from outcomes.show.sessions_text import facts

__all__ = ["compare_text"]

_HEADINGS = (
    ("", "done", "", "80 %", "level after", "stopped"),
    ("", "today", "sessions", "band", "the first", "early"),
)


def compare_text(answer: CompareAnswer, besides: Sequence[Sequence[str]] = ()) -> str:
    """A line for each way of working, then what each pair comes to, what it rests on, cautions.

    Parameters
    ----------
    answer : CompareAnswer
    besides : sequence of sequence of str
        Of each option, lines about chair time, price, calendar, condition.

    Returns
    -------
    str
        Several lines; no chance of what the log doesn't cover.
    """
    letters = {option.name: letter for option, letter in zip(answer.options, ascii_uppercase, strict=False)}
    covered = [one for one in answer.options if one.answer.support != "outside"]
    rows = [*_HEADINGS, *(_row(letters[option.name], option) for option in covered)]
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    lines = ["The same hair on the same days, worked in different ways:", ""]
    for option in answer.options:
        lines.append(f"  {letters[option.name]}  {option.name}{_support(option)}")
        lines += [f"     why: {note}" for note in option.answer.support_notes]
        if option.answer.support == "outside":
            own = option.answer
            lines.append(f"     wide band: {spanned(own.band_low, own.band_high, own.limit)}")
    if covered:
        lines += ["", *(_line(row, widths) for row in rows), ""]
        lines.append("  sessions: the middle; early: for the hair's condition, before the time was over")
    if answer.pairs:
        lines += ["", *(f"  {_pair(pair, letters)}" for pair in answer.pairs)]
    for option, more in zip(answer.options, besides, strict=False):
        lines += ["", f"  {letters[option.name]}  {option.name}", *more] if more else []
    own = answer.options[0].answer
    lines += ["", *facts(own, brief=True), "", f"  ! {NO_ADVICE}", *(f"  ! {one}" for one in CAUTIONS)]
    return "\n".join(wrapped(line) for line in lines)


def _support(option: Option) -> str:
    found = {"outside": ": outside what the log covers", "edge": ": few logged visits are like this"}
    return found.get(option.answer.support, "")


def _row(letter: str, option: Option) -> tuple[str, ...]:
    answer = option.answer
    level = answer.levels[0]
    return (
        letter,
        percent(answer.today),
        f"more than {answer.limit}" if answer.median is None else str(answer.median),
        span(answer.band_low, answer.band_high, answer.limit),
        f"{level.median:g} ({level.span})",
        likely(option.stopped),
    )


def _line(row: Sequence[str], widths: Sequence[int]) -> str:
    cells = [cell.rjust(width) for cell, width in zip(row, widths, strict=True)]
    return "  " + "   ".join(cells).rstrip()


def _pair(pair: Pair, letters: Mapping[str, str]) -> str:
    first, second = letters[pair.first], letters[pair.second]
    return (
        f"{first} takes fewer sessions than {second} for {likely(pair.fewer)} of such clients, as many for "
        f"{likely(pair.equal)}, more for {likely(pair.more)}"
    )
