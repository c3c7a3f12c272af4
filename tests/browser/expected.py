"""What the page's views must show of Python's answers, by the wording and rounding of Python alone.

Each function gives what `READ` reads off a view: sentence, facts, rows of tables, drawing, cover, basis.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from outcomes.answers import refresh as refreshing
from outcomes.answers import root_shade as shading
from outcomes.answers.condition import ConditionAnswer
from outcomes.answers.costs import CostsAnswer
from outcomes.answers.out_of_ten import out_of_ten
from outcomes.answers.wording import chance, count, held, likely, percent, spanned
from outcomes.show.condition_text import condition_lines
from outcomes.show.costs_text import costs_lines

FOLDED_TOGETHER = 0.005  # numbers of sessions rarer than this at the far end share a place
TOO_FEW = 0.005  # sessions that fewer courses come to aren't shown
NEAR_GOAL = 1.0  # levels within which goals are those of one course
NEAR = 1.5  # levels within which a start is the last session's result

# a view as it's seen, in the order of the page
READ = """told => {
    const seen = one => one.checkVisibility({visibilityProperty: true});
    const texts = (within, what) => [...within.querySelectorAll(what)].filter(seen)
        .map(one => one.textContent);
    const rows = within => [...within.querySelectorAll('dl > div')].filter(seen)
        .map(one => [...one.children].map(cell => cell.textContent));
    const [facts, basis] = ['.facts', '.basis'].map(name => told.querySelector(name));
    return {
        sentence: texts(told, '.sentence').join(),
        facts: rows(facts),
        tables: [...facts.querySelectorAll('tbody tr')].filter(seen).map(row => texts(row, 'th, td')),
        drawn: [...told.querySelectorAll('.picture .one')].map(one => one.querySelector('text')?.textContent
            ?? (one.classList.contains('full') ? 'yes' : 'no')),
        line: texts(told, '.line text'),
        caption: texts(told, 'figcaption').join(),
        cover: [...texts(basis, '.cover b'), ...texts(basis, '.cover li')],
        basis: rows(basis),
    };
}"""


def told_sessions(answer: Any, costs: CostsAnswer, condition: ConditionAnswer | None) -> dict[str, Any]:
    """Of the view of sessions."""
    outside = answer.support == "outside"
    names, chances = _numbers_of_sessions(answer.sessions)
    tens = [] if outside else list(zip(names, out_of_ten(chances), strict=True))
    timed = [re.fullmatch(r"  (.{14})(.*?); rests on (.*)", line) for line in costs_lines(costs)]
    named = [[one[i].strip().capitalize() if i == 1 else one[i] for i in (1, 2, 3)] for one in timed if one]
    facts = _wide(answer) if outside else _chances(answer, names, chances)
    rows: list[list[str]] = [] if outside else _levels(answer)
    rests: list[list[str]] = []
    if condition is not None:
        facts.append(["Condition", _condition(condition, answer.sessions)])
        rows += [] if outside else _conditions(condition, answer.sessions)
        taken = "; ".join(condition.notes[1:])
        rests.append(["Condition", f"{condition.rests_on}; taken for granted: {taken}"])
    facts += [[name, said] for name, said, _ in named] + _client(answer)
    return {
        "sentence": answer.sentence,
        "facts": facts,
        "tables": rows,
        "drawn": [name for name, people in tens for _ in range(people)],
        "line": [],
        "caption": _counted(tens, answer.is_known),
        "cover": [answer.support, *answer.support_notes],
        "basis": [["Rests on", _rests_on(answer.basis)], *([n, b] for n, _, b in named), *rests],
    }


def _numbers_of_sessions(sessions: Sequence[float]) -> tuple[list[str], list[float]]:
    shown = len(sessions) - 1
    while shown > 1 and sum(sessions[shown - 1 :]) < FOLDED_TOGETHER:
        shown -= 1
    names, chances = [str(k) for k in range(1, shown + 1)], list(sessions[:shown])
    rest = sum(sessions[shown:])
    return ([*names, f"{shown + 1}+"], [*chances, rest]) if rest > 0 else (names, chances)


def _or_more(name: str) -> str:
    return name.replace("+", " or more")


def _wide(answer: Any) -> list[list[str]]:
    band = spanned(answer.band_low, answer.band_high, answer.limit)
    how = "" if answer.band_high is None else f" ({100 * answer.band_coverage:.0f} % band and one more)"
    return [["Wide band", f"{band}{how}"]]


def _chances(answer: Any, names: list[str], chances: list[float]) -> list[list[str]]:
    band = spanned(answer.band_low, answer.band_high, answer.limit)
    holds = chance(held(answer.sessions, answer.band_low, answer.band_high))
    each = [f"{percent(p)} in {_or_more(name)}" for name, p in zip(names, chances, strict=True)]
    doubt = "" if answer.is_known else f" ({percent(answer.today_low)} to {percent(answer.today_high)})"
    return [
        [f"{100 * answer.band_coverage:.0f} % band", f"{band}; it holds for {holds} clients"],
        ["Chances", ", ".join(each)],
        ["Today", f"{percent(answer.today)} reach the goal{doubt}"],
    ]


def _levels(answer: Any) -> list[list[str]]:
    rows: list[list[str]] = []
    shown: tuple[float, ...] = ()
    for one in answer.levels:
        if (one.median, one.low, one.high) == shown:
            break
        shown = (one.median, one.low, one.high)
        band = f"{one.span}, for {chance(one.holds)}"
        rows.append([str(one.session), f"{one.median:g}", band])
        if one.low >= answer.question.goal:
            break
    return rows


def _condition(condition: ConditionAnswer, sessions: Sequence[float]) -> str:
    said = "\n".join(condition_lines(condition, sessions))
    if condition.stops_first is None:
        return f"at the end, {re.search(r'at the end  (.*)', said)[1]}"  # type: ignore[index]
    stops = re.search(r"strand condition (falls below.*?); rests on", said)[1]  # type: ignore[index]
    return f"{stops}; {condition.notes[0]}"


def _conditions(condition: ConditionAnswer, sessions: Sequence[float]) -> list[list[str]]:
    rows, going = [["before", str(condition.before), ""]], 1.0
    for number, (band, done) in enumerate(zip(condition.sessions, sessions[:-1], strict=True), start=1):
        if number > 1 and going < TOO_FEW:
            break
        span = f"{band.low}" if band.low == band.high else f"{band.low} to {band.high}"
        assert band.below is not None
        rows.append([str(number), str(band.median), f"{span}; below {condition.floor}: {chance(band.below)}"])
        going -= done
    return rows


def _client(answer: Any) -> list[list[str]]:
    if not answer.is_known:
        return []
    start, reached = answer.question.start, answer.past.visits[-1].achieved
    begins = f"a new course begins on {answer.question.hair} hair"
    goal, before = answer.question.goal, answer.past.visits[-1].goal
    course = "the same course goes on" if answer.past.continues else begins
    if abs(goal - before) > NEAR_GOAL and not answer.past.continues:
        last = answer.past.visits[-1]
        ended = " ended at its goal," if (last.stop, last.achieved) == ("target", before) else "'s goal was"
        course = f"the last one{ended} level {before:g}, so {begins}"
    if abs(start - reached) > NEAR:
        course = f"level {start:g} isn't near what the last one reached, level {reached:g}, so {begins}"
    said = f"{count(answer.past.counted)} before, {course}"
    if answer.support == "outside":
        return [["This client", said]]
    low, ratio, high = (f"{one:.2f}" for one in (answer.rate.low, answer.rate.ratio, answer.rate.high))
    rate = f"this hair lifts {ratio} times as fast as that of clients like this"
    return [["This client", f"{said}; {rate} (8 in 10 chances: {low} to {high})"]]


def _counted(tens: Sequence[tuple[str, int]], is_known: bool) -> str:
    if not tens:
        return ""
    parts = []
    for name, people in [one for one in tens if one[1]]:
        said = f"{people} in {_or_more(name)}"
        if not parts:
            noun = f"{'more ' * is_known}session{'' if name == '1' else 's'}"
            said = f"{people} {'is' if people == 1 else 'are'} done in {_or_more(name)} {noun}"
        parts.append(said)
    listed = " and ".join(filter(None, [", ".join(parts[:-1]), parts[-1]]))
    return f"Of 10 clients {'with such sessions behind them' if is_known else 'like this'} {listed}."


def _rests_on(basis: Any) -> str:
    counts = (("visit", basis.visits), ("client", basis.clients), ("stylist", basis.stylists))
    checked = "checked out of sample" if basis.calibrated else "not yet checked out of sample"
    return f"{', '.join(count(n, thing) for thing, n in counts)}; {checked}"


def _read_after_washes(basis: Any) -> list[str]:
    checked = "bands checked on clients left out" if basis.calibrated else "bands not checked"
    counts = f"{count(basis.visits, 'visit')} of {count(basis.clients, 'client')}"
    return ["Rests on", f"{counts} read after washes; {checked}"]


def told_root_shade(answer: Any) -> dict[str, Any]:
    """Of the view of root shades."""
    far, one, told = bool(answer.notes), answer.choice, answer.told
    after = f"after {answer.washes:g} washes"
    facts, drawn, caption = [], [], ""
    if one is not None:
        facts = [
            [f"Level {after}", f"{_then(one)}, 8 times in 10"],
            ["Still blends", likely(one.blends)],
        ]
        blend, other = out_of_ten((one.blends, 1.0 - one.blends))
        drawn = ["yes"] * blend + ["no"] * other
        rest = f", with {other} it doesn't" if other else ""
        caption = f"With {blend} of 10 clients like this it still blends {after}{rest}."
    facts.append(["Blending", f"level {answer.natural:g} to {answer.limit:g} {after}"])
    support = "outside" if far or told is None else told.support
    why = list(answer.notes)
    if not far and told is not None and support != "inside":
        shade = f"level {told.root_level:g} {told.root_tone}"
        visits = f"{told.visits} visit{'' if told.visits == 1 else 's'}"
        why = [f"of {shade} the log has {visits} read after washes"]
    never = [] if far or told is None else [["Never read", shading.if_missing(told)]]
    return {
        "sentence": answer.sentence,
        "facts": facts,
        "tables": [] if far else _shades(answer),
        "drawn": drawn,
        "line": [],
        "caption": caption,
        "cover": [support, *why],
        "basis": [_read_after_washes(answer.basis), *never],
    }


def _then(one: Any) -> str:
    then = one.level_then
    return f"{then.median:.1f} ({then.low:.1f} to {then.high:.1f})"


def _shades(answer: Any) -> list[list[str]]:
    """Of each level the tone that blends most often, the choice in any case; lightest first."""
    rows = []
    for level in sorted({one.root_level for one in answer.candidates}, reverse=True):
        there = [one for one in answer.candidates if one.root_level == level]
        best = answer.choice if answer.choice in there else max(there, key=lambda one: one.blends)
        numbers = ["–", "–"] if best.support == "outside" else [_then(best), likely(best.blends)]
        visits = f"{best.visits}" if best.support == "inside" else f"{best.visits}, {best.support}"
        rows.append([f"{level:g} {best.root_tone}", *numbers, visits])
    return rows


def told_refresh(answer: Any) -> dict[str, Any]:
    """Of the view of refreshing."""
    outside, washes, weeks = answer.support == "outside", answer.washes, answer.weeks
    facts = [["Washes", _band(washes, outside)], ["Weeks", _band(weeks, outside)]]
    if answer.never > 0 and not outside:
        facts.append(["Never", f"{likely(answer.never)} of such hair never fades so far"])
    unread = f"{percent(answer.missing)} of clients who had it were never read after washes."
    line, caption = [], ""
    if not outside and washes.low is not None:
        low, high = _whole(washes.low), _whole(washes.high)
        middle = f"{_whole(washes.median)} washes"
        half = f"Half are there after {middle}"
        line = [f"{middle}, {_whole(weeks.median)} weeks", low, high]
        if washes.median is None:
            half, line = "Fewer than half ever get there", line[1:]
        ends = f"between {low} and {high} washes"
        ends = ends if washes.high is not None else f"from {low} washes on, or never"
        caption = f"{half}; 8 in 10 {ends}, at {answer.washes_per_week:g} a week."
    shade = "" if answer.within_log or outside else "shade "
    more = "" if outside else f" {refreshing.if_missing(answer)}"
    return {
        "sentence": answer.sentence,
        "facts": facts,
        "tables": [],
        "drawn": [],
        "line": line,
        "caption": caption,
        "cover": [f"{shade}{answer.support}", *answer.notes],
        "basis": [_read_after_washes(answer.basis), ["Never read", f"{unread}{more}"]],
    }


def _whole(value: float | None) -> str:
    return "never" if value is None else f"{value:.0f}"


def _band(band: Any, outside: bool) -> str:
    ends = f"({_whole(band.low)} to {_whole(band.high)})"
    if outside:
        return f"– {ends}"
    return "more often than not never" if band.median is None else f"{band.median:.0f} {ends}"
