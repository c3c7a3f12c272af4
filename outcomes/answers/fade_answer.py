"""The frozen answer about shades: what each fades by, how rates compare, who was never read; and its JSON."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from outcomes.answers.fading import COVERAGE, Band
from outcomes.predictive.distribution import Basis

__all__ = [
    "ALIKE_COVERAGE",
    "RATIO_COVERAGE",
    "THRESHOLDS",
    "Alike",
    "Dropout",
    "FadeAnswer",
    "Ratio",
    "ShadeRow",
]

RATIO_COVERAGE, ALIKE_COVERAGE = 0.95, 0.9

THRESHOLDS: Mapping[str, tuple[str, float]] = {
    "level": ("washes_to_one_level", 1.0),
    "tone_left": ("washes_to_half_tone", math.log(2.0)),
    "delta_e": ("washes_to_difference_3", 3.0),
}
"""By measure: what washes are counted until, and its progress."""


@dataclass(frozen=True)
class Alike:
    """Whether a ratio is shown to lie within the margin: two one-sided tests at 5 %, of that ratio by itself.

    Attributes
    ----------
    equivalent : bool
        Whether its band lies within the margin, which is whether both tests say so.
    p : float
        The larger of the two p values.
    low, high : float
        The 90 % band that decides.
    """

    equivalent: bool
    p: float
    low: float
    high: float

    def to_dict(self) -> dict[str, Any]:
        """As JSON values."""
        return {
            "equivalent": self.equivalent,
            "p": round(self.p, 6),
            "low": round(self.low, 4),
            "high": round(self.high, 4),
            "coverage": ALIKE_COVERAGE,
        }


@dataclass(frozen=True)
class Ratio:
    """How one shade's rate of fade stands to another's; all ratios of an answer hold together.

    Attributes
    ----------
    shade, reference : str
    value, low, high : float
        Its band is simultaneous: all of them hold at once 95 times in 100.
    alike : Alike or None
        Of the ratio by itself, where a margin was stated.
    """

    shade: str
    reference: str
    value: float
    low: float
    high: float
    alike: Alike | None = None

    def to_dict(self) -> dict[str, Any]:
        """As JSON values."""
        found: dict[str, Any] = {
            "value": round(self.value, 4),
            "low": round(self.low, 4),
            "high": round(self.high, 4),
            "simultaneous": True,
        }
        return found if self.alike is None else found | {"equivalence": self.alike.to_dict()}


@dataclass(frozen=True)
class ShadeRow:
    """One shade, as it fades on a new client's hair.

    Attributes
    ----------
    shade : str
    fade, per_wash : Band
        Progress after the washes asked about, and divided by them.
    ratio : Ratio
        Against the reference.
    until : Band
        Washes until the threshold of the measure.
    never : float
        Share of clients whose hair never gets there.
    clients, visits : int
        Read after washes.
    support : {"inside", "edge", "outside"}
    """

    shade: str
    fade: Band
    per_wash: Band
    ratio: Ratio
    until: Band
    never: float
    clients: int
    visits: int
    support: str


@dataclass(frozen=True)
class Dropout:
    """How far a row moves if the clients who were never read fade at another rate.

    Attributes
    ----------
    shade : str
    missing : float
        Share of clients who were never read.
    rate : float
        Factor on their rates.
    fade, until : Band
    never : float
    """

    shade: str
    missing: float
    rate: float
    fade: Band
    until: Band
    never: float


@dataclass(frozen=True)
class FadeAnswer:
    """Fade by shade.

    Attributes
    ----------
    measure, by : str
    washes : float
    reference : str
    rows : tuple of ShadeRow
    pairs : tuple of Ratio
        Every shade against every earlier one, where asked for.
    margin : float or None
        A ratio between 1 / (1 + margin) and 1 + margin counts as alike.
    dropout : tuple of Dropout
    notes : tuple of str
        About this answer.
    fit_notes : tuple of str
        What the fit has to say about itself.
    basis : Basis
    coverage : float
        Of the bands of fade and washes.
    ratio_coverage : float
        Of all ratios together.
    """

    measure: str
    by: str
    washes: float
    reference: str
    rows: tuple[ShadeRow, ...]
    pairs: tuple[Ratio, ...]
    margin: float | None
    dropout: tuple[Dropout, ...]
    notes: tuple[str, ...]
    fit_notes: tuple[str, ...]
    basis: Basis
    coverage: float = COVERAGE
    ratio_coverage: float = RATIO_COVERAGE

    def to_dict(self) -> dict[str, Any]:
        """The answer as JSON values."""
        until = THRESHOLDS[self.measure][0]
        rows = [
            {
                "shade": row.shade,
                "fade": row.fade.to_dict(),
                "per_wash": row.per_wash.to_dict(6),
                "ratio": row.ratio.to_dict(),
                until: {**row.until.to_dict(2), "never": round(row.never, 4)},
                "clients": row.clients,
                "visits": row.visits,
                "support": row.support,
            }
            for row in self.rows
        ]
        dropout = [
            {
                "shade": one.shade,
                "missing": round(one.missing, 4),
                "rate": one.rate,
                "fade": one.fade.to_dict(),
                until: {**one.until.to_dict(2), "never": round(one.never, 4)},
            }
            for one in self.dropout
        ]
        compared = [{"shade": r.shade, "reference": r.reference, **r.to_dict()} for r in self.pairs]
        return {
            "measure": self.measure,
            "by": self.by,
            "washes": self.washes,
            "reference": self.reference,
            "rows": rows,
            **({"pairs": compared} if self.pairs else {}),
            **({"margin": self.margin} if self.margin is not None else {}),
            "dropout": dropout,
            "coverage": self.coverage,
            "ratio_coverage": self.ratio_coverage,
            "notes": [*self.notes, *self.fit_notes],
            "basis": self.basis.to_dict(),
        }
