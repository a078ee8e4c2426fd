"""How things stand → what is said first, vessels, call-outs, other sites, the record in plain words."""

from contextlib import contextmanager
from dataclasses import replace

import pytest

from gateway.facts import Text, Triple
from gateway.facts.alarms import Telling
from gateway.facts.states.gateway_itself import Trouble
from gateway.handlers.gateway_life import publish
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.page.event_list import event_line
from gateway.page.site_lines import SiteLine
from gateway.page.tank_pictures import (
    LABELS_APART,
    FloatMark,
    Outline,
    draw_outline,
    litres_words,
    outline_of,
    place_labels,
    water_band,
)
from gateway.phrases import load_phrases, with_page_words
from gateway.settings.water_tables import Tapered, UprightCylinder, VolumeTable
from gateway.storage import open_store
from tests.page import years
from tests.page.shown import DAY, HOUR, HOUSE_TANK, NOW, event, lows, show


def test_all_is_well_is_quiet(site):
    """Heard and idle: one sentence and nothing more."""

    def heard(tx):
        for controller in ("ridge", "creek"):
            tx.keep_text(
                Text(number="+61491570006", text="x", at=NOW - HOUR, heard_at=NOW - HOUR), "read", controller=controller
            )

    idle = [
        event("low-over", NOW - DAY, tank=tank, controller=controller, input=input, first=True)
        for tank, (controller, input) in years.LOW_FLOATS.items()
    ]
    view = show(site, *idle, more=heard)
    assert view.verdict.sentence.startswith("Water for ") and view.verdict.sentence.endswith(
        "even if nothing more comes."
    )
    assert view.verdict.is_well and (view.alarms, view.verdict.more, view.verdict.todo) == ((), (), ())


def test_what_is_not_well_stands_first_and_links_to_its_place(site):
    """A low tank with its dry report, a silent box without power, the gateway's own trouble; who was told, and who has it."""
    at = NOW - 3 * HOUR

    def more(tx):
        tx.keep_text(Text(number="+61491570006", text="x", at=at, heard_at=at), "read", controller="ridge")
        low = tx.put_alarm(years.low_alarm(HOUSE_TANK, at))
        tx.put_telling(Telling(alarm=low.number, contact="wren", at=at, why="first"))
        spring = years.low_alarm("spring", at, state="taken", taken_by="wren", taken_at=NOW)
        tx.put_alarm(spring)
        tx.set_state(Trouble(since=at), "signal-weak")

    view = show(
        site,
        event("low", at, tank=HOUSE_TANK, controller="ridge", input="1"),
        event("ran-dry", NOW - HOUR, tank=HOUSE_TANK),
        event("power-lost", at, controller="creek"),
        more=more,
    )
    assert view.verdict.sentence == "House <b>tank</b> is LOW since 11:00; how long its water lasts cannot be reckoned."
    assert view.verdict.more == ("Nobody sees to it yet. Told: Wren.",)
    assert view.verdict.todo == ("Fill slowly, bleed taps from lowest to highest.",)
    lines = [(line.what, line.who) for line in view.alarms]
    assert lines[:2] == [
        ("House <b>tank</b> LOW since 11:00.", ""),
        ("Spring tank LOW since 11:00.", "Wren sees to it since 14:00."),
    ]
    assert ("Creek box at the lower paddock gate without power since 11:00.", "") in lines
    assert ("Gateway: signal weak since 11:00.", "") in lines
    ids = {card.id for stage in view.stages for card in stage} | {card.id for card in view.controllers}
    assert view.alarms[0].link in ids and all(line.link in ids for line in view.alarms if line.link)
    assert sum(1 for line in view.alarms if line.link) == 5


def test_the_supply_stands_from_the_house_upwards(site):
    """By `fed_by`, whatever the file's order: the tank that feeds the taps first."""
    view = show(site)
    assert [[card.name for card in stage] for stage in view.stages] == [
        ["House <b>tank</b>"],
        ["Hill tank"],
        ["Spring tank"],
    ]
    assert "2.2 l/min" in view.source and "480 l a day" in view.use


def test_what_is_known_of_a_box_stands_on_its_card(site):
    """When it was heard, how long it may be silent, its numbers; nothing in the place of what nobody told."""

    def heard(tx):
        text = Text(number="+61491570006", text="x", at=NOW - HOUR, heard_at=NOW - HOUR)
        tx.keep_text(text, "read", controller="ridge")

    ridge, creek = show(site, event("reading", NOW - HOUR, controller="ridge", volts=12.6), more=heard).controllers
    assert ridge.facts == (("last heard", "13:00"), ("may be silent for", "26 h"), ("volts", "12.6 V"))
    assert (ridge.state, creek.state, creek.facts) == ("heard", "never-heard", (("may be silent for", "26 h"),))
    assert ridge.reckoned.endswith("Too few days to see how it goes.") and creek.reckoned == ""
    controllers = [controller.model_copy(update={"silence_after": None}) for controller in site.settings.controllers]
    unlimited = replace(site, settings=site.settings.model_copy(update={"controllers": controllers}))
    assert [label for label, _ in show(unlimited).controllers[0].facts] == ["last heard", "volts"]


