"""Mixed-effects regression of interval readings. Arrays in, numbers out."""

from outcomes.engine.conditional import log_by_category
from outcomes.engine.marginal import log_marginal
from outcomes.engine.mixed import fit_interval_mixed
from outcomes.engine.priors import Prior
from outcomes.engine.result import MixedFit

__all__ = ["MixedFit", "Prior", "fit_interval_mixed", "log_by_category", "log_marginal"]
