"""Models and random questions by which the page's scripts are held against the command line's answers."""

from __future__ import annotations

import re
from dataclasses import replace
from importlib.resources import files
from typing import Any

import numpy as np

from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.models.fade import FadeModel
from outcomes.models.lift import LiftModel
from outcomes.predictive.condition_chain import ConditionLosses
from outcomes.predictive.distribution import Recalibration
from outcomes.predictive.plans import HAIR, HEAT
from outcomes.predictive.practice import LookGaps, Practice
from outcomes.predictive.saved import SalonModel, load_model, save_model
from outcomes.predictive.tally import Tally
from outcomes.predictive.visit_times import VisitTimes
from outcomes.show.offline.one_file import embedded, joined_script, one_file
from outcomes.show.page.pack import page_model
from tests.conftest import invented_predictive
from tests.models.logs import as_log
from tests.predictive.fades import invented_fade

FUNCTIONS = ("openModel", "answerSessions", "answerRootShade", "answerRefresh")


def fitted_model(path: Any) -> SalonModel:
    """A small invented log, fitted, rescaled by hand, written to a model file and read again."""
    log = as_log(simulate_log(world("plain"), 400, 21)[0])
    lift = LiftModel(shapes=("power",)).fit(log).predictive_
    rescaled = replace(lift, recalibration=Recalibration(0.95, 1.05, None, 1.1))
    fade = {measure: FadeModel(measure).fit(log).predictive_ for measure in ("level", "tone_left")}
    return read_again(SalonModel(rescaled, fade, {"delta_e": "nobody measures colour"}), path)


def invented_model(path: Any) -> SalonModel:
    """Everything that a log may have, at once: both shapes, a heavy tail, results read anew, no looks."""
    lift = invented_predictive(
        saturating=np.resize([0.0, 0.0, 1.0], 400),
        practice=Practice(np.array([0.0, 0.3, 1.0]), np.array([0.2, 0.0, 0.1])),
        look_gaps=LookGaps(
            np.array([4.5, 8.0, 12.25]),
            np.array([0.3, 0.4, 0.3]),
            np.array([[0.8, 0.2, 0.0], [0.1, 0.6, 0.3], [0.0, 0.2, 0.8]]),
        ),
        later_hair={hair: {"lightened": 0.7, "coloured": 0.3} for hair in HAIR},
    )
    rng = np.random.default_rng(2)
    lift = replace(
        lift,
        recalibration=Recalibration(1.1, 0.9, 6.5, 0.8),
        visit_times=VisitTimes(
            Tally(5.0, shares(rng, 20, 45), 1080),
            Tally(5.0, shares(rng, 10, 30), 41),
            Tally(5.0, shares(rng, 1, 14), 321),
            False,
            Tally(1.0, shares(rng, 2, 12), 37),
        ),
        condition_losses=ConditionLosses(
            0.2 * rng.standard_normal((16, 8)) + np.array([0.5, 0.1, 0.2, 0.1, 0.0, 0.1, 0.1, 0.1]),
            *(0.3, 0.4, np.array([shares(rng, 0, 5), shares(rng, 0, 5)]), 90, 30),
        ),
    )
    level = invented_fade("level", sd_visit=0.1, sd_estimate=0.05)
    shades = tuple(f"{root:g} {tone}" for root in (4.0, 5.5, 7.0) for tone in ("neutral", "copper"))
    draws = dict(level.draws) | {
        "product": 0.1 * rng.standard_normal((400, len(shades))),
        "sd_product": np.full(400, 0.1),
        "stylist": 0.05 * rng.standard_normal((400, 2)),
    }
    level = replace_fade(level, draws=draws, products=shades, product_visits=np.full(len(shades), 30))
    toned = invented_fade("tone_left", family="saturating", theta=1.5, sd_visit=0.1, sd_estimate=0.05)
    toned = replace_fade(toned, recalibration=Recalibration(1.2, 1.0, 9.0, 1.0))
    return read_again(SalonModel(lift, {"level": level, "tone_left": toned}, {}), path)


