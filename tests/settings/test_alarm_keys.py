"""What the configuration says of alarms: accepted, refused with what was meant, and warned of where it hides a dry tap."""

import pytest

from gateway.errors import ConfigurationWrong
from gateway.settings.load import load_text
from tests.household import write_config

FLOAT = 'input = 1\nmeans = "low"'


def loaded(tmp_path, *, more="", of_float=""):
    """The household's file with more tables, and more keys of the house tank's float."""
    text = write_config(tmp_path).read_text()
    at = text.index("input = 1\n") + len("input = 1\n")
    return load_text(f"{text[:at]}{of_float}\n{text[at:]}\n{more}\n", "gateway.toml")


def notes_of(tmp_path, **changed):
    """key → what is said of it, without what the household's file says by itself."""
    own = {warning.key for warning in loaded(tmp_path).warnings}
    return {warning.key: warning.wrong for warning in loaded(tmp_path, **changed).warnings if warning.key not in own}


def test_the_keys_are_taken_as_written(tmp_path):
    """A kind's priority, a float's own and its end, and the taps."""
    settings = loaded(
        tmp_path,
        more='[alarms.battery-low]\npriority = "urgent"\n[bleed]\ntaps = ["laundry", "kitchen"]',
        of_float='over = "said"\npriority = "urgent"',
    ).settings
    switch = next(switch for tank in settings.tanks for switch in tank.floats if switch.over)
    assert (switch.over, switch.priority) == ("said", "urgent")
    assert settings.alarms["battery-low"].priority == "urgent"
    assert settings.bleed.taps == ("laundry", "kitchen")


@pytest.mark.parametrize(
    ("changed", "key", "meant"),
    [
        ({"more": '[alarms.batery-low]\npriority = "soon"'}, "alarms.batery-low", "battery-low"),
        ({"more": '[alarms.battery-low]\npriorty = "soon"'}, "alarms.battery-low.priorty", "priority"),
        ({"more": '[alarms.battery-low]\npriority = "sooner"'}, "alarms.battery-low.priority", "soon"),
        ({"more": '[bleed]\ntap = ["laundry"]'}, "bleed.tap", "taps"),
        ({"more": '[bleed]\ntaps = ["laundry", " "]'}, "bleed.taps[1]", None),
        ({"of_float": 'over = "herd"'}, "over", "heard"),
        ({"of_float": 'priority = "urgnt"'}, "priority", "urgent"),
    ],
)
def test_what_is_not_known_is_refused_with_what_was_meant(tmp_path, changed, key, meant):
    """At its key and its line."""
    with pytest.raises(ConfigurationWrong) as refused:
        loaded(tmp_path, **changed)
    problem = refused.value.problems[0]
    assert problem.key.endswith(key) and problem.suggestion == meant and problem.line > 1


@pytest.mark.parametrize(
    ("changed", "key"),
    [
        ({"more": '[alarms.low]\npriority = "soon"'}, "alarms.low.priority"),
        ({"more": '[alarms.ran-dry]\npriority = "record"'}, "alarms.ran-dry.priority"),
        ({"more": '[alarms.silent]\npriority = "record"'}, "alarms.silent.priority"),
        ({"of_float": 'priority = "record"'}, "tanks[1].floats[0].priority"),
    ],
)
def test_a_choice_that_hides_a_dry_tap_is_warned_of(tmp_path, changed, key):
    """And the gateway starts all the same: the household decides."""
    assert "dry" in notes_of(tmp_path, **changed)[key] or "dead box" in notes_of(tmp_path, **changed)[key]


@pytest.mark.parametrize(
    "changed",
    [
        {"more": '[alarms.silent]\npriority = "soon"'},
        {"more": '[alarms.low]\npriority = "urgent"'},
        {"more": '[alarms.high]\npriority = "record"'},
        {"of_float": 'priority = "urgent"'},
    ],
)
def test_a_choice_that_hides_none_is_not(tmp_path, changed):
    """What is only told later, or what is no tap's matter."""
    assert notes_of(tmp_path, **changed) == {}
