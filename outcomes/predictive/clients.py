"""The clients for whom plans are worked: new ones, or one whose earlier visits are known."""

from __future__ import annotations

from outcomes.predictive.chair import Openings, open_courses
from outcomes.predictive.known import KnownClient, known_client, strengths_of
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.past import Past
from outcomes.predictive.plans import Plans
from outcomes.predictive.rates import rate_tables
from outcomes.predictive.unknowns import Unknowns, cross_with_draws, draw_unknowns

__all__ = ["Clients"]


class Clients:
    """Opens courses for the same clients under every plan.

    Parameters
    ----------
    predictive : LiftPredictive
    plans : Plans
        All that will be asked; of one stylist and hair where a past is given.
    past : Past or None
    """

    def __init__(self, predictive: LiftPredictive, plans: Plans, past: Past | None) -> None:
        self._predictive, self._plans, self._past = predictive, plans, past
        self._tables = rate_tables(predictive, strengths_of(plans, past))

    def people(
        self, n: int, sessions: int, seed: int, draws: int | None = None
    ) -> tuple[Unknowns, KnownClient | None]:
        """What differs between clients.

        Parameters
        ----------
        n : int
            Clients, one of `lattice.SIZES`.
        sessions : int
            Followed, 1 to 12.
        seed : int
        draws : int, optional
            n clients for each of the first so many draws, instead of n in all.

        Returns
        -------
        Unknowns
        KnownClient or None
            None where they're new.

        Raises
        ------
        InputError
            As `lattice`.
        """
        predictive, past = self._predictive, self._past
        behind = len(past.visits) if past is not None else 0
        unknowns = draw_unknowns(predictive, self._tables, n, sessions, seed, past=behind)
        if draws is not None:
            unknowns = cross_with_draws(unknowns, draws)
        if past is None:
            return unknowns, None
        known = known_client(predictive, self._tables, self._plans, unknowns, past)
        return known.unknowns, known

    def opened(self, plans: Plans, unknowns: Unknowns, known: KnownClient | None) -> Openings:
        """Some of the plans, for these clients.

        Parameters
        ----------
        plans : Plans
        unknowns : Unknowns
        known : KnownClient or None
            From `people`.

        Returns
        -------
        Openings
        """
        given = self._past.given if self._past is not None else None
        courses = open_courses(self._predictive, self._tables, plans, unknowns, given)
        return courses if known is None else known.entered(courses)
