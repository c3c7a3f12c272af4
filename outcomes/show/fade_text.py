"""Answers about fade as plain text for a terminal, numbers rounded as people say them."""

from __future__ import annotations

import math

from outcomes.answers.aftercare import AftercareAnswer
from outcomes.answers.fade_answer import FadeAnswer, Ratio
from outcomes.answers.fading import Band
from outcomes.answers.refresh import RefreshAnswer
from outcomes.answers.root_shade import RootShadeAnswer
from outcomes.answers.study_size import StudySizeAnswer
from outcomes.answers.wording import CAUTIONS, count, percent
from outcomes.predictive.distribution import Basis
from outcomes.show.sessions_text import wrapped

__all__ = ["aftercare_text", "fade_text", "refresh_text", "root_shade_text", "study_size_text"]

_UNTIL = {
    "level": "washes until one level is gone",
    "tone_left": "washes until half the tone is gone",
    "delta_e": "washes until a difference of 3",
}
_AMOUNT = {
    "level": "levels lighter",
    "tone_left": "tone left",
    "delta_e": "difference of colour (CIEDE2000)",
}
_HEADING = {"level": "levels lighter", "tone_left": "tone left", "delta_e": "difference"}


def fade_text(answer: FadeAnswer) -> str:
    """Table of shades, ratios, what missing clients could change.

    Parameters
    ----------
    answer : FadeAnswer

    Returns
    -------
    str
    """
    return _lines([*_fade_lines(answer), "", *_closing(answer.notes, answer.basis)])


def root_shade_text(answer: RootShadeAnswer) -> str:
    """Sentence, candidates with their chances, cautions.

    Parameters
    ----------
    answer : RootShadeAnswer

    Returns
    -------
    str
    """
    lines = [answer.sentence, "", f"  {'root shade':<14}{'level then':<24}{'still blends':<14}log"]
    for one in answer.candidates:
        then = (
            f"{_half(one.level_then.median)}  ({_half(one.level_then.low)} to {_half(one.level_then.high)})"
        )
        shown = percent(one.blends) if one.support != "outside" else "-"
        mark = "  <- choice" if one is answer.choice else ""
        lines.append(f"  {one.root_level:<4g}{one.root_tone:<10}{then:<24}{shown:<14}{one.support}{mark}")
    lines += [
        "",
        f"  Blending means level {answer.natural:g} to {answer.limit:g} after {answer.washes:g} washes; "
        "bands hold 8 times in 10.",
    ]
    if answer.choice is not None:
        slow, fast = (percent(p) for p in answer.choice.moved)
        lines.append(
            f"  {percent(answer.missing)} of clients with a root shade were never read after washes. "
            f"If they fade a quarter more slowly, the chosen shade blends {slow} of the time; "
            f"a quarter faster, {fast}."
        )
    lines += ["", *_closing(answer.notes, answer.basis), *(f"  ! {caution}" for caution in CAUTIONS)]
    return _lines(lines)


def refresh_text(answer: RefreshAnswer) -> str:
    """Sentence, washes and weeks, what missing clients could change, cautions.

    Parameters
    ----------
    answer : RefreshAnswer

    Returns
    -------
    str
    """
    lines = [
        answer.sentence,
        "",
        f"  washes   {_washes(answer.washes)}",
        f"  weeks    {_washes(answer.weeks)}",
        f"  never    {percent(answer.never)} of such hair never fades so far",
    ]
    moved = [_said(band.median) for _, band, _ in answer.dropout]
    lines += [
        "",
        f"  {percent(answer.missing)} of clients who had it were never read after washes. If they fade a "
        f"quarter more slowly, half are there after {moved[0]} washes; a quarter faster, after {moved[1]}.",
    ]
    lines += ["", *_closing(answer.notes, answer.basis), *(f"  ! {caution}" for caution in CAUTIONS)]
    return _lines(lines)


def aftercare_text(answer: AftercareAnswer) -> str:
    """Fade by shampoo at the roots and at the lengths, cautions.

    Parameters
    ----------
    answer : AftercareAnswer

    Returns
    -------
    str
    """
    lines: list[str] = []
    for one in answer.answers:
        lines += [*_fade_lines(one), "", *_closing(one.notes, one.basis), ""]
    lines += [f"  note: {why}" for why in answer.left_out]
    return _lines([*lines, *(f"  ! {caution}" for caution in CAUTIONS)])


