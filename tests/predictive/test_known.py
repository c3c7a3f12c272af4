"""A client whose earlier visits are known, against clients played by code of its own, kept if they match.

Readings come in half steps, so a played client whose readings are the very ones that were written is a draw
from the conditional distribution, with nothing else assumed.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from outcomes.predictive.distribution import Recalibration
from outcomes.predictive.follow import follow
from outcomes.predictive.looking import looks_ahead
from outcomes.predictive.past import LookedWay, Past, PastVisit
from outcomes.predictive.plans import Plans
from outcomes.predictive.practice import LookGaps, Practice
from outcomes.predictive.simulate import course_by_course, rate_of_client, simulate_courses
from tests.predictive.test_follow import told

PLAYED = 2_000_000
TRUTH = {
    "shape": 0.6, "sd_client": 0.25, "sd_stylist": 0.1, "sd_product": 0.0, "sd_visit": 0.15,
    "sd_result": 0.2, "sd_look": 0.25, "look_offset": -0.1, "sd_start": 0.2,
}  # fmt: skip
STYLISTS = np.array([-0.3, 0.0, 0.4])
SHARES = np.array([700, 600, 300]) / 1600
FREE = np.array([-0.2, 0.1])  # by texture, fine and others
PLAN = Plans(
    np.array([5.0]), np.array([9.0]), ("natural",), np.array([6.0]), ("low",), np.array([40.0]), (None,)
)


@pytest.fixture(scope="module")
def salon(make_predictive):
    """Everything known but the client: one draw; three stylists, textures of which the fine lift slowly."""
    design = make_predictive().design
    values = {"intercept": np.log(3.0), "later_session": -0.2, "texture[fine]": FREE[0] - FREE[1]}
    return make_predictive(
        **{name: np.array([value]) for name, value in TRUTH.items()},
        coefficients=np.array([[values.get(name, 0.0) for name in design.names]]),
        stylist=STYLISTS[None],
        product=np.zeros((1, 2)),
        covariates={hair: {"texture": (("fine", 0.3), ("medium", 0.7))} for hair in ("natural", "lightened")},
        look_gaps=LookGaps(np.zeros(0), np.zeros(0), np.zeros((3, 0))),
        practice=Practice(np.array([0.0, 1.0, 1.0]), np.zeros(0)),
        hazard=dataclasses.replace(make_predictive().hazard, coefficients=np.array([-50.0, *[0.0] * 6])),
    )


def a_visit(start, minutes, readings, *, later=False, copied=False, **more):
    """Readings are (minutes, look, level)."""
    at, look, level = (np.array(column, dtype=float) for column in zip(*readings, strict=True))
    return PastVisit(
        start=start, achieved=level[-1], goal=9.0, stop="time",
        hair=None if later else "natural", heat="none", peroxide=6.0, rinse=minutes,
        is_later=later, is_copied=copied, minutes=at, is_look=look > 0,
        lower=level - start - 0.25, upper=level - start + 0.25, **more,
    )  # fmt: skip


class Played:
    """Clients of the salon, as many as are played, each working the same visits."""

    def __init__(self, salon, seed, stylist=None, spread=1.0, later=1.0, reading=1.0):
        self.rng = np.random.default_rng(seed)
        self.spread, self.later, self.reading = spread, later, reading
        self.client = self.normal(TRUTH["sd_client"])
        which = np.full(PLAYED, stylist) if stylist is not None else self.rng.choice(3, PLAYED, p=SHARES)
        fine = self.rng.random(PLAYED) < 0.3
        base = np.log(3.0) + np.where(fine, FREE[0] - FREE[1], 0.0)
        self.stylist, self.fixed = which, base + STYLISTS[which]
        self.matches = np.ones(PLAYED, dtype=bool)
        self.visits = 0

    def normal(self, sd):
        return sd * self.rng.standard_normal(PLAYED)

    def work(self, start, minutes, readings, *, is_later, true=None):
        """Work a visit; those whose readings (minutes, look, level) are others no longer match."""
        true = start + self.normal(TRUTH["sd_start"]) if true is None else true
        luck = self.normal(TRUTH["sd_visit"]) * (self.later if self.visits else 1.0)
        self.visits += 1
        middle = self.fixed - 0.2 * is_later
        self.rate = np.exp(middle + self.spread * (self.client + luck))
        for at, look, level in readings:
            self.matches &= self.read(true, at, look) == level
        return np.minimum(true + self.rate * (minutes / 45) ** 0.6, 10.0)

    def read(self, true, minutes, look):
        sd, offset = ("sd_look", TRUTH["look_offset"]) if look else ("sd_result", 0.0)
        exact = true + self.rate * (minutes / 45) ** 0.6 + offset + self.normal(self.reading * TRUTH[sd])
        return np.clip(np.floor(exact / 0.5 + 0.5) * 0.5, 1, 10)


def shares_done(played, level, goal, is_later):
    """Chances to read the goal in session 1 and in session 2, from true levels before."""
    done, shares = np.zeros(PLAYED, dtype=bool), []
    for _ in range(2):
        end = played.work(None, 40, [], is_later=is_later, true=level)
        read = np.floor((end + played.normal(played.reading * TRUTH["sd_result"])) / 0.5 + 0.5) * 0.5
        now = (read >= goal) & ~done
        shares.append(now[played.matches].mean())
        done |= now
        level, is_later = end, True
    return shares


ONE = [(20.0, True, 4.0), (40.0, False, 5.0)]
TWO = [(40.0, False, 6.0)]


def test_one_visit_with_a_look(salon):
    past = Past((a_visit(3.0, 40.0, ONE),), continues=True, is_copied=True, counted=1)
    found = simulate_courses(salon, PLAN, 16384, 1, limit=3, draws=1, per_draw=4096, past=past)
    played = Played(salon, 1)
    end = played.work(3.0, 40, ONE, is_later=False)
    assert played.matches.sum() > 40_000
    shares = shares_done(played, end, 9.0, True)
    # 40,000 clients leave a standard error of 0.0025 at most, the courses 0.002
    assert found.sessions[0, :2] == pytest.approx(shares, abs=0.01)
    assert found.today[0, 0] == pytest.approx(shares[0], abs=0.012)
    rate = rate_of_client(salon, PLAN, 16384, 1, past)
    among = np.quantile(np.exp(played.client[played.matches]), [0.1, 0.5, 0.9])
    assert (rate.low, rate.ratio, rate.high) == pytest.approx(tuple(among), rel=0.01)


def test_two_visits_that_share_a_level(salon):
    past = Past(
        (a_visit(3.0, 40.0, ONE), a_visit(5.0, 40.0, TWO, later=True, copied=True)),
        continues=True, is_copied=True, counted=2,
    )  # fmt: skip
    plan = dataclasses.replace(PLAN, start=np.array([6.0]), goal=np.array([8.0]))
    found = simulate_courses(salon, plan, 16384, 1, limit=3, draws=1, per_draw=32, past=past).sessions[0]
    played = Played(salon, 2)
    end = played.work(3.0, 40, ONE, is_later=False)
    end = played.work(5.0, 40, TWO, is_later=True, true=end)
    assert played.matches.sum() > 5_000
    assert found[:2] == pytest.approx(shares_done(played, end, 8.0, True), abs=0.02)


def test_a_new_course_of_a_known_stylist_starts_anew(salon):
    past = Past(
        (a_visit(3.0, 40.0, ONE, stylist="S3", given={"texture": "fine"}),),
        continues=False,
        is_copied=False,
        counted=1,
    )
    plan = dataclasses.replace(PLAN, start=np.array([4.0]), goal=np.array([6.5]), stylist=("S1",))
    found = simulate_courses(salon, plan, 16384, 1, limit=3, draws=1, per_draw=32, past=past).sessions[0]
    played = Played(salon, 3, stylist=2)
    played.fixed = np.full(PLAYED, np.log(3.0) + STYLISTS[2] + FREE[0] - FREE[1])
    played.work(3.0, 40, ONE, is_later=False)
    # the hair stays fine, in other hands
    played.fixed = np.full(PLAYED, np.log(3.0) + STYLISTS[0] + FREE[0] - FREE[1])
    level = 4.0 + played.normal(TRUTH["sd_start"])
    assert found[:2] == pytest.approx(shares_done(played, level, 6.5, False), abs=0.012)


def test_recalibrated(salon):
    wide = dataclasses.replace(salon, recalibration=Recalibration(spread=1.4, reading=1.2, later=1.5))
    past = Past((a_visit(3.0, 40.0, ONE),), continues=True, is_copied=True, counted=1)
    found = simulate_courses(wide, PLAN, 16384, 1, limit=3, draws=1, per_draw=32, past=past).sessions[0]
    played = Played(salon, 4, spread=1.4, later=1.5, reading=1.2)
    # deviations count from the middle of this stylist's hair of this texture, which stay where they are
    end = played.work(3.0, 40, ONE, is_later=False)
    assert found[:2] == pytest.approx(shares_done(played, end, 9.0, True), abs=0.012)


@pytest.mark.parametrize("wrote", [5.0, 4.5])
def test_looks_that_nobody_wrote_down_and_a_result_read_anew(salon, wrote):
    """A result below the goal can't be the look that read it: who writes that look didn't work there."""
    ways = (LookedWay(0.4, np.array([20.0])), LookedWay(0.6, np.array([30.0, 35.0])))
    read = [(40.0, False, wrote)]
    visit = a_visit(3.0, 40.0, read, ways=ways, not_yet=1.75, stopped_above=1.75)
    past = Past((visit,), continues=True, is_copied=True, counted=1)
    found = simulate_courses(
        salon,
        PLAN,
        16384,
        1,
        limit=3,
        draws=1,
        per_draw=32,
        past=past,
    ).sessions[0]
    played = Played(salon, 5)
    true = 3.0 + played.normal(TRUTH["sd_start"])
    end = played.work(3.0, 40, [], is_later=False, true=true)
    early = played.rng.random(PLAYED) < 0.4
    not_yet = np.where(
        early,
        played.read(true, 20, True) < 5.0,
        (played.read(true, 30, True) < 5.0) & (played.read(true, 35, True) < 5.0),
    )
    # stylists 1 and 2 read results anew, after a look that read the goal; stylist 0 writes that look
    look, result = played.read(true, 40, True), played.read(true, 40, False)
    written = np.where(look >= 5.0, np.where(played.stylist == 0, look, result), np.nan)
    played.matches &= not_yet & (written == wrote)
    assert played.matches.sum() > (40_000 if wrote == 5.0 else 10_000)
    assert found[:2] == pytest.approx(shares_done(played, end, 9.0, True), abs=0.012)


def test_a_stylist_who_never_reads_anew_did_so_once(salon):
    """A result below the goal at which it was rinsed: written by stylist 1 as by one who reads anew."""

    def after(stylist):
        visit = a_visit(3.0, 40.0, [(40.0, False, 4.5)], not_yet=1.75, stopped_above=1.75, stylist=stylist)
        past = Past((visit,), continues=False, is_copied=False, counted=1)
        return rate_of_client(alike, PLAN, 16384, 1, past)

    alike = dataclasses.replace(salon, draws={**salon.draws, "stylist": np.zeros((1, 3))})
    never, always = after("S1"), after("S2")
    assert never.ratio == pytest.approx(always.ratio, rel=0.005)
    assert never.courses > 4000


@pytest.mark.parametrize("visits", [1, 3])
def test_where_readings_are_exact_it_is_the_textbook_shrinkage(salon, visits):
    """Best linear unbiased prediction: with variances a between and b within clients, the mean of m visits'
    deviations counts a / (a + b / m); Searle, Casella & McCulloch, Variance Components (1992), chapter 7;
    from memory."""
    sharp = dict.fromkeys(("sd_result", "sd_look", "sd_start"), np.array([1e-4]))
    sharp |= {"look_offset": np.zeros(1), "stylist": np.zeros((1, 3))}
    one = dataclasses.replace(
        salon, draws={**salon.draws, **sharp}, covariates={"natural": {}, "lightened": {}}, step=0.5
    )
    rates = [3.3, 4.1, 3.7][:visits]
    worked = []
    for rate in rates:
        exact = np.array([rate * (40 / 45) ** 0.6])
        visit = a_visit(3.0, 40.0, [(40.0, False, 5.0)])
        worked.append(dataclasses.replace(visit, lower=exact - 1e-4, upper=exact + 1e-4))
    past = Past(tuple(worked), continues=False, is_copied=False, counted=visits)
    found = rate_of_client(one, PLAN, 16384, 1, past)
    a, b = TRUTH["sd_client"] ** 2, TRUTH["sd_visit"] ** 2
    share = a / (a + b / visits)
    assert np.log(found.ratio) == pytest.approx(share * np.mean(np.log(np.array(rates) / 3.0)), abs=0.004)
    half = 1.2815515655446004 * np.sqrt(a * (1.0 - share))  # the normal's 90 % quantile
    assert np.log(found.high / found.low) == pytest.approx(2 * half, rel=0.02)


def test_readings_that_say_nothing_change_nothing(predictive):
    nothing = dataclasses.replace(
        a_visit(3.0, 40.0, [(40.0, False, 5.0)]), lower=np.array([-np.inf]), upper=np.array([np.inf])
    )
    past = Past((nothing,), continues=False, is_copied=False, counted=1)
    before = simulate_courses(predictive, PLAN, 16384, 1, limit=3, draws=50, per_draw=256)
    after = simulate_courses(predictive, PLAN, 16384, 1, limit=3, draws=50, per_draw=256, past=past)
    assert after.sessions[0] == pytest.approx(before.sessions[0], abs=0.004)
    assert after.levels[0] == pytest.approx(before.levels[0], abs=0.004)
    assert after.today_weight == pytest.approx(1.0, abs=0.05)
    assert rate_of_client(predictive, PLAN, 16384, 1, past).ratio == pytest.approx(1.0, abs=0.01)


def test_a_slow_first_session_moves_every_number_down(predictive):
    def after(level):
        visit = a_visit(3.0, 40.0, [(40.0, False, level)])
        past = Past((visit,), continues=False, is_copied=False, counted=1)
        rate = rate_of_client(predictive, PLAN, 16384, 1, past)
        found = simulate_courses(predictive, PLAN, 16384, 1, limit=3, draws=100, per_draw=1024, past=past)
        return rate.ratio, found.sessions[0, 0], np.average(found.today[0], weights=found.today_weight[0])

    slow, middle, fast = (after(level) for level in (5.0, 6.5, 8.0))
    assert slow < middle < fast
    for one in (slow, middle, fast):
        assert one[2] == pytest.approx(one[1], abs=0.02)


def test_course_by_course_adds_up_to_the_whole(salon):
    past = Past((a_visit(3.0, 40.0, ONE),), continues=True, is_copied=True, counted=1)
    whole = simulate_courses(salon, PLAN, 16384, 1, limit=3, draws=1, per_draw=32, past=past).sessions
    chances, weight = course_by_course(salon, PLAN, 16384, 1, limit=3, past=past)
    assert chances.sum(axis=2) == pytest.approx(1.0, abs=1e-9)
    assert (chances * weight[:, :, None]).mean(axis=1) == pytest.approx(whole, abs=1e-9)


@pytest.mark.parametrize("level", [4.5, 6.0])
def test_it_expects_what_particles_that_follow_a_log_expect(make_predictive, level):
    """The other route to the same conditional distribution: visits followed reading by reading."""
    one = {name: np.array([value]) for name, value in TRUTH.items()}
    coefficients = make_predictive().draws["coefficients"].mean(axis=0)[None]
    single = make_predictive(
        **one, coefficients=coefficients, stylist=np.array([[-0.1, 0.0, 0.12]]), product=np.zeros((1, 2))
    )
    gained = level - 3.0
    visits = told(
        single,
        [(3.0, 40, 0), (4.0, 30, 0)],
        [(0, 20, 1, 0.75, 1.25), (0, 40, 0, gained - 0.25, gained + 0.25), (1, 30, 0, 2.25, 2.75)],
    )
    followed = follow(single, visits, 16384, 1)
    readings = [(20.0, True, 4.0), (40.0, False, level)]
    before = dataclasses.replace(
        a_visit(3.0, 40.0, readings, stylist="S2", given={"texture": "medium", "product": None}), heat="low"
    )
    past = Past((before,), continues=False, is_copied=False, counted=1)
    plan = dataclasses.replace(
        PLAN, start=np.array([4.0]), goal=np.array([9.0]), minutes=np.array([30.0]), stylist=("S2",)
    )
    levels = looks_ahead(single, plan, np.array([30.0]), 16384, 1, worth=0.05, past=past).levels[0]
    below = levels.cumsum()
    # 6.5 is the level of the second visit's result: below it, and up to it
    assert below[round(2 * (6.0 - 1.0))] == pytest.approx(followed.low[2], abs=0.005)
    assert below[round(2 * (6.5 - 1.0))] == pytest.approx(followed.high[2], abs=0.005)


@pytest.mark.parametrize(
    ("readings", "lower", "upper"),
    [
        ([(40.0, False, 3.0)], [-np.inf], [0.25]),  # it seemed not to move
        ([(40.0, False, 3.5)], [0.25], [0.75]),
        ([(20.0, True, 3.0), (40.0, False, 3.0)], [-np.inf, -np.inf], [0.25, 0.25]),
    ],
)
def test_hair_that_hardly_moved(salon, readings, lower, upper):
    """Slow hair, so that the played ones that match are many."""
    slow = dataclasses.replace(
        salon, draws={**salon.draws, "coefficients": salon.draws["coefficients"] - _intercept(salon, 1.3)}
    )
    visit = a_visit(3.0, 40.0, readings)
    visit = dataclasses.replace(visit, lower=np.array(lower), upper=np.array(upper))
    past = Past((visit,), continues=True, is_copied=readings[-1][2] == 3.0, counted=1)
    plan = dataclasses.replace(PLAN, start=np.array([3.0]), goal=np.array([4.5]))
    found = simulate_courses(slow, plan, 16384, 1, limit=3, draws=1, per_draw=32, past=past).sessions[0]
    played = Played(salon, 6)
    played.fixed -= 1.3
    written = [(at, look, level) for at, look, level in readings]
    true = 3.0 + played.normal(TRUTH["sd_start"])
    end = played.work(3.0, 40, [], is_later=False, true=true)
    for at, look, level in written:
        read = played.read(true, at, look)
        # at or below the start says "not above it", whatever it was
        played.matches &= read <= 3.0 if level == 3.0 else read == level
    assert played.matches.sum() > 20_000
    level = end if past.is_copied else 3.0 + played.normal(TRUTH["sd_start"])
    assert found[:2] == pytest.approx(shares_done(played, level, 4.5, True), abs=0.012)
    rate = rate_of_client(slow, plan, 16384, 1, past)
    among = np.quantile(np.exp(played.client[played.matches]), [0.1, 0.5, 0.9])
    assert (rate.low, rate.ratio, rate.high) == pytest.approx(tuple(among), rel=0.015)
    assert rate.courses > 4000


def _intercept(salon, amount):
    return np.array([[amount if name == "intercept" else 0.0 for name in salon.design.names]])


def test_hair_at_the_end_of_the_scale(salon):
    visit = a_visit(7.0, 40.0, [(40.0, False, 10.0)])
    visit = dataclasses.replace(visit, upper=np.array([np.inf]))
    past = Past((visit,), continues=False, is_copied=False, counted=1)
    plan = dataclasses.replace(PLAN, start=np.array([5.0]), goal=np.array([8.5]))
    found = simulate_courses(salon, plan, 16384, 1, limit=3, draws=1, per_draw=32, past=past).sessions[0]
    played = Played(salon, 7)
    played.work(7.0, 40, [(40.0, False, 10.0)], is_later=False)
    level = 5.0 + played.normal(TRUTH["sd_start"])
    assert found[:2] == pytest.approx(shares_done(played, level, 8.5, False), abs=0.012)
    assert rate_of_client(salon, plan, 16384, 1, past).courses > 4000


def test_slower_and_slower_hair_is_never_faster(predictive):
    """Also where it seemed not to move at all, which a normal about nothing would tell of worst."""
    rates, chances = [], []
    for level in (3.0, 3.5, 4.0, 5.0, 6.0, 7.0):
        visit = a_visit(3.0, 40.0, [(40.0, False, level)])
        if level == 3.0:
            visit = dataclasses.replace(visit, lower=np.array([-np.inf]), upper=np.array([0.25]))
        past = Past((visit,), continues=False, is_copied=False, counted=1)
        rate = rate_of_client(predictive, PLAN, 16384, 1, past)
        found = simulate_courses(predictive, PLAN, 16384, 1, limit=2, draws=1, per_draw=32, past=past)
        assert rate.courses > 1000
        rates.append(rate.ratio)
        chances.append(found.sessions[0, :2].sum())
    assert rates == sorted(rates)
    assert chances == sorted(chances)
    assert rates[0] < 0.7


def test_what_can_not_be_tells_nothing_and_is_known_to(predictive):
    visit = a_visit(3.0, 1.0, [(1.0, False, 8.0)])
    past = Past((visit,), continues=False, is_copied=False, counted=1)
    assert rate_of_client(predictive, PLAN, 16384, 1, past).courses < 100
