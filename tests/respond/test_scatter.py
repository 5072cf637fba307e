"""How the next set differs from the level: who reads, its own noise, readers apart."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from greenwright.respond.ahead import forecast
from greenwright.respond.learning import LearnedOutcome
from greenwright.respond.scatter import LATEST, borne_out, scatter
from tests.respond.handmade import GREENS, outcome, record


@pytest.fixture(scope="module")
def learned() -> LearnedOutcome:
    return outcome()


def test_readers_count_as_often_as_they_lately_read(learned: LearnedOutcome) -> None:
    rows, border = learned.plain.layout.rows, learned.plain.layout.border
    first, end = border.groups[0]
    shares = scatter(learned).seen_by
    assert shares.shape == (len(GREENS), border.fixed)
    for unit in range(len(GREENS)):
        latest = rows.members["who"][rows.unit == unit][-LATEST:]
        # by hand: how many of the latest sets each of the two read
        wanted = np.bincount(latest, minlength=2) / len(latest)
        assert shares[unit, first:end] == pytest.approx(wanted)
        assert shares[unit].sum() == pytest.approx(1.0)


def test_a_set_s_own_noise_is_a_ball_s_over_their_number_and_the_set_s(
    learned: LearnedOutcome,
) -> None:
    hypers = [at.hyper for at in learned.fit.at]
    wanted = [h["noise_sd"] ** 2 / 4 + h["set_sd"] ** 2 for h in hypers]  # four rolls a set
    assert scatter(learned).own == pytest.approx(np.repeat(np.array(wanted)[:, None], 3, axis=1))


def test_readers_apart_spread_the_next_set(learned: LearnedOutcome) -> None:
    first = learned.fit.layout.border.groups[0][0]

    def moved(at, by: float):  # type: ignore[no-untyped-def]
        mean = at.mean.copy()
        mean[first : first + 2] = (by, -by)
        return replace(at, mean=mean)

    made = {
        by: scatter(replace(learned, fit=replace(
            learned.fit, at=tuple(moved(at, by) for at in learned.fit.at)
        ))).between
        for by in (0.0, 0.2)
    }  # fmt: skip
    shares = scatter(learned).seen_by[:, first]
    # By hand: values b and -b with shares p and 1 - p have variance 4 b^2 p (1 - p).
    gained = (made[0.2] - made[0.0])[0]
    assert gained == pytest.approx(4 * 0.04 * shares * (1 - shares))


def test_one_reader_alone_spreads_nothing(learned: LearnedOutcome) -> None:
    rows = learned.plain.layout.rows
    alone = replace(rows, members={"who": np.zeros(len(rows), dtype=np.intp)})
    plain = replace(learned.plain, layout=replace(learned.plain.layout, rows=alone))
    assert scatter(replace(learned, plain=plain)).between == pytest.approx(0.0, abs=1e-12)


def test_nobody_named_has_no_shift(learned: LearnedOutcome) -> None:
    rows = learned.plain.layout.rows
    nobody = replace(rows, members={"who": np.full(len(rows), -1)})
    plain = replace(learned.plain, layout=replace(learned.plain.layout, rows=nobody))
    found = scatter(replace(learned, plain=plain))
    assert not found.seen_by.any() and not found.between.any()


def test_a_course_s_reading_is_a_mean_of_sets_by_one_reader(learned: LearnedOutcome) -> None:
    found = scatter(learned)
    units = np.arange(3)
    held = found.variances(units)
    # By definition: noises average out over greens, the reader does not.
    whole = found.own.mean(axis=1) / 3 + found.between.mean(axis=1)
    assert held[:, 0] == pytest.approx(whole)
    assert held[:, 1:] == pytest.approx(found.own + found.between)


def test_a_green_never_read_is_read_as_the_others_are(learned: LearnedOutcome) -> None:
    rows = learned.plain.layout.rows
    other = replace(rows, unit=np.where(rows.unit == 2, 1, rows.unit))
    plain = replace(learned.plain, layout=replace(learned.plain.layout, rows=other))
    found = scatter(replace(learned, plain=plain))
    latest = rows.members["who"][-LATEST:]
    first = learned.fit.layout.border.groups[0][0]
    assert found.seen_by[2, first + 1] == pytest.approx((latest == 1).mean())


def test_a_scatter_as_expected_is_borne_out(learned: LearnedOutcome) -> None:
    # About a hundred squares of standard normals, weighed with fifty: two standard errors
    assert borne_out(learned) == pytest.approx(1.0, abs=2 * np.sqrt(2 / 100))


@pytest.mark.parametrize(("believed", "least", "most"), [(0.15, 0.5, 0.75), (0.012, 1.2, 2.0)])
def test_readings_that_scatter_otherwise_than_believed_are_noticed(
    believed: float, least: float, most: float
) -> None:
    # What was put in scatters by 0.06; the engine is held to another belief.
    sure = outcome(noise_sd=believed, set_sd=believed)
    assert least <= borne_out(sure) <= most


def test_the_next_reading_is_told_as_the_last_ones_came() -> None:
    wide = outcome(noise_sd=0.15, set_sd=0.15)
    step = forecast(wide, record(), days=1).ahead[1]
    read = scatter(wide)
    told = step.reading.sd**2
    as_believed = step.level.sd**2 + float(wide.fit.weights @ read.own[:, 0])
    assert told < 0.8 * as_believed
