"""The form of weather: days and a course's own settings in the address, and back."""

from __future__ import annotations

import pytest

from greenwright.base.errors import BadInput
from greenwright.web import choosing
from greenwright.web.options import in_address, options_of, unknown_to
from tests.show import handmade_weather as made
from tests.web.client import Client
from tests.web.test_questions import reply_of, wait


def test_settings_are_read_from_the_address() -> None:
    params = {"days": "5", "threshold": "dollar_spot=0.3", "crop_coefficient": "0.7",
              "root_depth_m": "5 in"}  # fmt: skip
    held = options_of("weather", params)
    assert held == {"days": 5, "threshold": "dollar_spot=0.3", "crop_coefficient": 0.7,
                    "root_depth_m": pytest.approx(0.127)}  # fmt: skip
    again = options_of("weather", in_address(held))
    assert again["root_depth_m"] == pytest.approx(0.127) and again["days"] == 5
    unknown_to("weather", params)
    with pytest.raises(BadInput):
        unknown_to("weather", {"green": "7"})


@pytest.mark.parametrize(
    ("params", "where"),
    [
        ({"days": "soon"}, "days"),
        ({"root_depth_m": "deep"}, "root"),
        ({"crop_coefficient": "most"}, "crop"),
    ],
)
def test_slips_name_their_field(params: dict[str, str], where: str) -> None:
    with pytest.raises(BadInput) as fault:
        options_of("weather", params)
    assert fault.value.where == where


def test_the_form_shows_what_was_asked() -> None:
    plain = {c.name: c for c in choosing.controls(made.weather(), {}, greens=())}
    assert (plain["days"].value, plain["root_depth_m"].value) == ("6", "")
    asked = {"days": 3, "root_depth_m": 0.12, "threshold": "dollar_spot=0.3"}
    held = {c.name: c for c in choosing.controls(made.weather(), asked, greens=())}
    assert held["days"].value == "3" and held["root_depth_m"].value == "0.12 m"
    assert held["threshold"].value == "dollar_spot=0.3" and held["threshold"].hint


def test_the_page_has_its_parts(small: Client) -> None:
    text = wait(small, "/weather")
    assert "What does the weather do?" in text and "refill line" in text
    assert text.count('role="img"') >= 2 and 'name="crop_coefficient"' in text
    assert "no instruction to spray" in text


def test_a_slip_keeps_what_was_typed(small: Client) -> None:
    reply = reply_of(small, "/weather?threshold=rust%3D1")
    assert reply.status_code >= 400 and "no disease model" in reply.text