def read_again(model: SalonModel, path: Any) -> SalonModel:
    """The model as its file has it."""
    save_model(model, path)
    return load_model(path)


def shares(rng: np.random.Generator, first: int, last: int) -> Any:
    """Random shares of the places from the first up to, not including, the last; 0 before."""
    found = np.concatenate([np.zeros(first), rng.random(last - first)])
    return found / found.sum()


def replace_fade(fade: Any, **changes: Any) -> Any:
    """A distribution of fade with other fields; those that its measure sets are set by it again."""
    kept = {name: value for name, value in vars(fade).items() if name not in ("step", "bottom", "top")}
    return type(fade)(**(kept | changes))


def session_cases(model: SalonModel, n: int, seed: int) -> list[dict[str, Any]]:
    """Plans, inside and outside what the log covers, in any hands."""
    rng = np.random.default_rng(seed)
    hands = [None, None, "new", *model.lift.stylists]
    cases = []
    for _ in range(n):
        start = float(rng.choice(np.arange(1.0, 9.0, 0.5)))
        goal = min(start + 0.5 * float(rng.integers(1, 15)), 10.0)
        peroxide = float(rng.choice([1.5, 3.0, 4.5, 6.0, 7.5, 9.0, 12.0]))
        cases.append(
            {
                "start": start,
                "goal": goal,
                "hair": str(rng.choice(HAIR)),
                "peroxide": peroxide,
                "heat": str(rng.choice(HEAT)),
                "minutes": float(rng.choice([5, 10, 20, 25, 30, 32.5, 35, 40, 45, 50, 60, 75, 120])),
                "stylist": hands[int(rng.integers(len(hands)))],
            }
        )
    return cases


def past_cases(model: SalonModel, n: int, seed: int) -> list[dict[str, Any]]:
    """Plans of clients with one to three sessions behind them, some of them of another course."""
    rng = np.random.default_rng(seed)
    cases = []
    for plan in session_cases(model, n, seed):
        level, goal, past = plan["start"], min(plan["start"] + 5.0, 10.0), []
        for _ in range(int(rng.integers(1, 4))):
            achieved = min(level + 0.5 * float(rng.integers(0, 7)), 10.0)
            visit = {
                "start": level,
                "achieved": achieved,
                "minutes": float(rng.choice([10, 25, 37.5, 45])),
                "peroxide": float(rng.choice([3.0, 6.0, 9.0])),
                "heat": str(rng.choice(HEAT)),
                "stop": str(rng.choice(["target", "time", "condition", "other"])),
            }
            more = {"goal": goal, "hair": "coloured", "stylist": model.lift.stylists[0]}
            visit |= {name: value for name, value in more.items() if rng.random() < 0.3}
            past.append(visit)
            # mostly written once more, at times read anew
            level = max(achieved - 0.5 * float(rng.random() < 0.2), 1.0)
            if level >= 9.0:
                break
        # now and then it's grown out, and a new course begins
        level = min(level, 9.5) if rng.random() < 0.7 else max(min(level, 9.5) - 3.0, 1.0)
        cases.append(plan | {"start": level, "goal": min(max(goal, level + 0.5), 10.0), "past": past})
    return cases


