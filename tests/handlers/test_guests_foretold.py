"""Guests of whom somebody spoke before a tank fell: what its floats tell is of them."""

from gateway.settings.load import load
from gateway.site import compile_site
from gateway.status.forecast import forecast_of
from tests.handlers.test_second_call_upstream import MORNING, H, Ridge
from tests.household import RIDGE, WREN


def test_guests_that_were_spoken_of_before_are_those_of_whom_the_floats_tell(tmp_path):
    """Said two days before the tank fell, it is foretold as where eight are configured; said once it is low, only from then on."""
    told = {}
    for name, said_at, people in (("before", -48, 4), ("after", 1, 4), ("configured", None, 8)):
        (tmp_path / name).mkdir()
        days = Ridge(tmp_path / name)
        file = days.folder / "gateway.toml"
        file.write_text(file.read_text().replace("people = 4", f"people = {people}"))
        days.settings = load(str(file)).settings
        days.site = compile_site(days.settings)
        days.comes(MORNING - 240 * H, "LINE 1 BROKE 0")
        for at, line in ((0, "LINE 2 MADE 1"), (2, "LINE 1 MADE 2")):
            if said_at is not None and said_at <= at:
                days.comes(MORNING + said_at * H, "PEOPLE 8", number=WREN)
                said_at = None
            days.comes(MORNING + at * H, line)
        with days.store.read() as reader:
            told[name] = forecast_of(reader, days.site, "house", MORNING + 2 * H).dry_at
        days.store.close()
    assert told["before"] == told["configured"] != told["after"]


def test_what_goes_in_an_empty_house_is_held_against_the_usual_use(tmp_path):
    """Said two days before a tank fell, or an hour after: it is foretold alike, and not as if it were drips."""
    told = []
    for name, said_at in (("before", -48), ("after", 1)):
        (tmp_path / name).mkdir()
        days = Ridge(tmp_path / name)
        days.comes(MORNING - 240 * H, "LINE 1 BROKE 0")
        for at, number, text in sorted([(said_at, WREN, "AWAY"), (0, RIDGE, "LINE 2 MADE 1")]):
            days.comes(MORNING + at * H, text, number=number)
        assert not days.events("draw-while-away"), "then it is reckoned with all anyway"
        with days.store.read() as reader:
            told.append(forecast_of(reader, days.site, "house", MORNING + 2 * H).dry_at)
        days.store.close()
    assert told[0] == told[1]
