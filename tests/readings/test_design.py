"""Covariates as named columns: values by hand, and properties over random logs."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from outcomes.errors import InputError, ModelFileError
from outcomes.readings.design import Design
from outcomes.readings.learn import learn_design


def visits(**changed: Any) -> dict[str, np.ndarray]:
    """Eight visits in which every covariate varies apart from the others."""
    words = {
        "heat": ["none", "low", "none", "low", "none", "low", "none", "low"],
        "hair": ["natural", "natural", "coloured", "coloured", "natural", "natural", "coloured", "natural"],
    }
    numbers = {
        "peroxide_pct": [6.0, 6.0, 6.0, 12.0, 9.0, 12.0, 9.0, 3.0],
        "start_level": [2.0, 3.0, 4.0, 5.0, 6.0, 3.0, 4.0, 2.0],
    }
    columns: dict[str, np.ndarray] = {key: np.array(value, dtype=object) for key, value in words.items()}
    columns |= {key: np.array(value) for key, value in numbers.items()}
    for key, value in changed.items():
        text = any(isinstance(v, str) for v in value)
        columns[key] = np.array(value, dtype=object) if text else np.array(value, dtype=float)
    return columns


FIRST = np.zeros(8, dtype=bool)


def column(design: Design, columns: dict[str, np.ndarray], name: str, later: Any = FIRST) -> np.ndarray:
    return design.encode(columns, later)[:, design.names.index(name)]


def test_values_of_needed_columns() -> None:
    columns = visits()
    design = learn_design(columns, FIRST)
    assert design.names == (
        "intercept",
        "peroxide",
        "heat[low]",
        "hair[coloured]",
        "start_level[1]",
        "start_level[2]",
    )
    assert column(design, columns, "intercept").tolist() == [1.0] * 8
    assert column(design, columns, "peroxide")[[0, 3, 7]] == pytest.approx([0.0, math.log(2), -math.log(2)])
    assert column(design, columns, "heat[low]").tolist() == [0, 1, 0, 1, 0, 1, 0, 1]


def test_start_level_spline_by_hand() -> None:
    # Knots 2, 3, 6 (10, 50, 90 % of the levels, each one that occurs); formula of the docstring.
    columns = visits()
    design = learn_design(columns, FIRST)
    assert design.terms[4].knots == (2.0, 3.0, 6.0)  # type: ignore[union-attr]
    assert column(design, columns, "start_level[1]").tolist() == [-1, 0, 1, 2, 3, 0, 1, -1]
    bend_at = {2.0: 0.0, 3.0: 1 / 16, 4.0: (8 - 4 / 3) / 16, 6.0: (64 - 27 * 4 / 3) / 16}
    bend = column(design, columns, "start_level[2]")
    for row, level in [(0, 2.0), (1, 3.0), (2, 4.0), (4, 6.0)]:
        assert bend[row] == pytest.approx(bend_at[level] - bend_at[3.0])


def test_spline_is_straight_beyond_its_outer_knots() -> None:
    design = learn_design(visits(), FIRST)
    beyond = visits(start_level=[7.0, 8.0, 9.0, 10.0, 1.0, 1.5, 2.0, 3.0])
    bend = column(design, beyond, "start_level[2]")
    assert np.diff(bend[:4], 2) == pytest.approx([0.0, 0.0], abs=1e-12)
    assert bend[4] == bend[5] == bend[6]


def test_new_data_moves_neither_knots_nor_categories() -> None:
    columns = visits(wrap=["foil", "open", "film", "foil", "film", "open", "foil", "film"])
    design = learn_design(columns, FIRST)
    one = {key: value[3:4] for key, value in columns.items()}
    assert design.encode(one, [False])[0].tolist() == design.encode(columns, FIRST)[3].tolist()


def test_partly_missing_words_get_a_category_of_their_own() -> None:
    columns = visits(texture=["fine", None, "medium", "medium", None, "fine", "medium", "medium"])
    design = learn_design(columns, FIRST)
    assert design.categories("texture") == ("medium", "fine", "not given")
    assert column(design, columns, "texture[not given]").tolist() == [0, 1, 0, 0, 1, 0, 0, 0]
    assert "texture[not given] rests on 2 of 8 visits." in design.notes


def test_partly_missing_numbers_stand_at_the_reference_beside_an_indicator() -> None:
    columns = visits(mix_ratio=[2.0, 1.0, math.nan, 2.0, math.nan, 2.0, 1.0, 2.0])
    design = learn_design(columns, FIRST)
    assert column(design, columns, "mix_ratio") == pytest.approx(np.log([1, 0.5, 1, 1, 1, 1, 0.5, 1]))
    assert column(design, columns, "mix_ratio[not given]").tolist() == [0, 0, 1, 0, 1, 0, 0, 0]


def test_missing_columns_are_left_out_and_noted() -> None:
    design = learn_design(visits(wrap=["foil"] * 8, applications=[1.0] * 8), FIRST)
    assert "texture is left out: no visit gives it." in design.notes
    assert "wrap is left out: every visit has foil." in design.notes
    assert "applications is left out: every visit that gives it has 1." in design.notes
    assert "later_session is left out: no visit is a later session." in design.notes


def test_later_session_loses_against_lightened_hair() -> None:
    hair = ["natural", "lightened", "natural", "natural", "lightened", "natural", "lightened", "natural"]
    later = np.array([word == "lightened" for word in hair])
    design = learn_design(visits(hair=hair), later)
    assert "hair[lightened]" in design.names
    assert "later_session" not in design.names
    assert any(note.startswith("later_session") and "hair[lightened]" in note for note in design.notes)


def test_absent_reference_gives_way_to_the_commonest_category() -> None:
    heat = ["low", "low", "low", "medium", "low", "medium", "medium", "low"]
    design = learn_design(visits(heat=heat), FIRST)
    assert design.categories("heat") == ("low", "medium")
    assert "heat is read against low: no visit has none." in design.notes


def test_few_start_levels_enter_as_a_line_and_one_not_at_all() -> None:
    line = learn_design(visits(start_level=[3.0, 4.0] * 4), FIRST)
    assert [name for name in line.names if "start" in name] == []  # the same pattern as heat: aliased
    line = learn_design(visits(start_level=[3.0] * 5 + [4.0] * 3), FIRST)
    assert [name for name in line.names if "start" in name] == ["start_level[1]"]
    flat = learn_design(visits(start_level=[3.0] * 8), FIRST)
    assert "start_level is left out: every visit starts at 3." in flat.notes


def test_unseen_category_is_refused_by_name() -> None:
    design = learn_design(visits(), FIRST)
    with pytest.raises(InputError, match=r"heat: found 'high'.*none or low"):
        design.encode(visits(heat=["high"] * 8), FIRST)
    single = learn_design(visits(wrap=["foil"] * 8), FIRST)
    with pytest.raises(InputError, match="wrap: found 'open'"):
        single.encode(visits(wrap=["open"] * 8), FIRST)


def test_missing_value_is_refused_where_the_log_always_gave_one() -> None:
    wrap = ["foil", "open", "film", "foil", "film", "open", "foil", "film"]
    design = learn_design(visits(wrap=wrap), FIRST)
    with pytest.raises(InputError, match=r"wrap: found no value.*foil, open, film"):
        design.encode(visits(), FIRST)
    with pytest.raises(InputError, match="peroxide_pct: found no value in 1 of 8 rows"):
        design.encode(visits(wrap=wrap, peroxide_pct=[math.nan] + [6.0] * 7), FIRST)
    with pytest.raises(InputError, match="peroxide_pct: found 0"):
        design.encode(visits(wrap=wrap, peroxide_pct=[0.0] + [6.0] * 7), FIRST)


def test_learning_refuses_stray_words_empty_needed_columns_and_no_visits() -> None:
    with pytest.raises(InputError, match="heat: found 'hot'"):
        learn_design(visits(heat=["hot"] * 8), FIRST)
    with pytest.raises(InputError, match="hair: found no value in 1 visits"):
        learn_design(visits(hair=[None] + ["natural"] * 7), FIRST)
    with pytest.raises(InputError, match="visits: found none"):
        learn_design({}, [])


def test_uneven_columns_are_refused() -> None:
    design = learn_design(visits(), FIRST)
    with pytest.raises(InputError, match="found 8 values; expected 3"):
        design.encode(visits(), FIRST[:3])


def test_damaged_design_is_a_model_file_error() -> None:
    stored = learn_design(visits(), FIRST).to_dict()
    with pytest.raises(ModelFileError, match="no term makes the columns heat\\[hot\\]"):
        Design.from_dict({**stored, "names": [*stored["names"], "heat[hot]"]})
    with pytest.raises(ModelFileError, match="kind 'magic'"):
        Design.from_dict({**stored, "terms": [{"kind": "magic"}]})
    with pytest.raises(ModelFileError, match="'linear'"):
        Design.from_dict({**stored, "terms": [{"kind": "linear"}]})
    with pytest.raises(ModelFileError, match="terms"):
        Design.from_dict({"names": [], "notes": []})


def test_design_loads_neither_pandas_nor_scipy() -> None:
    code = "import sys, outcomes.readings.design; print(sorted({'pandas', 'scipy'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@st.composite
def random_visits(draw: st.DrawFn) -> tuple[dict[str, np.ndarray], np.ndarray]:
    n = draw(st.integers(1, 60))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))

    def words(column: str, values: list[str | None]) -> None:
        some = draw(st.lists(st.sampled_from(values), min_size=1, max_size=4))
        columns[column] = rng.choice(np.array(some, dtype=object), n)

    def numbers(column: str, values: list[float]) -> None:
        some = draw(st.lists(st.sampled_from(values), min_size=1, max_size=4))
        columns[column] = rng.choice(np.array(some), n)

    columns: dict[str, np.ndarray] = {}
    words("heat", ["none", "low", "medium", "high"])
    words("hair", ["natural", "coloured", "lightened"])
    words("texture", ["fine", "medium", "coarse", None])
    words("zone", ["roots", "lengths", "ends", "all"])
    words("wrap", ["foil", "open", "film", None])
    words("colour_history", ["none", "one", "several", None])
    numbers("peroxide_pct", [1.5, 3.0, 6.0, 9.0, 12.0])
    numbers("start_level", [1.0, 2.0, 2.5, 3.0, 4.0, 6.0, 7.5])
    numbers("mix_ratio", [1.0, 1.5, 2.0, 3.0, math.nan])
    numbers("applications", [1.0, 2.0, 3.0, math.nan])
    later = columns["hair"] == "lightened" if draw(st.booleans()) else rng.random(n) < 0.3
    return columns, later.astype(bool)


@settings(max_examples=150, deadline=None)
@given(random_visits())
def test_any_log_gives_a_full_rank_design_that_survives_being_stored(
    log: tuple[dict[str, np.ndarray], np.ndarray],
) -> None:
    columns, later = log
    design = learn_design(columns, later)
    matrix = design.encode(columns, later)
    assert matrix.shape == (len(later), len(design.names))
    assert np.isfinite(matrix).all()
    assert np.linalg.matrix_rank(matrix / np.linalg.norm(matrix, axis=0)) == len(design.names)
    every = np.hstack([term.encode(columns, later) for term in design.terms])
    assert np.linalg.matrix_rank(every, tol=1e-8 * np.linalg.norm(every, 2)) == len(design.names)
    again = Design.from_dict(json.loads(json.dumps(design.to_dict())))
    assert again == design
    assert (again.encode(columns, later) == matrix).all()
    made = {name for term in design.terms for name in term.names}
    assert all(any(note.startswith(name) for note in design.notes) for name in made - set(design.names))
