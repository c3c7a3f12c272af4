"""Suppression carried out: the tables of a review without what few clients stand behind."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from outcomes.review.measures import Measured, clients_by
from outcomes.review.suppress import suppressed

__all__ = ["Shown"]

_COLUMNS = (
    *("rate_raw", "rate", "rate_low", "rate_high"),
    *("goal_observed", "goal_expected", "goal_n", "goal_share", "goal_share_low", "goal_share_high"),
    *("promise_quoted", "promise_needed", "promise_within", "promise_n"),
    *("loss_observed", "loss_expected", "loss_n"),
    *("fade", "fade_low", "fade_high", "change", "change_low", "change_high"),
    *("best_third", "lowest_third"),
)


@dataclass(frozen=True, eq=False)
class Shown:
    """Who of a team may be shown.

    Attributes
    ----------
    visits : mapping of str to int
        Of every stylist of the quarter.
    clients : mapping of str to set of str
    everyone : int
        Different clients of the team.
    least : int
    hidden : frozenset of str
    """

    visits: Mapping[str, int]
    clients: Mapping[str, frozenset[str]]
    everyone: int
    least: int
    hidden: frozenset[str]

    @classmethod
    def of(cls, visits: pd.DataFrame, least: int) -> Shown:
        """Who may be shown of a quarter.

        Parameters
        ----------
        visits : DataFrame
            The quarter's: `stylist`, `client`.
        least : int
            Clients.

        Returns
        -------
        Shown

        Raises
        ------
        InputError
            As `suppressed`.
        """
        clients = clients_by(visits, "stylist")
        counts = {str(code): int(n) for code, n in visits.groupby("stylist").size().items()}
        return cls(counts, clients, int(visits["client"].nunique()), least, suppressed(clients, least))

    @property
    def stylists(self) -> tuple[str, ...]:
        """Who may be shown, by code."""
        return tuple(code for code in sorted(self.clients) if code not in self.hidden)

    @property
    def team(self) -> bool:
        """Whether the team's own numbers may be shown."""
        return self.everyone >= self.least

    def hides(self, part: Measured) -> frozenset[str]:
        """Whose numbers of one measure aren't shown: it may rest on fewer clients than the visits do.

        Parameters
        ----------
        part : Measured

        Returns
        -------
        frozenset of str
        """
        strangers = set(part.clients) - set(self.clients)  # who quoted, but has no visit in the quarter
        return suppressed(part.clients, self.least, self.hidden | strangers) | self.hidden | strangers

    def table(self, parts: Iterable[Measured], quality: pd.DataFrame) -> pd.DataFrame:
        """One row for each stylist, by code.

        Parameters
        ----------
        parts : iterable of Measured
        quality : DataFrame
            Index: stylist.

        Returns
        -------
        DataFrame
            As `TeamReview.stylists`.
        """
        codes = sorted(self.clients)
        numbers = pd.DataFrame(np.nan, index=pd.Index(codes, dtype=object), columns=list(_COLUMNS))
        for part in parts:
            own = part.table.drop(index=list(self.hides(part)), errors="ignore")
            for name in own.columns:
                numbers[name] = own[name].reindex(codes).astype(float)
        numbers = numbers.join(quality.reindex(codes))
        hidden = np.array([code in self.hidden for code in codes])
        numbers.loc[hidden] = np.nan
        counts = pd.DataFrame(
            {
                "stylist": pd.Series(codes, dtype=object),
                "suppressed": hidden,
                "visits": np.where(hidden, np.nan, [self.visits[code] for code in codes]),
                "clients": np.where(hidden, np.nan, [len(self.clients[code]) for code in codes]),
            }
        )
        return pd.concat([counts, numbers.reset_index(drop=True)], axis=1)

    def of_team(self, part: Measured) -> dict[str, Any] | None:
        """The team's own numbers of one measure; None where there are none or few clients stand behind.

        Parameters
        ----------
        part : Measured

        Returns
        -------
        dict or None
        """
        return dict(part.team) if part.team and part.everyone >= self.least else None

    def promises(self, kept: pd.DataFrame, courses: pd.DataFrame) -> pd.DataFrame:
        """Promises by the number quoted, NaN where few clients stand behind a number.

        Parameters
        ----------
        kept : DataFrame
            As `kept_promises` gives it by "quoted".
        courses : DataFrame
            That it counts.

        Returns
        -------
        DataFrame
        """
        told = kept.astype(float)
        settled = courses["settled"].to_numpy(dtype=bool)
        for rows, names in (
            (courses[settled], ["needed", "within", "n"]),
            (courses[~settled], ["unsettled"]),
        ):
            hidden = suppressed(clients_by(rows, "quoted"), self.least)
            told.loc[told["quoted"].astype(str).isin(hidden), names] = np.nan
        return told
