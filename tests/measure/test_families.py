"""The table of families: every key in the evidence table, every kind in the record's table."""

from __future__ import annotations

import math

import pytest

from greenwright.base.errors import UnknownKey
from greenwright.base.evidence import look_up
from greenwright.base.tables import kinds, quantities
from greenwright.measure.families import families, family, pooling_prior, prior_keys
from greenwright.stats import HYPERS


@pytest.mark.parametrize("quantity", list(families()))
def test_every_outside_number_is_in_the_evidence_table(quantity: str) -> None:
    of = family(quantity)
    for key in (*prior_keys(of).values(), of.odd_key):
        assert look_up(key).grade


@pytest.mark.parametrize("quantity", list(families()))
def test_kinds_and_quantities_are_the_records_own(quantity: str) -> None:
    of = family(quantity)
    assert of.quantity in quantities()
    assert set(of.kinds) <= set(kinds())
    assert kinds()[of.kinds[0]].quantity == quantity


@pytest.mark.parametrize("quantity", list(families()))
def test_priors_are_complete_and_wide(quantity: str) -> None:
    prior = pooling_prior(family(quantity), typical=1.0)
    assert set(HYPERS) <= set(prior.hyper)
    read = [prior.hyper[name] for name in HYPERS if name != "spot_sd"]
    assert min(h.log_sd for h in read) >= 0.4


def test_the_level_comes_from_the_readings_only_where_no_level_is_known() -> None:
    assert pooling_prior(family("firmness"), typical=4.5).level == 4.5
    assert pooling_prior(family("moisture"), typical=4.5).level != 4.5


def test_speed_speaks_of_spots_and_of_two_memories() -> None:
    prior = pooling_prior(family("green_speed"), typical=0.0)
    # 0.3 ft = 0.09144 m within and between greens (talk of 2018, in the evidence table)
    assert prior.hyper["spot_sd"].median == pytest.approx(0.3 * 0.3048)
    assert prior.hyper["unit_sd"].median == pytest.approx(0.3 * 0.3048)
    assert prior.hyper["unit_correlation"].median < prior.hyper["day_correlation"].median


def test_the_slow_part_is_a_share_of_the_quick_one() -> None:
    prior = pooling_prior(family("quality"), typical=0.0)
    share, quick = look_up("measure.slow.share").value, look_up("measure.quality.day_sd").value
    assert prior.hyper["slow_sd"].median == pytest.approx(share * quick)


def test_relative_spread_becomes_a_log_sd() -> None:
    entry = look_up("measure.set_sd")
    # log-normal: sd of the log = sqrt(log(1 + (sd/value)^2))
    expected = math.sqrt(math.log(1 + (entry.sd / entry.value) ** 2))
    assert pooling_prior(family("green_speed"), typical=0).hyper["noise_sd"].log_sd == (
        pytest.approx(max(expected, 0.4))
    )


def test_unknown_quantities_are_named() -> None:
    with pytest.raises(UnknownKey, match="green_speed, smoothness"):
        family("bounce")
