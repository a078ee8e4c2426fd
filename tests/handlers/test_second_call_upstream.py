"""A tank upstream is low: the second call comes when the house may really be dry so soon; an hour without a word from below puts it off.
Where it makes the house dry much sooner than was told, that is told."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.handlers.due import do_what_is_due
from gateway.settings.load import load
from gateway.simulator.story import configuration
from gateway.site import compile_site
from gateway.status.alarm_priority import later_edge
from tests.handlers.days import Days
from tests.handlers.test_alarms import delivered, passes, standing
from tests.household import ROBIN, WREN

MORNING = datetime(2026, 7, 6, 0, 0, tzinfo=UTC)
M, H = timedelta(minutes=1), timedelta(hours=1)


class Ridge(Days):
    """The household of the rehearsal: a day's water in its tank, a small one above it."""

    def configure(self, **call_out):
        """Its file, with these keys of `call_out`."""
        keys = "".join(f'{key} = "{value}"\n' for key, value in call_out.items())
        file = self.folder / "gateway.toml"
        file.write_text(configuration(str(self.folder / "gateway.db")).replace("[call_out]\n", f"[call_out]\n{keys}"))
        self.settings = load(str(file)).settings
        self.site = compile_site(self.settings)


@pytest.fixture
def low_upstream(tmp_path):
    """The house tank told long ago that it is well; now the spring tank is low, which is urgent, and Wren has it."""
    days = Ridge(tmp_path, urgent_within="48h")
    days.comes(MORNING - 240 * H, "LINE 1 BROKE 0")
    days.comes(MORNING, "LINE 2 MADE 1")
    days.comes(MORNING + M, "OK", number=WREN)
    days.leaves(MORNING + M)
    delivered(days, MORNING + M)
    yield days
    days.store.close()


def spring(days):
    """Its alarm."""
    return standing(days)["low:spring"].alarm


def edge(days, now):
    """What the forecast of then puts in place of the edge that was told."""
    with days.store.read() as reader:
        return later_edge(reader, days.site, now, spring(days))


def test_it_is_put_off_while_the_house_is_heard_and_well(low_upstream):
    """When it was due nobody is called; the alarm has the newer edge, and the call is as long before that."""
    days, first = low_upstream, spring(low_upstream)
    assert first.priority == "urgent"
    left = passes(days, first.warn_at - 2 * M, first.warn_at + 10 * M)
    assert not [text for _, _, text in left if "the taps may be dry" in text]
    moved = spring(days)
    assert moved.dry_early > first.dry_early and moved.dry_early - moved.warn_at == 3 * H


def test_once_the_house_says_low_the_edge_that_was_told_stands(low_upstream):
    """Nobody has looked whether it is dry already: no newer forecast puts the call off."""
    first = spring(low_upstream)
    due = first.warn_at
    assert edge(low_upstream, due) is not None
    low_upstream.comes(due - M, "LINE 1 MADE 2")
    with low_upstream.store.read() as reader:
        assert later_edge(reader, low_upstream.site, due, first) is None


def test_a_house_that_is_not_heard_is_not_well(low_upstream):
    """A day after the box's last word its floats say nothing."""
    assert edge(low_upstream, MORNING + 30 * H) is None


def test_of_the_house_tank_itself_nothing_is_put_off(low_upstream):
    """Its own alarm is by the edge that was told."""
    low_upstream.comes(MORNING + 2 * H, "LINE 1 MADE 2")
    with low_upstream.store.read() as reader:
        house = standing(low_upstream)["low:house"].alarm
        assert later_edge(reader, low_upstream.site, MORNING + 3 * H, house) is None


def test_where_less_is_left_than_the_call_comes_before_it_is_made(low_upstream):
    """A call that was due is made: with so little left no half of it is waited again."""
    low_upstream.configure(urgent_within="48h", warn_before_dry="95h")
    assert edge(low_upstream, MORNING + H) is None
    first = spring(low_upstream)
    left = passes(low_upstream, first.warn_at, first.warn_at)
    low_upstream.leaves(first.warn_at)
    assert {number for _, number, text in left if "the taps may be dry" in text} == {WREN, ROBIN}


def test_what_was_not_urgent_is_told_anew_once_many_more_draw(tmp_path):
    """Sixty people instead of three: the taps may be dry within four hours, which they could not be before."""
    days = Ridge(tmp_path, urgent_within="4h")
    days.comes(MORNING - 240 * H, "LINE 1 BROKE 0")
    days.comes(MORNING, "LINE 2 MADE 1")
    days.leaves(MORNING)
    assert spring(days).priority == "soon"
    left = days.says(MORNING + H, "PEOPLE 60", number=WREN)
    assert spring(days).priority == "urgent"
    assert [text for _, text in left if text.startswith("Spring tank LOW")], left
    days.store.close()


@pytest.mark.parametrize(("taken", "hearers"), [(False, {WREN, ROBIN}), (True, {ROBIN})])
def test_much_sooner_than_told_is_told_once(tmp_path, taken, hearers):
    """The house tank is low, and now the one above it too: whoever has it hears of it, else all who were told; a second time nobody."""
    days = Ridge(tmp_path)
    days.comes(MORNING - 240 * H, "LINE 1 BROKE 0")
    days.comes(MORNING - 240 * H, "LINE 2 BROKE 0")
    days.comes(MORNING, "LINE 1 MADE 1")
    days.leaves(MORNING)
    delivered(days, MORNING)
    days.at(MORNING + 20 * M, lambda unit: do_what_is_due(unit, verdicts=False))
    assert {number for number, _ in days.leaves(MORNING + 20 * M)} == {ROBIN}
    delivered(days, MORNING + 20 * M)
    if taken:
        days.comes(MORNING + 21 * M, "OK", number=ROBIN)
    days.leaves(MORNING + 21 * M)
    first = standing(days)["low:house"].alarm
    days.comes(MORNING + 25 * M, "LINE 2 MADE 2")
    assert {number for number, text in days.leaves(MORNING + 25 * M) if "Sooner than told." in text} == hearers
    now = standing(days)["low:house"].alarm
    assert now.dry_likely < first.dry_likely and now.dry_early == first.dry_early, (
        "the edge is no sooner, and stays as it was told"
    )
    days.comes(MORNING + 26 * M, "LINE 2 BROKE 2")
    days.comes(MORNING + 27 * M, "LINE 2 MADE 2")
    assert not [text for _, text in days.leaves(MORNING + 27 * M) if "Sooner than told." in text]
    days.store.close()
