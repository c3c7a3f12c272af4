"""Answers in words: chances and counts as people say them, and the cautions."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = [
    "CAUTIONS",
    "FADE_NAMES",
    "FEW_LIKE_THIS",
    "FROM_THE_TRADE",
    "chance",
    "count",
    "held",
    "likely",
    "outside_sentence",
    "percent",
    "sessions_sentence",
    "span",
    "spanned",
]

CAUTIONS = (
    "This describes logged visits, and where they are few what is usual; it prescribes nothing.",
    "Patch test and strand test first.",
    "Follow the product maker's instructions, local rules and licensed practice.",
    "Stop if there is burning, swelling, or hair that stretches and does not spring back.",
    "Never on broken or irritated skin.",
)

FEW_LIKE_THIS = "Few logged visits are like this, so take it with care."

FROM_THE_TRADE = "That is what is usual in the trade, not this salon's own log, so take it with care."

FADE_NAMES = {
    "level": "level of the root shade",
    "tone_left": "share of tone left",
    "delta_e": "colour difference",
}
"""What a measure of fade is called."""

# (below this chance, in words); between 0.175 and 0.925 chances are said in tenths
_RARE = (
    (0.005, "fewer than 1 in 100"),
    (0.015, "about 1 in 100"),
    (0.035, "about 1 in 50"),
    (0.075, "about 1 in 20"),
    (0.125, "about 1 in 10"),
    (0.175, "about 1 in 7"),
)
_SURE = ((0.965, "about 19 in 20"), (0.985, "about 49 in 50"), (0.995, "about 99 in 100"))


def chance(p: float) -> str:
    """A chance as people say it: 0.71 is "about 7 in 10".

    Parameters
    ----------
    p : float
        0 to 1.

    Returns
    -------
    str
    """
    if p < 0.175:
        return next(words for end, words in _RARE if p < end)
    if p < 0.925:
        return f"about {round(10 * p)} in 10"
    return next((words for end, words in _SURE if p < end), "more than 99 in 100")


def percent(p: float) -> str:
    """A chance as a whole percentage; what isn't impossible isn't 0 %, what isn't sure isn't 100 %.

    Parameters
    ----------
    p : float
        0 to 1.

    Returns
    -------
    str
    """
    if 0 < p < 0.005:
        return "<1 %"
    if 0.995 <= p < 1:
        return ">99 %"
    return f"{100 * p:.0f} %"


def likely(p: float) -> str:
    """A chance that simulated clients tell, as a whole percentage: of them all or none isn't sure.

    Parameters
    ----------
    p : float
        0 to 1.

    Returns
    -------
    str
    """
    return percent(min(max(p, 1e-6), 1.0 - 1e-6))


def count(number: int, thing: str = "session") -> str:
    """A number of things.

    Parameters
    ----------
    number : int
    thing : str
        One of them; an s makes several.

    Returns
    -------
    str
    """
    return f"{number:,} {thing}{'' if number == 1 else 's'}"


def span(low: int | None, high: int | None, limit: int) -> str:
    """A band of whole sessions; None lies beyond the limit.

    Parameters
    ----------
    low, high : int or None
        Ends of the band.
    limit : int
        Sessions followed.

    Returns
    -------
    str
    """
    if low is None:
        return f"more than {limit}"
    if high is None:
        return f"{low} or more"
    if high == low:
        return f"{low}"
    return f"{low} or {high}" if high == low + 1 else f"{low} to {high}"


def spanned(low: int | None, high: int | None, limit: int) -> str:
    """The same with the word session.

    Parameters
    ----------
    low, high, limit : as in `span`

    Returns
    -------
    str
    """
    return f"{span(low, high, limit)} session{'' if low == high == 1 else 's'}"


def held(sessions: Sequence[float], low: int | None, high: int | None) -> float:
    """Chance that a band of whole sessions holds.

    Parameters
    ----------
    sessions : sequence of float
        Chances of 1, 2, ..., limit sessions, then of more.
    low, high : int or None
        Ends of the band; None lies beyond the limit.

    Returns
    -------
    float
    """
    return sum(sessions[(low or len(sessions)) - 1 : high])


def sessions_sentence(
    sessions: tuple[float, ...],
    median: int | None,
    low: int | None,
    high: int | None,
    *,
    is_edge: bool,
    is_starter: bool = False,
    is_known: bool = False,
) -> str:
    """How many sessions, in a sentence to say out loud.

    Parameters
    ----------
    sessions : tuple of float
        Chances of 1, 2, ..., limit sessions, then of more.
    median : int or None
        None: beyond the limit.
    low, high : int or None
        Ends of the band.
    is_edge : bool
        Whether few logged visits are like this plan.
    is_starter : bool
        Whether what is usual in the trade stands in for a log.
    is_known : bool
        Whether the client's earlier sessions are known, so that these come on top.

    Returns
    -------
    str
    """
    limit = len(sessions) - 1
    thing, whom, more = "session", "clients like this", ""
    if is_known:
        thing, whom, more = "more session", "clients with such sessions behind them", " more"
    if median is None:
        within = chance(1.0 - sessions[-1])
        said = f"More than {count(limit, thing)}, most likely; {within} {whom} are done within {limit}."
    else:
        sure = "most likely" if sessions[median - 1] >= max(sessions) else "as a middle"
        said = f"{count(median, thing)}, {sure}; "
        if low == 1 and high is None:  # the band leaves nothing out, and a chance that it holds says nothing
            said += f"but anything from 1 to more than {count(limit, thing)} may be needed."
        else:
            band = "just that" if low == high == median else span(low, high, limit) + more
            said += f"{chance(held(sessions, low, high))} {whom} need {band}."
    said += f" Done today: {chance(sessions[0])}."
    if is_starter:
        return f"{said} {FROM_THE_TRADE}"
    return said + (f" {FEW_LIKE_THIS}" if is_edge else "")


def outside_sentence(
    so: str = "no number of sessions can be named; test a strand and plan from session to session",
    *,
    is_starter: bool = False,
) -> str:
    """The sentence for a plan that isn't covered: it must not hold a number.

    Parameters
    ----------
    so : str
        What can't be said, and what to do.
    is_starter : bool
        Whether starter values, not a log, would have to cover it.

    Returns
    -------
    str
    """
    reach = "what is usual in the trade" if is_starter else "what the log covers"
    return f"This plan is outside {reach}, so {so}."