def study_size_text(answer: StudySizeAnswer) -> str:
    """Sentence, and what it rests on.

    Parameters
    ----------
    answer : StudySizeAnswer

    Returns
    -------
    str
    """
    lines = [
        answer.sentence,
        "",
        f"  readings       {answer.total_readings} for each shade, two-sided test at 5 %",
        f"  between        clients differ by an sd of {answer.sd_between:.2f} on log rate, visits included",
        f"  one reading    tells log rate to {answer.sd_reading:.2f}; two of one client correlate "
        f"{answer.intraclass:.2f}",
        f"  design effect  {answer.design_effect:.1f}: {count(answer.readings, 'reading')} of one client "
        f"tell as much as {answer.readings / answer.design_effect:.1f} of different clients",
        "",
    ]
    return _lines([*lines, *_closing(answer.notes, answer.basis)])


def _fade_lines(answer: FadeAnswer) -> list[str]:
    by, measure = answer.by.replace("_", " "), answer.measure
    names = {row.shade: row.shade.replace("_", "-") for row in answer.rows}
    width = max(map(len, names.values())) + 2
    lines = [
        f"Fade by {by}: {_AMOUNT[measure]} after {answer.washes:g} washes; 8 new clients in 10 lie "
        "within a band",
        "",
        f"  {'':<{width}}{_HEADING[measure]:<20}{_UNTIL[measure]:<36}clients",
    ]
    for row in answer.rows:
        thin = "" if row.support == "inside" else f"  ({row.support}: {count(row.visits, 'visit')})"
        faded, until = _faded(measure, row.fade), _washes(row.until)
        lines.append(f"  {names[row.shade]:<{width}}{faded:<20}{until:<36}{row.clients}{thin}")
    reference = names[answer.reference]
    lines += ["", f"Rates of fade against {reference}, bands that all hold at once 95 times in 100", ""]
    lines += [
        _ratio(row.ratio, names[row.shade], width) for row in answer.rows if row.shade != answer.reference
    ]
    if answer.pairs:
        pairs = [f"{names[one.shade]} / {names[one.reference]}" for one in answer.pairs]
        wide = max(map(len, pairs)) + 2
        lines += ["", "Every two shades, bands that all hold at once 95 times in 100", ""]
        lines += [_ratio(one, name, wide) for one, name in zip(answer.pairs, pairs, strict=True)]
    if answer.margin is not None:
        within = percent(answer.margin)
        lines += ["", f"  alike: shown to lie within {within} of each other (two one-sided tests at 5 %)"]
    lines += ["", "The middle if clients who were never read fade a quarter more slowly, or faster", ""]
    for slow, fast in zip(answer.dropout[::2], answer.dropout[1::2], strict=True):
        middles = (_figure(measure, one.fade.median) for one in (slow, fast))
        never = f"{percent(slow.missing)} were never read"
        lines.append(f"  {names[slow.shade]:<{width}}{' or '.join(middles)}; {never}")
    return lines


def _ratio(one: Ratio, name: str, width: int) -> str:
    alike = ""
    if one.equivalent is not None:
        alike = "  alike" if one.equivalent else "  not shown to be alike"
    return f"  {name:<{width}}x {one.value:.2f}  {one.low:.2f} to {one.high:.2f}{alike}"


def _closing(notes: tuple[str, ...], basis: Basis) -> list[str]:
    rests = f"  rests on {count(basis.visits, 'visit')} of {count(basis.clients, 'client')} read after washes"
    checked = "bands checked on clients left out" if basis.calibrated else "bands not checked"
    return [f"{rests}; {checked}", *(f"  note: {note}" for note in notes)]


def _figure(measure: str, progress: float | None) -> str:
    """Progress as people say it: of a tone what is left."""
    if progress is None:
        return "?"
    return f"{100.0 * math.exp(-progress):.0f} %" if measure == "tone_left" else f"{progress:.1f}"


def _faded(measure: str, band: Band) -> str:
    ends = (band.high, band.low) if measure == "tone_left" else (band.low, band.high)
    low, high = (_figure(measure, end).removesuffix(" %") for end in ends)
    return f"{_figure(measure, band.median)}  ({low} to {high})"


def _half(level: float | None) -> str:
    """A level to the half step."""
    return "?" if level is None else f"{round(2 * level) / 2:g}"


def _said(washes: float | None) -> str:
    return "no number of" if washes is None else f"{washes:.0f}"


def _washes(band: Band) -> str:
    if band.median is None:
        return "more often than not never"
    high = "never" if band.high is None else f"{band.high:.0f}"
    return f"{band.median:.0f}  ({band.low:.0f} to {high})"


def _lines(lines: list[str]) -> str:
    return "\n".join(line if len(line) <= 80 else wrapped(line) for line in lines)
