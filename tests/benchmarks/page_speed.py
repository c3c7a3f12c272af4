"""Speed of the offline page's answers in headless Chromium: python tests/benchmarks/page_speed.py MODEL

Milliseconds of each kind of answer over 200 random questions, after one round of them (aim: at most 50 on two
cores), by the clock and, which holds while other jobs run as well, of the page's own thread; of the first
answers after opening; and of opening the model.
"""

from __future__ import annotations

import itertools
import random
import shutil
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, sync_playwright

from outcomes.predictive.saved import load_model
from outcomes.show.offline.one_file import embedded, joined_script
from outcomes.show.page.pack import page_model

QUESTIONS = 200
TIMED = """([name, cases]) => cases.map((one) => {
    const began = performance.now();
    answering[name](answering.model, one);
    return performance.now() - began;
})"""
OPENED = """() => {
    const data = JSON.parse(document.getElementById("model").textContent);
    const began = performance.now();
    answering.model = answering.openModel(data);
    return performance.now() - began;
}"""


def _page(model: str) -> str:
    names = "openModel, answerSessions, answerRootShade, answerRefresh"
    script = joined_script("page/answers.js").removesuffix("})();\n")
    data = embedded(page_model(load_model(model)))
    return (
        f'<!doctype html><meta charset="utf-8"><script type="application/json" id="model">{data}</script>'
        f"<script>{script}window.answering = {{ {names} }};\n}})();</script>"
    )


def _sessions(draw: random.Random, choices: dict[str, Any]) -> dict[str, Any]:
    start = draw.randrange(2, 18) / 2
    return {
        "start": start,
        "goal": min(start + draw.randrange(1, 15) / 2, 10.0),
        "hair": draw.choice(choices["hair"]),
        "peroxide": draw.choice([3, 6, 9, 12]),
        "heat": draw.choice(choices["heat"]),
        "minutes": draw.choice([20, 25, 30, 32.5, 35, 40, 45, 50, 60, 75]),
        "stylist": draw.choice([None, None, "new", *choices["stylists"]]),
    }


def _known(sessions: int) -> Callable[[random.Random, dict[str, Any]], dict[str, Any]]:
    """Plans of clients with so many sessions behind them, each another client."""

    def plan(draw: random.Random, choices: dict[str, Any]) -> dict[str, Any]:
        level, past = draw.randrange(4, 8) / 2, []
        for _ in range(sessions):
            achieved = level + draw.randrange(0, 6) / 2
            past.append(
                {
                    "start": level,
                    "achieved": achieved,
                    "minutes": draw.choice([25, 35, 45]),
                    "peroxide": draw.choice([3, 6, 9]),
                    "heat": draw.choice(choices["heat"]),
                    "stop": draw.choice(["time", "condition"]),
                    "goal": 10.0,
                }
            )
            level = min(achieved, 9.0)
        return _sessions(draw, choices) | {"start": level, "goal": 9.5, "past": past}

    return plan


def _roots(draw: random.Random, choices: dict[str, Any]) -> dict[str, Any]:
    natural = draw.randrange(2, 15) / 2
    lengths = min(natural + draw.randrange(1, 16) / 2, 10.0)
    return {
        "natural": natural,
        "lengths": lengths,
        "limit": draw.choice([None, lengths]),
        "washes": draw.choice([4, 10, 18, 25]),
        "tone": draw.choice([None, *choices["roots"]["tones"]]),
    }


def _refresh(draw: random.Random, choices: dict[str, Any]) -> dict[str, Any]:
    tone = draw.choice([None, *choices["roots"]["tones"]])
    return {
        "zone": "roots",
        "fade": draw.choice([0.5, 1, 1.5]),
        "washes_per_week": draw.choice([1, 2, 3.5]),
        "root_level": draw.choice([None, 4, 6, 8]),
        "root_tone": tone,
    }


KINDS = (
    ("answerSessions", "", _sessions),
    ("answerSessions", " of a client with one session before", _known(1)),
    ("answerSessions", " with three", _known(3)),
    ("answerRootShade", "", _roots),
    ("answerRefresh", "", _refresh),
)


def _said(times: Sequence[float]) -> str:
    ordered = sorted(times)
    n = len(ordered)
    return f"median {ordered[n // 2]:.1f}, 9 in 10 {ordered[9 * n // 10]:.1f}, worst {ordered[-1]:.1f} ms"


def _of_thread(page: Page, name: str, cases: Sequence[dict[str, Any]]) -> list[float]:
    """Milliseconds that the page's thread takes for each, what asking takes included."""
    session = page.context.new_cdp_session(page)
    session.send("Performance.enable", {"timeDomain": "threadTicks"})

    def spent() -> float:
        metrics = session.send("Performance.getMetrics")["metrics"]
        return 1000.0 * next(one["value"] for one in metrics if one["name"] == "TaskDuration")

    times = [spent()]
    for case in cases:
        page.evaluate(TIMED, [name, [case]])
        times.append(spent())
    return [after - before for before, after in itertools.pairwise(times)]


def _measure(page: Page) -> None:
    opening = [page.evaluate(OPENED) for _ in range(5)]
    choices = page.evaluate("answering.model.choices")
    print(f"opening the model: first {opening[0]:.0f} ms, then {min(opening[1:]):.0f} ms")
    page.reload()
    page.evaluate(OPENED)
    draw = random.Random(1)
    for name, whose, kind in KINDS:
        if name != "answerSessions" and choices["roots"] is None:
            continue
        cases = [kind(draw, choices) for _ in range(QUESTIONS)]
        first = page.evaluate(TIMED, [name, cases])
        warm = page.evaluate(TIMED, [name, cases])
        print(
            f"{name}{whose}: {_said(warm)}; the first five "
            f"{', '.join(f'{time:.0f}' for time in first[:5])} ms"
        )
        print(f"  of the thread: {_said(_of_thread(page, name, cases))}")


def main(model: str) -> None:
    """Print all figures."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        path = Path(folder) / "page.html"
        path.write_text(_page(model), encoding="utf-8")
        print(f"page without a view: {path.stat().st_size / 1e6:.2f} MB")
        found = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
        browser = driver.chromium.launch(executable_path=found, chromium_sandbox=False)
        page = browser.new_page()
        page.goto(path.as_uri())
        _measure(page)
        browser.close()


if __name__ == "__main__":
    main(sys.argv[1])
