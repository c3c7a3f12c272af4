"""Words of headings."""

from __future__ import annotations

import pytest

from outcomes.log.vocabulary import normalise


@pytest.mark.parametrize(
    ("heading", "key"),
    [("Start Level", "start_level"), ("  start-level ", "start_level"), ("Peroxide %", "peroxide_pct"),
     ("Processing (min)", "processing_min"), ("\ufeffvisit", "visit"), ("L*", "l")],
)  # fmt: skip
def test_normalise(heading, key):
    assert normalise(heading) == key