def test_without_a_forecast_the_floats_bound_the_water(site):
    """An idle low float is under water, an idle high one above: a band, and no likely level."""
    from gateway.status.snapshot import FloatSnapshot, TankSnapshot
    from gateway.tanks import FloatNow

    tank = site.tanks[HOUSE_TANK]

    def standing(low, high):
        states = {"low": low, "high": high}
        floats = tuple(
            FloatSnapshot(placed=placed, now=FloatNow(means=placed.float.means, state=states[placed.float.means]))
            for placed in site.floats_of(tank.id)
        )
        return TankSnapshot(tank=tank, state="ok", since=None, floats=floats)

    assert water_band(standing("idle", "idle"), None) == (pytest.approx(0.25), None, pytest.approx(1.6 / 1.8))
    assert water_band(standing("active", "idle"), None) == (0.0, None, pytest.approx(0.25))
    assert water_band(standing("idle", "active"), None) == (pytest.approx(1.6 / 1.8), None, 1.0)
    assert water_band(standing("unknown", "unknown"), None) is None
    spoken = replace(site, phrases=with_page_words(load_phrases("en")))

    def litres(low, high, triple=None):
        reckoned = triple and Triple(low=triple[0], likely=triple[1], high=triple[2])
        return litres_words(spoken, standing(low, high), reckoned)

    assert litres("idle", "active") == "At least 5027 l of 5655 l."
    assert litres("active", "idle") == "At the most 1414 l of 5655 l."
    assert litres("idle", "idle") == "From 1414 l to 5027 l of 5655 l."
    assert litres("unknown", "unknown") == ""
    assert litres("idle", "idle", (1676, 3986, 5654)) == "About 4000 l (1700 to 5655) of 5655 l."
    assert litres("idle", "idle", (3986, 3990, 4010)) == "About 4000 l of 5655 l."
    assert litres("active", "idle", (0, 0.2, 140)) == "At the most 140 l of 5655 l."
    assert litres("active", "idle", (0, 0, 0.4)) == "", "nothing is said of nothing"


def test_other_sites_of_the_store_have_a_line_each(site):
    """Only where there are some: one that published its house by its names, another by its open alarms."""
    assert show(site).sites == ()
    creek = replace(
        site,
        settings=site.settings.model_copy(update={"site": site.settings.site.model_copy(update={"name": "Creek"})}),
    )
    with opened(site, "Creek") as tx:
        publish(UnitOfWork(tx=tx, site=creek, now=NOW))
        tx.keep_text(Text(number="+61491570006", text="x", at=NOW - HOUR, heard_at=NOW), "read", controller="ridge")
        tx.keep_event(event("low", NOW - HOUR, tank=HOUSE_TANK, controller="ridge", input="1"))
    with opened(site, "Dam") as tx:
        tx.keep_event(event("low", NOW - DAY, tank="trough"))
        tx.put_alarm(years.low_alarm("trough", NOW))
    published, unpublished = show(site, *lows(3)).sites
    assert (published.name, published.open_alarms[0]) == ("Creek", "House <b>tank</b> LOW since 13:00")
    assert unpublished == SiteLine(name="Dam", heard="Tue 14:00", open_alarms=("trough LOW",), fortnight="1 low spell")


@contextmanager
def opened(site, name):
    """A transaction of another site in the household's store."""
    store = open_store(site.settings.store.url, name)
    with store.write() as tx:
        yield tx
    store.close()


def test_the_record_is_in_plain_words(site):
    """Every kind of event has words of its own; an over-long raw text is cut, and how much is said."""
    from typing import get_args

    site = replace(site, phrases=with_page_words(load_phrases("en")))

    from gateway.facts.events import EventKind

    for kind in get_args(EventKind):
        sentence = event_line(site, event(kind, NOW, tank="spring", text="{where} {0} <b>", lasted_s=7200.0), NOW).what
        assert "-" not in sentence.replace("{where} {0} <b>", "") and sentence[0].isupper(), (kind, sentence)
    over = event_line(site, event("low-over", NOW, tank="spring", lasted_s=7200.0), NOW)
    assert over.what == "Spring tank is no longer low after 2 h."
    assert event_line(site, event("unread", NOW, controller="ridge", text="x" * 1000), NOW).raw.endswith(
        "(600 more characters)"
    )


@pytest.mark.parametrize("ratio", [0.1, 0.8, 1.1, 1.5, 9.0])
def test_vessels_keep_their_proportions_within_the_field(ratio):
    """Width over height as they are, unless one of them would be too small to read."""
    box = draw_outline(Outline(kind="box", ratio=ratio))
    assert 0 <= box.left < box.right <= 165 and box.top >= 0
    if 0.5 < ratio < 2:
        assert (box.right - box.left) / (box.y(0) - box.y(1)) == pytest.approx(ratio, rel=0.02)


def test_shapes_have_sides_of_their_own():
    """A tapered tank leans; a table is as wide at each level as a round tank of its volumes; a lying one is a circle."""
    tapered = outline_of(Tapered(kind="tapered", bottom_diameter_m=1.0, top_diameter_m=2.0, height_m=1.0))
    assert tapered.sides == ((0.0, 0.5), (1.0, 1.0)) and tapered.ratio == 2.0
    table = outline_of(VolumeTable(kind="table", points=((0, 0), (0.5, 250), (1.0, 1250))))
    assert [round(half, 2) for _, half in table.sides] == [0.5, 0.5, 1.0, 1.0]
    upright = outline_of(UprightCylinder(kind="upright-cylinder", diameter_m=2.0, height_m=4.0))
    assert upright.ratio == 0.5
    lying = draw_outline(Outline(kind="lying-cylinder"))
    assert lying.right - lying.left == pytest.approx(lying.y(0) - lying.y(1))


def test_labels_of_floats_keep_apart():
    """Two floats at nearly one level have labels that can both be read."""
    two = tuple(FloatMark(means="low", level=level, text="", state="idle") for level in (0.5, 0.51))
    placed = place_labels(two, draw_outline(Outline(kind="box")))
    assert placed[1][2] - placed[0][2] >= LABELS_APART
