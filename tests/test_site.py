"""What is looked up of a household at each text: who sends from where, and which tanks hang on a box."""

import pytest

from gateway.settings.load import load_text
from gateway.site import compile_site
from tests.household import RIDGE

TWO_BOXES = """
[site]
name = "Quandong Ridge"
timezone = "Australia/Sydney"
country = "AU"
[modem]
device = "simulated"
[[controllers]]
id = "ridge"
name = "Ridge box"
number = ["0491 570 006", "RidgeBox"]
[[controllers]]
id = "creek"
name = "Creek box"
number = "0491 570 110"
[[tanks]]
id = "spring"
name = "Spring tank"
floats = [ { controller = "ridge", input = 1 } ]
[[tanks]]
id = "house"
name = "House tank"
floats = [ { controller = "creek", input = 1 } ]
[[tanks]]
id = "shed"
name = "Shed tank"
gauges = [ { controller = "ridge", input = 7, reads = "m" } ]
"""


@pytest.fixture(scope="module")
def site():
    """Two boxes, three tanks."""
    return compile_site(load_text(TWO_BOXES, "gateway.toml").settings)


@pytest.mark.parametrize(
    ("sender", "box"),
    [(RIDGE, "ridge"), ("+61491570110", "creek"), ("RIDGEBOX", "ridge"), ("ridgebox", "ridge"), ("Ridge", None)],
)
def test_who_sends_from_there(site, sender, box):
    """A name is the same however it is written, and its parts are nobody."""
    found = site.controller_of(sender)
    assert (found and found.id) == box


def test_the_tanks_of_a_box_have_a_float_or_a_gauge_on_it(site):
    """They are named when it falls silent."""
    assert [tank.id for tank in site.tanks_of("ridge")] == ["spring", "shed"]
    assert [tank.id for tank in site.tanks_of("creek")] == ["house"]
