"""Many plans from a CSV file: an answer for every line, an error object in the place of one that has none."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

from outcomes.answers.question import Question, ask
from outcomes.answers.sessions import answer_all
from outcomes.answers.sessions_answer import SessionsAnswer
from outcomes.answers.wording import CAUTIONS
from outcomes.cli.printed import as_json
from outcomes.cli.progress import working
from outcomes.errors import InputError
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.saved import load_model
from outcomes.show.plan_text import plan_in_words, rests_on, wrapped

__all__ = ["answer_cases"]

NEEDED = ("start", "goal", "hair", "peroxide", "heat", "minutes")
_LOGGED = {"start_level": "start", "goal_level": "goal", "peroxide_pct": "peroxide"}  # as a log names them
_NUMBERS = ("start", "goal", "peroxide", "minutes")


@dataclass(frozen=True)
class _Case:
    line: int
    found: Question | str


def answer_cases(model: str, path: str, *, limit: int, seed: int, as_json_lines: bool) -> int:
    """Print an answer, or what is wrong, for every line of the file.

    Parameters
    ----------
    model, path : str
        Files.
    limit, seed : int
        As in `outcomes.sessions`.
    as_json_lines : bool
        One JSON object a line: the answer's, or {"line", "error"}.

    Returns
    -------
    int
        1 if anything was wrong, else 0.

    Raises
    ------
    InputError
        A file that can't be read, is empty, or lacks a column; a limit or seed out of range.
    ModelFileError
        As `load_model`.
    """
    predictive = load_model(model).lift
    cases = _read(path, predictive)
    questions = [case.found for case in cases if isinstance(case.found, Question)]
    with working(f"answering {len(questions)} plans"):
        answers = iter(answer_all(predictive, questions, limit=limit, seed=seed))
    last = None
    for case in cases:
        if isinstance(case.found, str):
            wrong = as_json({"line": case.line, "error": case.found})
            print(wrong if as_json_lines else wrapped(f"line {case.line}: no answer: {case.found}"))
            continue
        last = answer = next(answers)
        print(as_json(answer.to_dict()) if as_json_lines else _in_words(case.line, answer))
    if not as_json_lines:
        closing = [f"every answer rests on {rests_on(last)}"] if last is not None else []
        print("\n".join(["", *map(wrapped, [*closing, *(f"! {caution}" for caution in CAUTIONS)])]))
    return int(any(isinstance(case.found, str) for case in cases))


def _in_words(line: int, answer: SessionsAnswer) -> str:
    why = "".join(f" ({note})" for note in answer.support_notes)
    return wrapped(f"line {line}: {plan_in_words(answer)}: {answer}{why}")


def _read(path: str, predictive: LiftPredictive) -> list[_Case]:
    try:
        with open(path, "rb") as file:
            raw = file.read()
    except OSError as cause:
        raise InputError(f"{path}: can't be read ({cause.strerror}); name a CSV file of plans") from cause
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("cp1252", errors="replace")
    if "\0" in text:
        raise InputError(f"{path}: isn't a text file; save the plans as CSV")
    lines = text.strip("\r\n").splitlines()
    delimiter = max(",;\t", key=lines[0].count) if lines else ","
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    try:
        titles = next((row for row in rows if any(cell.strip() for cell in row)), [])
        headings = [_LOGGED.get(title, title) for title in (cell.strip().lower() for cell in titles)]
        if not any(headings):
            raise InputError(f"{path}: is empty; expected a line of headings: {', '.join(NEEDED)}")
        if twice := [name for name in (*NEEDED, "stylist") if headings.count(name) > 1]:
            raise InputError(f"{path}: found {twice[0]} as the heading of two columns; leave one of them")
        if missing := [name for name in NEEDED if name not in headings]:
            raise InputError(
                f"{path}: found no column {', '.join(missing)}; expected {', '.join(NEEDED)} and, if wanted, "
                "stylist; name the columns so"
            )
        cases = []
        line = rows.line_num
        for row in rows:
            # A quoted cell may hold a line break: a row is named by the line on which it starts.
            line, started = rows.line_num, line + 1
            if any(cell.strip() for cell in row):
                cases.append(_case(predictive, started, headings, row, delimiter))
    except csv.Error as cause:
        raise InputError(f"{path}: can't be read as CSV ({cause}); save the plans as CSV anew") from cause
    if not cases:
        raise InputError(f"{path}: holds headings and no plan; write one plan a line below them")
    return cases


def _case(
    predictive: LiftPredictive, line: int, headings: list[str], row: list[str], delimiter: str
) -> _Case:
    if len(row) != len(headings):
        cells_found = f"{len(row)} cell{'s' * (len(row) != 1)}"
        wrong = f"found {cells_found}; expected {len(headings)}, one for each heading; correct the line"
        return _Case(line, wrong)
    cells = dict(zip(headings, (cell.strip() for cell in row), strict=True))
    if empty := [name for name in NEEDED if not cells[name]]:
        return _Case(line, f"{', '.join(empty)}: found nothing; expected a value; fill it in")
    if delimiter != ",":
        cells |= {name: cells[name].replace(",", ".") for name in _NUMBERS}
    start, goal, peroxide, minutes = (cells[name] for name in _NUMBERS)
    try:
        # Numbers are given as text: `ask` reads them and says what is wrong with them.
        found = ask(
            predictive,
            start,
            goal,
            cells["hair"],
            peroxide,
            cells["heat"],
            minutes,
            cells.get("stylist") or None,
        )
    except InputError as cause:
        return _Case(line, str(cause))
    return _Case(line, found)
