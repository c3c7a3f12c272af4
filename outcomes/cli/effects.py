"""What developer, heat and hair do to the lift rate, and shades and shampoo to the fade, in a saved model."""

from __future__ import annotations

import argparse
import textwrap
from collections.abc import Mapping
from typing import Any

from outcomes.cli.printed import as_json

EXAMPLE = """example:
  outcomes effects salon.model.json
  outcomes effects salon.model.json --json"""

_SPREADS = {
    "stylist": "between stylists, on log rate",
    "client": "between clients, on log rate",
    "product": "between lighteners, on log rate",
    "visit": "between visits of one client, on log rate",
    "reading": "of one result read, levels",
    "look": "of one look, levels",
}

_READ_IN = {"level": "levels", "tone_left": "on -log(share left)", "delta_e": "CIEDE2000"}

_FADE_SPREADS = {
    "stylist": "between stylists, on log rate",
    "client": "between clients, on log rate",
    "product": "between root shades of a level and tone, on log rate",
    "visit": "between visits of one client, on log rate",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes effects`."""
    parser.add_argument("model", metavar="MODEL", help="model file written by `outcomes fit`")
    parser.add_argument("--json", action="store_true", help="print JSON")


def run(args: argparse.Namespace) -> int:
    """Print the table of effects.

    Raises
    ------
    ModelFileError
        As `load_model`.
    """
    from outcomes.predictive.saved import load_model

    model = load_model(args.model)
    lift = model.lift
    if args.json:
        fade = {
            measure: {**_plain(one.effects), "notes": list(one.notes)} for measure, one in model.fade.items()
        }
        told = {"lift": _plain(lift.effects), "fade": fade, "fade_left_out": dict(model.left_out)}
        print(as_json({**told, "notes": list(lift.notes)}))
        return 0
    from outcomes.answers.wording import FADE_NAMES

    print(_text(lift.effects, "Lift rate: ratios of levels per 45 minutes", _SPREADS))
    print("".join("\n" + _row("  note: ", note) for note in lift.notes))
    for measure, one in model.fade.items():
        title = f"Fade by {FADE_NAMES[measure]}: ratios of fade rates"
        print(
            "\n"
            + _text(one.effects, title, {**_FADE_SPREADS, "reading": f"of one reading, {_READ_IN[measure]}"})
        )
        print("".join("\n" + _row("  note: ", note) for note in one.notes))
    for measure, why in model.left_out.items():
        print("\n" + _row(f"Fade by {FADE_NAMES[measure]} is left out: ", why))
    return 0


def _plain(effects: Mapping[str, Any]) -> dict[str, Any]:
    kept = ("term", "ratio", "value", "low", "high")
    terms = [{key: term[key] for key in kept if key in term} for term in effects["terms"]]
    found = {key: terms if key == "terms" else effects[key] for key in ("shape", "terms", "coverage", "sd")}
    return found | {key: effects[key] for key in ("other", "reading_bias") if key in effects}


def _text(effects: Mapping[str, Any], title: str, spreads: Mapping[str, str]) -> str:
    shape, share = effects["shape"], round(100 * effects["coverage"])
    width = max([len(term["term"]) for term in effects["terms"]] + [len("shape")]) + 2
    lines = [f"{title}, {share} % bands", ""]
    for term in effects["terms"]:
        ratio = "ratio" in term
        value = term["ratio" if ratio else "value"]
        sign = "x" if ratio else " "
        low, high = (round(term[end], 2) + 0.0 for end in ("low", "high"))  # no "-0.00"
        band = f"{low:.2f} to {high:.2f}"
        lines.append(
            _row(f"  {term['term']:<{width}}{sign} {value:5.2f}  {band:<16}", term.get("meaning", ""))
        )
    band = f"{shape['low']:.2f} to {shape['high']:.2f}"
    lines.append(f"  {'shape':<{width}}  {shape['value']:5.2f}  {band:<16}{shape['family']}")
    if other := effects.get("other"):
        said = f"{other['family']}, used for {round(100 * other['share'])} % of the forecast"
        band = f"{other['low']:.2f} to {other['high']:.2f}"
        lines.append(_row(f"  {'other shape':<{width}}  {other['value']:5.2f}  {band:<16}", said))
    for row in effects.get("reading_bias", []):
        band = f"{row['low']:.2f} to {row['high']:.2f}"
        name = f"eye of {row['stylist']}"
        said = f"levels read above the team's eye, {row['reading']}s ({row['n']} by colorimeter)"
        lines.append(_row(f"  {name:<{width}}  {row['value']:5.2f}  {band:<16}", said))
    lines += ["", "Spread (standard deviations)", ""]
    for name, sd in effects["sd"].items():
        lines.append(
            _row(f"  {name:<{width}}  {'    -' if sd is None else f'{sd:5.2f}'}  ", spreads.get(name, ""))
        )
    return "\n".join(lines)


def _row(numbers: str, words: str) -> str:
    """Numbers, and beside them words that stay in their column where a terminal of 80 columns ends."""
    told = textwrap.fill(words, 80, initial_indent=numbers, subsequent_indent=" " * len(numbers))
    return told or numbers.rstrip()
