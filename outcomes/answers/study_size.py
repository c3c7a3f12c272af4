"""How many clients does the next comparison of two shades take?"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from outcomes.answers.fade_answer import THRESHOLDS
from outcomes.answers.inputs import read_number, read_washes, read_whole, read_word
from outcomes.answers.wording import percent
from outcomes.predictive.distribution import Basis
from outcomes.predictive.fade import FadePredictive
from outcomes.predictive.saved import Fitted, SalonModel, as_fade
from outcomes.predictive.study import design_effect, group_size
from outcomes.predictive.washes import fade_rates

__all__ = ["FEW_CLIENTS", "StudySizeAnswer", "study_size"]

FEW_CLIENTS = 50
"""With fewer, what they say of their own spread is said to be little."""


@dataclass(frozen=True)
class StudySizeAnswer:
    """Clients for each of two shades, and what that rests on.

    Attributes
    ----------
    measure : str
    difference : float
        Share by which one shade fades faster than the other.
    readings : int
        Of each client, evenly spread up to `washes`.
    washes : float
    power : float
    clients : int
        For each shade.
    total_readings : int
        For each shade.
    design_effect, intraclass : float
        Of several readings of a client.
    sd_between, sd_reading : float
        On log rate: between clients (visits included), and of what one reading tells of it.
    notes : tuple of str
    basis : Basis
    """

    measure: str
    difference: float
    readings: int
    washes: float
    power: float
    clients: int
    total_readings: int
    design_effect: float
    intraclass: float
    sd_between: float
    sd_reading: float
    notes: tuple[str, ...]
    basis: Basis

    @property
    def sentence(self) -> str:
        """The answer to say out loud."""
        return (
            f"{self.clients} clients for each shade, each read {self.readings} times within "
            f"{self.washes:g} washes, would show a difference of {percent(self.difference)} in "
            f"{percent(self.power)} of such studies."
        )

    def __str__(self) -> str:
        return self.sentence

    def to_dict(self) -> dict[str, Any]:
        """The answer as JSON values."""
        return {
            "inputs": {
                name: getattr(self, name) for name in ("measure", "difference", "readings", "washes", "power")
            },
            "clients_per_shade": self.clients,
            "readings_per_shade": self.total_readings,
            "design_effect": round(self.design_effect, 4),
            "intraclass": round(self.intraclass, 4),
            "sd": {"between": round(self.sd_between, 4), "reading": round(self.sd_reading, 4)},
            "notes": list(self.notes),
            "basis": self.basis.to_dict(),
            "sentence": self.sentence,
        }


def study_size(
    model: SalonModel | FadePredictive | Fitted,
    difference: float | str,
    readings: int | str = 3,
    power: float | str = 0.8,
    *,
    washes: float | str = 20,
    measure: str = "level",
) -> StudySizeAnswer:
    """Clients for each shade that a comparison of two takes, from what the log says of spread and error.

    Parameters
    ----------
    model : SalonModel, FadePredictive or fitted FadeModel
    difference : float
        Share by which one shade fades faster, 0.02 to 2.
    readings : int
        Of each client, 1 to 20, evenly spread over the washes.
    power : float
        0.5 to 0.99, of a two-sided test at 5 %.
    washes : float
        At the last reading, 1 to 200.
    measure : {"level", "tone_left", "delta_e"}

    Returns
    -------
    StudySizeAnswer

    Raises
    ------
    InputError
        A number out of range; a model that says nothing of the measure.

    Notes
    -----
    A reading of progress m with error s tells log R to s / m; of several the mean of the information counts.
    Rounding adds a twelfth of the step squared. With the sd between clients and visits that gives the
    correlation of a client's readings, hence the design effect.
    """
    difference = read_number("difference", difference, 0.02, 2.0)
    times = read_whole("readings", readings, 1, 20)
    power = read_number("power", power, 0.5, 0.99)
    washes = read_washes("washes", washes)
    measure = read_word("measure", measure, tuple(THRESHOLDS))
    predictive = as_fade(model, measure)
    place = "roots" if "roots" in predictive.covariates else "toned"
    draws, recalibration = predictive.draws, predictive.recalibration
    between = recalibration.spread * float(np.hypot(draws["sd_client"].mean(), draws["sd_visit"].mean()))
    rates = fade_rates(predictive, place, [{}])
    information = 0.0
    error = recalibration.reading * float(draws["sd_result"].mean())
    variance = error**2 + predictive.step**2 / 12.0
    for number in range(1, times + 1):
        progress = float(np.median(rates.progress(washes * number / times)[0]))
        information += progress**2 / variance / times
    sd_reading = 1.0 / math.sqrt(information)
    total = between**2 + sd_reading**2
    intraclass = between**2 / total
    effect = design_effect(times, intraclass)
    needed = group_size(math.log1p(difference) / math.sqrt(total), power) * effect
    clients = math.ceil(needed / times)
    longest = predictive.support.numbers["washes"][3]
    notes = (f"the log follows hair for {longest:g} washes at most",) if washes > longest else ()
    if predictive.basis.clients < FEW_CLIENTS:
        few = f"{predictive.basis.clients} clients tell little of how clients differ"
        notes = (*notes, f"{few}: ask again with {FEW_CLIENTS} or more, and take some clients in reserve")
    return StudySizeAnswer(
        *(measure, difference, times, washes, power, clients, clients * times, effect, intraclass),
        *(between, sd_reading, notes, predictive.basis),
    )
