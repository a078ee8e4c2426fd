"""`[[watch]]`: who is called first week by week; what cannot be meant is refused at its line."""

import pytest

from gateway.errors import ConfigurationWrong
from gateway.settings.load import load_text
from gateway.settings.settings_changes import written_values
from tests.household import write_config


def loaded(tmp_path, rows, **parts):
    """The household's file with these rows."""
    return load_text(f"{write_config(tmp_path, **parts).read_text()}\n{rows}\n", "gateway.toml").settings


def test_the_keys_of_the_contract(tmp_path):
    """As written, and what is left out is the whole week."""
    rows = '[[watch]]\ncontact = "wren"\ndays = ["Saturday", "sunday"]\nfrom = "08:00"\nuntil = "24:00"\n[[watch]]\ncontact = "robin"'
    settings = loaded(tmp_path, rows)
    first, second = settings.watch
    assert (first.contact, first.days, first.begins, first.until) == ("wren", ("saturday", "sunday"), "08:00", "24:00")
    assert (second.days, second.begins, second.until) == ((), "00:00", "24:00")
    assert written_values(settings)["watch[0].from"] == "08:00"


@pytest.mark.parametrize(
    ("row", "key", "told"),
    [
        ('contact = "wrne"', "watch[0].contact", "there is no contact 'wrne'"),
        ('contact = "robin"', "watch[0].contact", "cannot answer OK"),
        ('contact = "wren"\nfrom = "24:00"', "watch[0].from", "no time of day"),
        ('contact = "wren"\nuntil = "24:01"', "watch[0].until", "no time of day"),
        ('contact = "wren"\nuntil = "8 o\'clock"', "watch[0].until", "no time of day"),
        ('contact = "wren"\nfrom = "08:00"\nuntil = "08:00"', "watch[0].until", "ends as it begins"),
        ('contact = "wren"\ndays = ["someday"]', "watch[0].days[0]", "someday"),
        ('contact = "wren"\nbegins = "08:00"', "watch[0].begins", "unknown key"),
        ("", "watch[0].contact", "missing"),
    ],
)
@pytest.mark.parametrize("unable", ['line = "landline"', "may_ask = false"])
def test_what_cannot_be_meant(tmp_path, row, key, told, unable):
    """Each at its key and its line."""
    with pytest.raises(ConfigurationWrong) as refused:
        loaded(tmp_path, f"[[watch]]\n{row}", robin=unable)
    (problem,) = refused.value.problems
    assert problem.key == key and told in problem.wrong and problem.line > 60


def test_the_near_miss_is_named(tmp_path):
    """Whom it most likely means, and which key; of a word that Python does not allow as a name too."""
    for row, meant in (('contact = "wrne"', "wren"), ('contact = "wren"\nfrm = "08:00"', "from")):
        with pytest.raises(ConfigurationWrong) as refused:
            loaded(tmp_path, f"[[watch]]\n{row}")
        assert [problem.suggestion for problem in refused.value.problems] == [meant]
