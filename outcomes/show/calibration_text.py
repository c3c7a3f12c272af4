"""Are the bands honest? The audit in words, for somebody who isn't a statistician."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from outcomes.answers.wording import FADE_NAMES, count
from outcomes.show.plan_text import wrapped

__all__ = [
    "EYES",
    "FADED",
    "LIMITS",
    "calibration_text",
    "fade_calibration_text",
    "flag_sentence",
    "rescaled",
    "verdict",
]

Row = Mapping[str, Any]

_STEPS = {"level": "half steps", "tone_left": "steps of 25 %", "delta_e": ""}  # a colorimeter has none

FADED = ("less faded", "more faded")
_READING = {"first": "first readings", "later": "later readings"}


def calibration_text(audit: Mapping[str, Any], effects: Mapping[str, Any]) -> str:
    """The audit as plain text for a terminal.

    Parameters
    ----------
    audit : mapping
        From `Audit.to_dict`.
    effects : mapping
        Those of the model: "shape", and "other" and "reading_bias" where there are any.

    Returns
    -------
    str
    """
    lines = [verdict(audit), ""]
    lines += _coverage(audit["coverage"])
    if audit["flags"]:
        lines += ["", "What is off", ""]
        lines += [f"  ! {flag_sentence(flag)}" for flag in audit["flags"]]
    if "reach" in audit:
        lines += ["", *_reach(audit["reach"]), "", *_sessions(audit["sessions"])]
        lines += ["", *_scores(audit["scores"])]
    lines += ["", "What the check changed", "", *(f"  {line}" for line in rescaled(audit["recalibration"]))]
    other = effects.get("other", {})
    if "score_difference" in other:
        lines.append(f"  {_shapes(effects['shape']['family'], other)}")
    biases = effects.get("reading_bias", [])
    if biases:
        lines += ["", "How light each eye reads, by colorimeter, against the team's", ""]
        lines += [f"  {_bias(row)}" for row in biases]
    lines += ["", *(f"  note: {note}" for note in audit["notes"])] if audit["notes"] else []
    limits = LIMITS if biases else (*LIMITS, EYES)
    lines += ["", "What no check can promise", "", *(f"  {line}" for line in limits)]
    return "\n".join(wrapped(line) for line in lines)


def fade_calibration_text(measure: str, audit: Mapping[str, Any], effects: Mapping[str, Any]) -> str:
    """The audit of one measure of fade, as `calibration_text` does it.

    Parameters
    ----------
    measure : {"level", "tone_left", "delta_e"}
    audit, effects : mapping

    Returns
    -------
    str
    """
    lines = [f"Fade by {FADE_NAMES[measure]}", "", verdict(audit), ""]
    lines += _coverage(audit["coverage"], _STEPS[measure])
    if audit["flags"]:
        lines += ["", "What is off", "", *(f"  ! {flag_sentence(flag, FADED)}" for flag in audit["flags"])]
    lines += ["", "What the check changed", "", *(f"  {line}" for line in rescaled(audit["recalibration"]))]
    other = effects.get("other", {})
    if "score_difference" in other:
        lines.append(f"  {_shapes(effects['shape']['family'], other)}")
    lines += ["", *(f"  note: {note}" for note in audit["notes"])] if audit["notes"] else []
    return "\n".join(wrapped(line) for line in lines)


LIMITS = (
    "These are this log's clients, worked on as its stylists work. Another salon, another product line or "
    "another way of reading levels needs a log of its own.",
)
EYES = (
    "Bias by eye can't be told from speed of lift: a stylist who reads results light seems to lift fast. "
    "Some hair measured with a colorimeter (columns start_L and achieved_L) would tell them apart."
)


def verdict(audit: Mapping[str, Any]) -> str:
    """One sentence: how often the 80 % band held for new clients, and whether anything is off.

    Parameters
    ----------
    audit : mapping
        From `Audit.to_dict`.

    Returns
    -------
    str
    """
    found = [row for row in audit["coverage"] if row["nominal"] == 0.8 and row["reading"] == "first"]
    row = next((row for row in found if row["group"] == "new clients"), None)
    if row is None:
        return "Too few clients came to check the bands on."
    clients = count(row["n"], "client")
    held = (
        f"A band meant to hold 8 times in 10 held {_percent(row['observed'])} of the time (as far as chance "
        f"goes, {_percent(row['low'])} to {_percent(row['high'])}) for {clients} whom the model hadn't seen."
    )
    off = len({flag["group"] for flag in audit["flags"]})
    if not off:
        if row["low"] <= row["nominal"] <= row["high"]:
            return f"{held} No band is off by more than chance allows."
        return f"{held} That is more than chance, and too little to warn of."
    return f"{held} {'One group is' if off == 1 else f'{off} groups are'} off: see below."


def flag_sentence(flag: Row, words: tuple[str, str] = ("darker", "lighter")) -> str:
    """What is off with a group, in a sentence.

    Parameters
    ----------
    flag : mapping
        A row of `flags`.
    words : (str, str)
        How hair reads whose progress is less than expected, and more.

    Returns
    -------
    str
    """
    who = f"{flag['group']}, {_READING[flag['reading']]} ({count(flag['n'], 'client')})"
    if flag["what"] == "coverage":
        narrow = flag["observed"] < flag["expected"]
        said = "too narrow" if narrow else "wider than need be"
        return f"{who}: the 80 % band held {_percent(flag['observed'])} of the time, so it is {said}."
    darker = flag["observed"] < flag["expected"]
    share = 1.0 - flag["observed"] if darker else flag["observed"]
    return (
        f"{who}: hair read {words[0] if darker else words[1]} than expected; what came lay "
        f"{'below' if darker else 'above'} {_percent(share)} of what was thought possible, not half."
    )


def rescaled(changed: Mapping[str, Any]) -> list[str]:
    """What recalibration did, a line each.

    Parameters
    ----------
    changed : mapping
        `recalibration` of an audit.

    Returns
    -------
    list of str
    """
    if not changed.get("clients"):
        return ["nothing: there was too little to rescale bands by"]
    lines = [
        f"spread between visits times {changed['spread']:.2f}; error of a reading times "
        f"{changed['reading']:.2f}; from {count(changed['clients'], 'client')}"
    ]
    if changed["df"] is not None:
        lines.append(
            "far-off rates are likelier than a normal distribution has it: Student's t with "
            f"{changed['df']:g} degrees of freedom"
        )
    if changed.get("clients_again"):
        lines.append(
            f"a visit's own luck when the client is known, times {changed['later']:.2f}; from "
            f"{count(changed['clients_again'], 'client')}"
        )
    return lines


def _shapes(family: str, other: Row) -> str:
    gain, se = other["score_difference"], other["score_difference_se"]
    by = f"log score {gain:.1f} better, standard error {se:.1f}, {count(other['clients'], 'client')}"
    second = other["family"]
    if other["share"]:
        return (
            f"shape: neither is clearly better ({family} before {second}: {by}), so both are used, {second} "
            f"with a share of {_percent(other['share'])}"
        )
    return f"shape: {family} expected unseen clients better than {second} ({by})"


def _bias(row: Row) -> str:
    band = f"{row['low']:+.1f} to {row['high']:+.1f}"
    return f"{row['stylist']}, {row['reading']}s: {row['value']:+.1f} level ({band}), {row['n']} measured"


def _coverage(rows: Sequence[Row], steps: str = "half steps") -> list[str]:
    lines = ["How often bands hold that are meant to hold 8 times in 10, in %", ""]
    lines.append(f"  {'':<40}{'first readings':>16}{'later readings':>16}")
    for group in dict.fromkeys(row["group"] for row in rows):
        cells = [_held(_find(rows, group, reading, 0.8)) for reading in ("first", "later")]
        lines.append(f"  {group:<40}{cells[0]:>16}{cells[1]:>16}")
    everybody = _find(rows, "all", "first", 0.8)
    if everybody is None:
        return lines
    others = [(nominal, _find(rows, "all", "first", nominal)) for nominal in (0.5, 0.95)]
    parts = [f"a {_percent(nominal)} band {_percent(row['observed'])}" for nominal, row in others if row]
    if parts:
        lines += ["", f"  At first readings, {' and '.join(parts)}."]
    if steps:
        lines.append(f"  Printed in {steps}, both ends included, the 80 % band holds more often:")
        lines.append(f"  {_percent(everybody['printed'])} of the time.")
    return lines


def _reach(rows: Sequence[Row]) -> list[str]:
    lines = ["Done within so many minutes: what was said, and what came true", ""]
    if not rows:
        return [*lines, "  too few clients to say"]
    lines.append(f"  {'said':>6}{'came true':>12}   {'by chance':<14}{'clients':>8}")
    for row in rows:
        cells = f"{_percent(row['predicted']):>6}{_cell(row['observed']):>12}   {_band(row):<14}"
        lines.append(f"  {cells}{row['n']:>8,}")
    return lines


def _sessions(rows: Sequence[Row]) -> list[str]:
    lines = ["Done in so many sessions: what was said, and what came true", ""]
    if not rows:
        return [*lines, "  too few courses to say"]
    lines.append(f"  sessions{'said':>8}{'came true':>12}   {'by chance':<14}{'clients':>8}{'at worst':>11}")
    for row in rows:
        cells = f"{row['sessions']:>8}{_percent(row['predicted']):>8}{_cell(row['observed']):>12}"
        lines.append(f"  {cells}   {_band(row):<14}{row['n']:>8,}{_percent(row['left_failed']):>11}")
    lines += ["", "  Came true: those who left would have done as the others. At worst: none of"]
    lines.append("  them would have been done.")
    return lines


def _scores(rows: Sequence[Row]) -> list[str]:
    lines = ["First readings of new clients, beside other ways to say it (lower is better)", ""]
    if not rows:
        return [*lines, "  too few clients to say"]
    lines.append(f"  {'':<22}{'how far off':>14}{'price of its band':>20}")
    for row in rows:
        cells = f"{row['crps']:>14.2f}{_number(row['interval_score_80']):>20}"
        lines.append(f"  {row['model']:<22}{cells}")
    lines += ["", "  In levels. How far off: between forecast and level (CRPS). Price of its band:"]
    lines.append("  its width, and ten times what falls beyond it (interval score, 80 % band).")
    return lines


def _find(rows: Sequence[Row], group: str, reading: str, nominal: float) -> Row | None:
    wanted = (group, reading, nominal)
    return next((row for row in rows if (row["group"], row["reading"], row["nominal"]) == wanted), None)


def _held(row: Row | None) -> str:
    if row is None:
        return "-"
    return f"{_whole(row['observed'])} ({_whole(row['low'])} to {_whole(row['high'])})"


def _percent(share: float) -> str:
    return f"{_whole(share)} %"


def _whole(share: float) -> str:
    return f"{100.0 * share:.0f}"


def _cell(share: float | None) -> str:
    return "-" if share is None else _percent(share)


def _number(value: float | None) -> str:
    return "unbounded" if value is None else f"{value:.2f}"


def _band(row: Row) -> str:
    return f"{_whole(row['low'])} to {_percent(row['high'])}"
