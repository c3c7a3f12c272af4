"""What the page carries of a model: small, whole, and the same draws."""

from __future__ import annotations

import base64
import json
import math
import zlib
from dataclasses import replace

import numpy as np
import pytest

from outcomes.predictive.plans import HAIR
from outcomes.predictive.rates import rate_tables
from outcomes.predictive.saved import SalonModel
from outcomes.show.page import pack
from outcomes.show.page.pack import page_model
from tests.predictive.fades import invented_fade
from tests.show.page_cases import read_again, replace_fade


def unpacked(data):
    """Facts and arrays, read as the scripts read them."""
    about = json.loads(data["about"])
    whole = base64.b64decode(data["arrays"])
    arrays = {}
    for name, entry in about["arrays"].items():
        kind, size = "<" + entry["kind"], math.prod(entry["shape"])
        values = np.frombuffer(whole, kind, size, entry["at"]).astype(float).reshape(entry["shape"])
        arrays[name] = entry["low"] + entry["step"] * values if kind == "<u2" else values
    return about, arrays


def large(make_predictive, stylists, products, shades):
    """A model of a large team, its fade by many shades."""
    rng = np.random.default_rng(1)
    codes = tuple(f"S{i:02}" for i in range(stylists))
    gaps = make_predictive().look_gaps
    lift = make_predictive(
        stylists=codes,
        stylist_visits=np.full(stylists, 100),
        products=tuple(f"P{i}" for i in range(products)),
        product_visits=np.full(products, 100),
        stylist=0.1 * rng.standard_normal((400, stylists)),
        product=0.1 * rng.standard_normal((400, products)),
        look_gaps=replace(gaps, by_stylist=np.tile(gaps.share, (stylists, 1))),
    )
    names = tuple(f"{1 + i // 10:g} tone{i % 10}" for i in range(shades))
    fade = {}
    for measure, known in (("level", names), ("tone_left", ())):
        one = invented_fade(measure)
        draws = dict(one.draws) | {
            "stylist": 0.1 * rng.standard_normal((400, stylists)),
            "product": 0.1 * rng.standard_normal((400, len(known))),
        }
        fade[measure] = replace_fade(
            one,
            draws=draws,
            stylists=codes,
            stylist_visits=np.full(stylists, 50),
            products=known,
            product_visits=np.full(len(known), 10),
        )
    return SalonModel(lift, fade, {})


def test_the_checksum_is_over_both_texts(predictive):
    data = page_model(SalonModel(predictive))
    assert (data["format"], data["version"]) == ("outcomes-page-model", 1)
    assert int(data["checksum"], 16) == zlib.crc32((data["about"] + data["arrays"]).encode())
    assert data == page_model(SalonModel(predictive))


def test_draws_are_carried_to_seven_digits(predictive):
    about, arrays = unpacked(page_model(SalonModel(predictive)))
    for name in ("coefficients", "shape", "sd_client", "stylist", "product", "look_offset", "saturating"):
        assert arrays[f"lift.{name}"] == pytest.approx(predictive.draws[name], rel=1e-7)
    assert about["choices"]["stylists"] == ["S1", "S2", "S3"]
    assert about["choices"]["leftOut"] == dict.fromkeys(
        ("level", "tone_left"), "the log has no readings of it after washes"
    )


def test_draws_of_a_model_file_are_carried_as_they_are(predictive, tmp_path):
    """The nearest 32-bit number to one of 7 digits is near no other, but from 2^-10 to 0.001 and the like."""
    model = read_again(SalonModel(predictive), tmp_path / "m.json")
    about, arrays = unpacked(page_model(model))
    assert about["arrays"]["lift.coefficients"]["digits"] == 7
    for name, values in model.lift.draws.items():
        if f"lift.{name}" in arrays:
            again = np.array([float(f"{value:.7g}") for value in arrays[f"lift.{name}"].ravel()])
            assert (again == values.ravel()).mean() > 0.998
            assert again == pytest.approx(values.ravel(), rel=2e-7)


def test_rows_times_coefficients_are_the_tables_of_log_rates(predictive):
    about, arrays = unpacked(page_model(SalonModel(predictive)))
    rows, coefficients = about["lift"]["rows"], arrays["lift.coefficients"]
    strengths = (1.5, 3.0, 7.5, 12.0)
    tables = rate_tables(predictive, strengths)

    def worth(row):
        return coefficients @ np.array(row)

    assert worth(rows["base"]) == pytest.approx(tables.base[:-1], abs=1e-6)
    assert worth(rows["later"]) == pytest.approx(tables.later[:-1], abs=1e-6)
    for strength in strengths:  # one row stands for all of them
        found = math.log(strength / 6.0) * worth(rows["peroxide_pct"][0])
        assert found == pytest.approx(tables.peroxide[strength][:-1], abs=1e-6)
    for place, _ in enumerate(HAIR):
        assert worth(rows["hair"][place]) == pytest.approx(tables.hair[place, :-1], abs=1e-6)
    values, table = tables.covariates["texture"]
    assert len(rows["texture"]) == len(values)
    assert worth(rows["texture"][2]) == pytest.approx(table[2, :-1], abs=1e-6)


def test_a_large_team_fits(make_predictive):
    data = page_model(large(make_predictive, 30, 12, 80))
    assert len(data["about"]) + len(data["arrays"]) < 1_000_000
    assert all(entry["kind"] == "f4" for entry in json.loads(data["about"])["arrays"].values())


def test_a_team_that_would_not_fit_is_carried_in_fewer_bits(make_predictive):
    model = large(make_predictive, 90, 20, 180)
    data = page_model(model)
    assert len(data["about"]) + len(data["arrays"]) < 1_000_000
    about, arrays = unpacked(data)
    kinds = {name: entry["kind"] for name, entry in about["arrays"].items()}
    assert sorted(name for name, kind in kinds.items() if kind == "u2") == [
        *("level.product", "level.stylist", "lift.product", "lift.stylist", "tone_left.stylist"),
    ]
    # half a step of 65,535 between the ends of normal draws with an sd of 0.1
    for part, fit in (("lift", model.lift), ("level", model.fade["level"])):
        for codes in ("stylist", "product"):
            assert arrays[f"{part}.{codes}"] == pytest.approx(fit.draws[codes], abs=1e-5)
            ends = fit.draws[codes].min(), fit.draws[codes].max()
            assert (arrays[f"{part}.{codes}"].min(), arrays[f"{part}.{codes}"].max()) == pytest.approx(ends)


def test_nothing_but_numbers_and_words_is_carried(predictive):
    """No field of a row: whom a visit was of is never told."""
    about, _ = unpacked(page_model(SalonModel(predictive, {"level": invented_fade("level")}, {})))
    assert set(about) == {
        *(
            "choices",
            "lattice",
            "limit",
            "most_sessions",
            "most_past",
            "few_courses",
            "no_courses",
            "course_rule",
        ),
        *("starter_note", "rare_note", "hardly_note", "lift", "fade", "arrays"),
    }
    assert pack.LIMIT == 6
