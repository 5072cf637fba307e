"""Further acts whose choice is modelled: which are worth it, and whether the look led them."""

from __future__ import annotations

import numpy as np
import pytest

from greenwright.respond.learning.also import LED_FROM, MOST_ALSO, also_modelled, led_by_look
from greenwright.respond.learning.worked import worked
from greenwright.stats.dynamic import Decisions, fit_dynamic
from tests.respond.learning_records import DAY, FIRST, held, work
from tests.stats.dynamic.test_deciding import decisions_of, model_of, world


def test_only_acts_done_and_left_on_thirty_days_are_taken() -> None:
    pieces = [work("brush", k) for k in range(0, 70, 2)]  # 35 days with, 55 without
    pieces += [work("groom", k) for k in range(1, 60, 2)]  # 30 with, 60 without
    pieces += [work("mow", k, passes=2.0) for k in range(80)]  # 80 with, 10 without
    found = worked(held(*pieces), first=FIRST, until=DAY)
    every = {"brush", "groom", "double_cut"}
    assert also_modelled(found, acts=every) == ("brush", "groom")
    assert also_modelled(found, acts={"groom"}) == ("groom",)
    fewer = worked(held(*pieces[:20]), first=FIRST, until=DAY)
    assert also_modelled(fewer, acts=every) == ()


def test_no_more_than_a_few_are_taken_and_the_most_frequent_first() -> None:
    pieces = [work("brush", k) for k in range(0, 62, 2)]
    pieces += [work("groom", k) for k in range(50)]
    pieces += [work("mow", k, passes=2.0) for k in range(40)]
    found = worked(held(*pieces), first=FIRST, until=DAY)
    taken = also_modelled(found, acts={"brush", "groom", "double_cut"})
    assert taken == ("groom", "double_cut") and len(taken) == MOST_ALSO


@pytest.mark.parametrize(("need", "led"), [(0.0, False), (5.0, True)])
def test_a_choice_by_the_look_shows_at_a_glance(need: float, led: bool) -> None:
    for seed in range(3):
        dose, rows = world(seed, need=need)
        fit = fit_dynamic(model_of(dose), rows, rng=np.random.default_rng(seed), pairs=0)
        # Without need the glance is about standard normal, and says at times what is not so.
        glance = led_by_look(fit, "press", decisions_of(dose))
        assert glance > LED_FROM if led else abs(glance) < 3


def test_work_on_good_days_is_not_led_by_a_low_look() -> None:
    dose, rows = world(1, need=-5.0)
    fit = fit_dynamic(model_of(dose), rows, rng=np.random.default_rng(1), pairs=0)
    assert led_by_look(fit, "press", decisions_of(dose)) < -LED_FROM


def test_decisions_without_any_spread_tell_nothing() -> None:
    dose, rows = world(1, need=0.0)
    fit = fit_dynamic(model_of(dose), rows, rng=np.random.default_rng(1), pairs=0)
    one = decisions_of(dose)
    always = Decisions(one.unit, one.day, np.ones(len(one.done)), one.features, one.share)
    assert led_by_look(fit, "press", always) == pytest.approx(0.0, abs=1e-6)