def figure_cases(model: SalonModel, n: int, seed: int) -> list[dict[str, Any]]:
    """Plans with what was entered for chair time, price, calendar and strand condition."""
    rng = np.random.default_rng(seed)
    cases = []
    for case in [*session_cases(model, n // 2, seed), *past_cases(model, n - n // 2, seed)]:
        figures: dict[str, Any] = {
            "minutes_per_visit": _perhaps(rng, [120.0, 150.0]),
            "price": _perhaps(rng, [95.0, 1234.5]),
            "weeks_between": _perhaps(rng, [1.0, 7.0]),
        }
        figures["hours"] = None if figures["price"] is None else _perhaps(rng, [1.0, 2.5])
        if model.lift.condition_losses.is_known:
            figures["condition"] = _perhaps(rng, [2, 3, 4, 5])
            figures["floor"] = None if figures["condition"] is None else _perhaps(rng, [2])
        if not model.lift.visit_times.later.is_known and figures["minutes_per_visit"] is None:
            figures["hours"] = None
        cases.append(case | figures)
    return cases


def root_cases(model: SalonModel, n: int, seed: int) -> list[dict[str, Any]]:
    """Root shades, with and without tone, limit and shampoo."""
    rng = np.random.default_rng(seed)
    choices = page_choices(model)["roots"]
    cases = []
    for _ in range(n):
        natural = float(rng.choice(np.arange(1.0, 7.5, 0.5)))
        lengths = min(natural + 0.5 * float(rng.integers(1, 12)), 10.0)
        limits = [None, *np.arange(natural + 0.5, lengths + 0.25, 0.5).tolist()]
        cases.append(
            {
                "natural": natural,
                "lengths": lengths,
                "limit": limits[int(rng.integers(len(limits)))],
                "washes": float(rng.choice([1, 4, 10, 18, 25, 30, 60])),
                "tone": _perhaps(rng, choices["tones"]),
                "shampoo": _perhaps(rng, choices["shampoos"]),
            }
        )
    return cases


def refresh_cases(model: SalonModel, n: int, seed: int) -> list[dict[str, Any]]:
    """Refreshes of roots and lengths."""
    rng = np.random.default_rng(seed)
    choices = page_choices(model)
    cases = []
    for _ in range(n):
        case: dict[str, Any] = {"washes_per_week": float(rng.choice([0.5, 1, 2, 3.5, 7]))}
        case["zone"] = str(rng.choice(["roots", "lengths"]))
        if case["zone"] == "roots":
            case["fade"] = float(rng.choice([0.5, 0.7, 1.0, 1.5, 2.0]))
            case["root_level"] = _perhaps(rng, choices["levels"][:15])
            case["root_tone"] = _perhaps(rng, choices["roots"]["tones"])
            case["shampoo"] = _perhaps(rng, choices["roots"]["shampoos"])
        else:
            case["fade"] = float(rng.choice([10, 25, 50, 75, 90]))
            case["toner_tone"] = _perhaps(rng, choices["toner"]["tones"])
            case["shampoo"] = _perhaps(rng, choices["toner"]["shampoos"])
        cases.append(case)
    return cases


def page_choices(model: SalonModel) -> dict[str, Any]:
    """What the page offers."""
    from outcomes.show.page.choices import choices_of

    return choices_of(model)


def bare_page(model: SalonModel) -> str:
    """A page without a view: the scripts that answer, their functions, and the model in `answering`."""
    script = joined_script("page/answers.js").removesuffix("})();\n")
    shown = f"window.answering = {{ {', '.join(FUNCTIONS)} }};\n}})();\n"
    opened = (
        "answering.model = answering.openModel(JSON.parse(document.getElementById('model').textContent));"
    )
    data = f'<script type="application/json" id="model">{embedded(page_model(model))}</script>'
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Answers</title></head>'
        f"<body>{data}<script>{script}{shown}{opened}</script></body></html>"
    )


# the views themselves, answering whatever question as they answer their controls
TELLING = """
const telling = viewsOf(openModel(embeddedJson("model")), () => {});
window.showAnswer = (title, question) => {
  const one = telling.find((each) => each.title === title);
  if (!one.panel.isConnected) byId("views").replaceChildren(one.panel);
  one.answer(question, "");
  return one.panel.querySelector(".told");
};
})();
"""


def telling_page(model: SalonModel) -> str:
    """The page as it is, but for a way to put a question to its views: `showAnswer("Sessions", question)`."""
    sheet = files("outcomes.show.page").joinpath("handout.css").read_text(encoding="utf-8")
    page = one_file("page", {"model": page_model(model)}, sheet=sheet)
    # another script than the one that its policy lets run
    open_to_all = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", page)
    return TELLING.join(open_to_all.rsplit("})();\n", 1))


def _perhaps(rng: np.random.Generator, values: list[Any]) -> Any:
    """One of them, or none given."""
    all_of = [None, *values]
    return all_of[int(rng.integers(len(all_of)))]
