"""Check and fit an invented salon group and ask it of lift and fade, with figures, in a folder of its own."""

from __future__ import annotations

import argparse
from pathlib import Path

from outcomes.errors import InputError

EXAMPLE = """example:
  outcomes demo
  outcomes demo --to ~/outcomes_demo"""

FOLDER = "outcomes_demo"

# start, goal, hair, peroxide, heat, longest time, stylist; invented, and within what the demo's log covers
CONSULTATIONS = (
    ("Natural level 3 wants level 9.5.", (3, 9.5, "natural", 6, "low", 45, None)),
    ("Coloured hair, level 5 to 9, without heat.", (5, 9, "coloured", 6, "none", 40, None)),
    (
        "Lightened before, level 7 to 9.5, a stylist new to the team.",
        (7, 9.5, "lightened", 6, "none", 35, "new"),
    ),
)

# natural, lengths, washes, limit
ROOT_SHADE = (
    "Natural level 2.5, lengths at 9.5, back after 18 washes: an ash root shade.",
    (2.5, 9.5, 18, 7.5),
)
# zone, levels faded, washes a week
REFRESH = ("A level 6 ash root shade, washed three times a week.", ("roots", 1, 3))


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes demo`."""
    parser.add_argument(
        "--to", metavar="DIR", help=f"a new folder for data, model and figures (default ./{FOLDER})"
    )


def run(args: argparse.Namespace) -> int:
    """Write the demo data, check it, fit it, ask it, draw it.

    Raises
    ------
    InputError
        A folder that is there already or can't be made.
    """
    folder = _new_folder(args.to)

    from outcomes.answers.fade_curve import fade_curves
    from outcomes.answers.lift_curve import lift_curve
    from outcomes.answers.refresh import refresh
    from outcomes.answers.root_shade import root_shade
    from outcomes.answers.sessions import sessions
    from outcomes.answers.wording import CAUTIONS
    from outcomes.cli.printed import bar_character
    from outcomes.cli.progress import working
    from outcomes.demo.write import write_demo
    from outcomes.log.read import read_log
    from outcomes.log.write import write_faults
    from outcomes.models.fade import FadeModel
    from outcomes.models.lift import LiftModel
    from outcomes.predictive.saved import SalonModel, save_model
    from outcomes.readings.alike import readings_alike
    from outcomes.readings.fade import MEASURES, readings_by_shade
    from outcomes.show.demo_folder import write_figures
    from outcomes.show.figures import fade_curve_picture, refresh_picture, root_shade_picture
    from outcomes.show.plan_text import wrapped
    from outcomes.show.sessions_text import facts, sessions_table

    with working("writing the demo data"):
        write_demo(folder / "data")
    source, model = folder / "data" / "salon_group", folder / "salon.model.json"
    log = read_log(source)
    faults = folder / "faults.csv"
    write_faults(log, faults)
    print(f"1. An invented log of three salons: {source}")
    for table, count in log.counts.items():
        print(
            f"   {table:<7} {count['in']:>5,} rows = {count['used']:,} used + {count['set_aside']} set aside"
        )
    print(f"   why rows were set aside: {faults}")
    with working("fitting"):
        fitted = LiftModel().fit(log)
    with working("fitting fade"):
        fade = {str(measure): FadeModel(measure).fit(log).predictive_ for measure in MEASURES}
    salon = SalonModel(fitted.predictive_, fade)
    save_model(salon, model)
    predictive = fitted.predictive_
    shape = predictive.effects["shape"]
    print(f"\n2. What it learned: {model}")
    print(
        f"   lift over minutes: {shape['family']} shape {shape['value']:.2f} "
        f"({shape['low']:.2f} to {shape['high']:.2f})"
    )
    print(f"   all effects: outcomes effects {model}")
    print("\n3. Three consultations")
    answers, curves = [], []
    for said, plan in CONSULTATIONS:
        answer = sessions(predictive, *plan)
        told = ["", said, str(answer), "", *sessions_table(answer, bar=bar_character()), ""]
        for line in (*told, *(fact.removeprefix("  ") for fact in facts(answer, brief=True))):
            print(wrapped(f"   {line}".rstrip()))
        answers.append(answer)
        _, _, hair, peroxide, heat, *_ = plan
        curves.append((lift_curve(predictive, *plan), readings_alike(log, hair, peroxide, heat)))
    print("\n4. After washes")
    shade, again = (
        root_shade(salon, *ROOT_SHADE[1], tone="ash"),
        refresh(salon, *REFRESH[1], root_level=6, root_tone="ash"),
    )
    for said, spoken in ((ROOT_SHADE[0], str(shade)), (REFRESH[0], str(again))):
        for line in ("", said, spoken):
            print(wrapped(f"   {line}".rstrip()))
    print(f"\n   do shades, or shampoos, fade differently: outcomes fade {model}")
    with working("drawing"):
        faded = {
            "root_shade": root_shade_picture(shade),
            "refresh_roots": refresh_picture(again),
            "fade_by_root_tone": fade_curve_picture(
                fade_curves(salon), readings_by_shade(log, "level", "root_tone")
            ),
        }
        written = write_figures(folder / "figures", answers, curves, predictive.effects, faded)
    print(f"\n5. Figures: {len(written)} files in {folder / 'figures'}")
    print("\n".join(wrapped(f"   ! {caution}") for caution in CAUTIONS))
    print(f"\nEverything is in {folder.absolute()}; nothing in it is about a real person.")
    return 0


def _new_folder(asked: str | None) -> Path:
    """A folder that wasn't there: a demo must never mix with, or replace, somebody's files."""
    folder = Path(asked or FOLDER).expanduser()
    if asked is None:
        number = 2
        while folder.exists():
            folder, number = Path(f"{FOLDER}_{number}"), number + 1
    try:
        folder.mkdir()
    except FileExistsError as cause:
        raise InputError(
            f"--to {folder}: is there already; the demo replaces nothing; name a new folder"
        ) from cause
    except OSError as cause:
        raise InputError(
            f"--to {folder}: can't be made ({cause.strerror}); name a new folder in one that exists"
        ) from cause
    return folder
