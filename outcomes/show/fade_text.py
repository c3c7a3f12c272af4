"""Answers about fade as plain text for a terminal, numbers rounded as people say them."""

from __future__ import annotations

import math
from typing import Protocol

from outcomes.answers.aftercare import AftercareAnswer
from outcomes.answers.fade_answer import FadeAnswer, Ratio
from outcomes.answers.fading import Band
from outcomes.answers.refresh import RefreshAnswer
from outcomes.answers.refresh import if_missing as refresh_if_missing
from outcomes.answers.root_shade import RootShadeAnswer, if_missing
from outcomes.answers.study_size import StudySizeAnswer
from outcomes.answers.wording import CAUTIONS, count, likely, percent
from outcomes.predictive.distribution import Basis
from outcomes.show.plan_text import wrapped

__all__ = ["aftercare_text", "fade_text", "refresh_text", "root_shade_text", "study_size_text"]

_UNTIL = {
    "level": "washes to a level lighter",
    "tone_left": "washes to half the tone",
    "delta_e": "washes to a difference of 3",
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
    return _lines([*_fade_lines(answer), "", *_closing(answer)])


def root_shade_text(answer: RootShadeAnswer) -> str:
    """Sentence, candidates with their chances, cautions.

    Parameters
    ----------
    answer : RootShadeAnswer

    Returns
    -------
    str
    """
    lines = [answer.sentence, "", f"  {'root shade':<14}{'level then':<22}{'still blends':<14}read before"]
    for one in answer.candidates:
        shown = likely(one.blends) if one.support != "outside" else "-"
        read = f"{one.visits}, {one.support}" if one.support != "inside" else f"{one.visits}"
        mark = "  <- choice" if one is answer.choice else ""
        then = _faded("level", one.level_then)
        lines.append(f"  {one.root_level:<4g}{one.root_tone:<10}{then:<22}{shown:<14}{read}{mark}")
    lines += [
        "",
        f"  Blending means level {answer.natural:g} to {answer.limit:g} after {answer.washes:g} washes; "
        "bands hold 8 times in 10.",
    ]
    if answer.told is not None:
        lines.append(f"  {if_missing(answer.told)}")
    lines += ["", *_closing(answer), *(f"  ! {caution}" for caution in CAUTIONS)]
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
    bands = (("washes", answer.washes), ("weeks", answer.weeks))
    outside = answer.support == "outside"
    lines = [answer.sentence, ""]
    lines += [f"  {name:<7}{_washes(band, outside)}" for name, band in bands]
    if answer.never > 0 and not outside:
        lines.append(f"  {likely(answer.never)} of such hair never fades so far")
    told = "" if outside else f" {refresh_if_missing(answer)}"
    lines += ["", f"  {percent(answer.missing)} of clients who had it were never read after washes.{told}"]
    lines += ["", *_closing(answer), *(f"  ! {caution}" for caution in CAUTIONS)]
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
        lines += [*_fade_lines(one), "", *_closing(one), ""]
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
    return _lines([*lines, *_closing(answer)])


def _fade_lines(answer: FadeAnswer) -> list[str]:
    by, measure = answer.by.replace("_", " "), answer.measure
    names = {row.shade: row.shade.replace("_", "-") for row in answer.rows}
    width = max(map(len, names.values())) + 2
    lines = [
        f"Fade by {by}: {_AMOUNT[measure]} after {answer.washes:g} washes; 8 new clients in 10 lie "
        "within a band",
        "",
        f"  {'':<{width}}{_HEADING[measure]:<20}{_UNTIL[measure]:<29}clients",
    ]
    for row in answer.rows:
        thin = "" if row.support == "inside" else f", {row.support}"
        faded, until = _faded(measure, row.fade), _washes(row.until, row.support == "outside")
        lines.append(f"  {names[row.shade]:<{width}}{faded:<20}{until:<29}{row.clients}{thin}")
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
        lines += [
            "",
            f"  alike: each by itself shown to lie within {within} of the other (two one-sided tests at 5 %, "
            "so by its 90 % band, which is narrower than the one shown)",
        ]
    lines += ["", "The middles if clients who were never read fade a quarter more slowly, or faster", ""]
    for slow, fast in zip(answer.dropout[::2], answer.dropout[1::2], strict=True):
        middles = " or ".join(_figure(measure, one.fade.median) for one in (slow, fast))
        washes = " or ".join(_said(one.until.median) for one in (slow, fast))
        never = f"{percent(slow.missing)} were never read"
        lines.append(f"  {names[slow.shade]:<{width}}{middles:<20}{washes:<29}{never}")
    return lines


def _ratio(one: Ratio, name: str, width: int) -> str:
    alike = ""
    if one.alike is not None:
        alike = "  alike" if one.alike.equivalent else "  not shown to be alike"
    return f"  {name:<{width}}x {one.value:.2f}  {one.low:.2f} to {one.high:.2f}{alike}"


class _Told(Protocol):
    @property
    def notes(self) -> tuple[str, ...]: ...

    @property
    def basis(self) -> Basis: ...


def _closing(answer: _Told) -> list[str]:
    """What it rests on, and notes about the answer; those about the fit are `outcomes effects`' to tell."""
    basis = answer.basis
    rests = f"  rests on {count(basis.visits, 'visit')} of {count(basis.clients, 'client')} read after washes"
    checked = "bands checked on clients left out" if basis.calibrated else "bands not checked"
    return [f"{rests}; {checked}", *(f"  note: {note}" for note in answer.notes)]


def _figure(measure: str, progress: float | None) -> str:
    """Progress as people say it: of a tone what is left."""
    if progress is None:
        return "-"
    return f"{100.0 * math.exp(-progress):.0f} %" if measure == "tone_left" else f"{progress:.1f}"


def _faded(measure: str, band: Band) -> str:
    ends = (band.high, band.low) if measure == "tone_left" else (band.low, band.high)
    low, high = (_figure(measure, end).removesuffix(" %") for end in ends)
    return f"{_figure(measure, band.median)}  ({low} to {high})"


def _said(washes: float | None) -> str:
    return "never" if washes is None else f"{washes:.0f}"


def _washes(band: Band, outside: bool = False) -> str:
    """Washes or weeks; of what the log doesn't cover the band alone."""
    low = "never" if band.low is None else f"{band.low:.0f}"
    high = "never" if band.high is None else f"{band.high:.0f}"
    if outside:
        return f"-  ({low} to {high})"
    if band.median is None:
        return "more often than not never"
    return f"{band.median:.0f}  ({low} to {high})"


def _lines(lines: list[str]) -> str:
    return "\n".join(line if len(line) <= 80 else wrapped(line) for line in lines)
