"""What a box's texts say of its period and its losses, how long it may be silent by that, and when its texts get rarer."""

import random
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gateway.heartbeats import false_alarms_a_year, learn_rhythm, learnt_limit, silence_limit, watch_losses
from gateway.heartbeats.rhythm import PRIOR_LOST, PRIOR_PERIODS, Rhythm
from gateway.heartbeats.silence_limit import MOST, UNLEARNT
from gateway.heartbeats.texts_rarer import summed, usual_loss, weights
from tests.heartbeats.boxes import HOUR, KINDS, T0, live, texts_of

H, DAY = HOUR, 24 * HOUR


def every(step, times, first=T0):
    return [first + step * count for count in range(times)]


def without(times, *lost):
    return [at for index, at in enumerate(times) if index not in lost]


def rhythm_of(times):
    rhythm = learn_rhythm(tuple(times))
    assert rhythm is not None
    return rhythm


@pytest.mark.parametrize(
    ("times", "hours", "lost"),
    [
        (every(DAY, 3), 24, 0),
        (every(7 * DAY, 3), 168, 0),
        (every(H, 200), 1, 0),
        (every(timedelta(minutes=1), 500), 11 / 60, 0),
        (list(reversed(every(DAY, 40))), 24, 0),
        (without(every(DAY, 60), 10, 20, 30), 24, 3),
        (without(every(DAY, 60), 10, 11, 30), 24, 3),
        (every(DAY, 20) + every(DAY, 20, T0 + 40 * DAY), 24, 1),
        (sorted(every(DAY, 40) + [at + 9 * H for at in every(DAY, 40)[::3]]), 24, 0),
        ([T0 + day * 2 * DAY + count * H / 2 for day in range(12) for count in range(20)], 48, 0),
    ],
)
def test_period_and_losses_are_learnt_apart(times, hours, lost):
    """The period whatever comes between; of the longest silence one text more is lost than of the next: once dead and mended is no rhythm."""
    rhythm = rhythm_of(times)
    assert rhythm.period_s == pytest.approx(hours * 3600, rel=0.25 if hours == 48 else 0.01)
    assert sum(rhythm.misses) == lost


@pytest.mark.parametrize(
    ("times", "asks", "hours"),
    [
        ([], False, 26),
        (every(DAY, 2), False, 26),
        (every(DAY, 3), False, 49.5),
        (every(DAY, 3), True, 26),
        (every(DAY, 4), True, 25),
        (every(DAY, 60), True, 25),
        (without(every(DAY, 60), 10, 20, 30), True, 25),
        (without(every(DAY, 60), 10, 20, 30), False, 73.5),
        (without(every(DAY, 60), 10, 30), False, 49.5),
        (every(7 * DAY, 3), False, 2 * 168 + 10.5),
        (every(7 * DAY, 3), True, 168 + 10.5),
        (every(H, 30), False, 26),
        (every(H, 200), False, 2 + 1 / 6),
        (without(every(H, 200), 50, 90, 130, 170), False, 3 + 1 / 6),
        (every(timedelta(minutes=20), 40), False, 26),
        (every(20 * DAY, 12), False, 21.25 * 24),
        (without(every(20 * DAY, 40), 5, 9, 20), False, 32 * 24),
        (every(40 * DAY, 12), False, 42.5 * 24),
    ],
)
def test_the_limit_is_the_least_that_alarms_falsely_once_in_two_years(times, asks, hours):
    """Two texts or three for a daily box, three for an hourly one; a box that can be asked is asked instead: 25 hours (EN 50136-1)."""
    assert learnt_limit(times, asks=asks) / H == pytest.approx(hours, rel=1e-3)


@settings(deadline=None, max_examples=50)
@given(st.lists(st.integers(-(10**8), 10**8).map(lambda seconds: T0 + timedelta(seconds=seconds)), max_size=60))
def test_any_record_gives_a_limit_that_keeps_its_word(times):
    """Whatever the times: at most one false alarm in two years by the model, unless that would be longer than 32 days."""
    limit, rhythm = learnt_limit(times), learn_rhythm(tuple(times))
    if rhythm is None:
        assert limit == UNLEARNT
    else:
        assert limit >= MOST or false_alarms_a_year(rhythm, limit, asks=False) <= 0.5
        assert limit <= max(MOST, timedelta(seconds=rhythm.limit_s(1)))


@pytest.mark.parametrize("loss", [0, 0.05, 0.2])
@pytest.mark.parametrize("kind", KINDS)
def test_no_box_cries_wolf(kind, loss):
    """Lived through: at most one false alarm in two years, and what chance adds to so few."""
    alarms, years, _ = live(kind, loss, number=1000, seed=3)
    borne = years * 0.5
    assert alarms <= borne + 2 * borne**0.5 + 1


def test_a_box_without_rhythm_is_not_taken_to_have_been_set_anew():
    """Lived through for eighty years: among its last texts some lie alike by chance, and such a limit was too short. It was 1.4 a year."""
    lived = [live("irregular", 0, number=3000, seed=seed) for seed in range(1, 11)]
    assert sum(alarms for alarms, _, _ in lived) / sum(years for _, years, _ in lived) <= 0.5


def test_what_a_box_loses_is_known_after_two_hundred_texts():
    """A fifth was taken for a sixth, and was too little by half for a row of four."""
    losses = [rhythm_of(texts_of("daily", 0.2, 250, random.Random(seed))).loss for seed in range(20)]
    assert sum(losses) / len(losses) == pytest.approx(0.2, abs=0.025)


def test_a_daily_text_at_a_local_hour_makes_no_alarm_in_either_change_of_the_clock():
    """At 07:00 in Sydney the year round: 23 hours once and 25 hours once, and nobody is alarmed or asked in vain."""
    zone = ZoneInfo("Australia/Sydney")
    local = [datetime(2026, 3, 1, 7, 0, 20 * (day % 3), tzinfo=zone) + day * DAY for day in range(300)]
    times = [at.astimezone(UTC) for at in local]
    assert {round((later - earlier) / H) for earlier, later in pairwise(times)} == {23, 24, 25}
    for count in range(3, 300):
        rhythm = rhythm_of(times[max(0, count - 60) : count])
        assert times[count] - times[count - 1] < timedelta(seconds=rhythm.limit_s(1))
        assert rhythm.rows == 0


@pytest.mark.parametrize(
    ("before", "after", "learnt_after"),
    [(DAY, 7 * DAY, 3), (7 * DAY, DAY, 24), (DAY, H, 170), (H, DAY, 3), (6 * H, 12 * H, 8)],
)
def test_a_box_that_is_set_anew_is_learnt_anew(before, after, learnt_after):
    """A longer period by its second or third interval; a shorter one after a week, or three of the old ones."""
    old = every(before, 150)
    new = every(after, learnt_after, old[-1] + after)
    rhythm = rhythm_of((old + new)[-200:])
    assert rhythm.period_s == pytest.approx(after.total_seconds(), rel=0.01)
    assert silence_limit(rhythm, asks=False) <= max(UNLEARNT, 3 * after + 2 * H)


def test_one_dead_week_does_not_make_a_weekly_box():
    """Nor does it lengthen what the next silence may last."""
    once = every(DAY, 40) + every(DAY, 3, T0 + 47 * DAY)
    assert rhythm_of(once).period_s == 86_400 and learnt_limit(once) <= 3 * DAY + 2 * H


def test_what_is_known_of_rows_lengthens_the_limit():
    """Losses that come in threes make longer silences than as many that come alone."""
    threes = without(every(DAY, 120), *(start + more for start in (20, 50, 80, 100) for more in range(3)))
    alone = without(every(DAY, 120), *range(5, 113, 9))
    assert learnt_limit(threes) > learnt_limit(alone)


def watched(times, usual=None):
    return watch_losses(rhythm_of(times), usual)


def test_a_dying_box_is_seen_to_get_rarer():
    """From one in fifty to one in five: said within two months, with the count since; not before it began, and not of a box that is well."""
    days = []
    for seed in range(3):
        rng = random.Random(seed)
        good = texts_of("daily", 0.02, 150, rng)
        dying = [at + 150 * DAY for at in texts_of("daily", 0.2, 120, rng)]
        assert not watched(good).rarer
        record = good + dying
        said = next(
            count for count in range(len(good), len(record) + 1) if watched(record[max(0, count - 200) : count]).rarer
        )
        losses = watched(record[max(0, said - 200) : said])
        assert 3 <= losses.lost <= losses.due and losses.usual < 0.05
        days.append((record[said - 1] - dying[0]) / DAY)
    assert max(days) <= 60


def test_it_is_over_after_forty_texts_without_a_loss():
    """By what was usual when it was said; and one silence, however long, is told as a silence and not as rarer texts."""
    worse = without(every(DAY, 160), 101, 104, 107, 110, 112, 115)
    assert watched(worse[:112]).rarer
    usual = watched(worse[:112]).usual
    assert watched(worse[:130], usual).rarer and not watched(worse, usual).rarer
    assert not watched(every(DAY, 60) + every(DAY, 5, T0 + 90 * DAY)).rarer


def test_the_published_path_of_a_bernoulli_sum():
    """Reynolds and Stoumbos 1999 (stats_more.csv): 2 % against 10 %, what came is 0 and what did not is 1."""
    both = weights(0.02)
    assert both == pytest.approx((1.609438, 0.085158), abs=1e-6)
    total, path = 0.0, []
    for lost in (0, 0, 1, 0, 0, 0, 1, 1, 0, 1, 0, 1):
        total = summed(total, lost, 1 - lost, both)
        path.append(total)
    told = [0, 0, 1.6094, 1.5243, 1.4391, 1.3540, 2.9634, 4.5728, 4.4877, 6.0971, 6.0120, 7.6214]
    assert path == pytest.approx(told, abs=1e-4)


def test_a_box_that_texts_by_local_hours_loses_nothing_as_the_clocks_change():
    """Every four hours by the wall's clock: in spring one interval is three hours, in autumn one is five."""
    berlin = ZoneInfo("Europe/Berlin")
    first = datetime(2026, 10, 20, 3, 0)  # noqa: DTZ001 - local
    times = [(first + 4 * count * H).replace(tzinfo=berlin).astimezone(UTC) for count in range(60)]
    assert max(later - earlier for earlier, later in pairwise(times)) == 5 * H
    rhythm = rhythm_of(times)
    assert (round(rhythm.period_s / 3600), sum(rhythm.misses)) == (4, 0)


def test_what_is_usual_is_what_the_older_half_lost():
    """Two intervals of four: one text lost in three periods; with what is thought before anything was seen, and a standard error."""
    rhythm = Rhythm(
        period_s=3600.0, tolerance_s=600.0, began=T0, intervals=(7200.0, 3600.0, 14400.0, 14400.0),
        misses=(1, 0, 3, 3), dues=(2.0, 1.0, 4.0, 4.0),
    )  # fmt: skip
    share, due = (PRIOR_LOST + 1) / (PRIOR_PERIODS + 3), PRIOR_PERIODS + 3
    assert usual_loss(rhythm) == pytest.approx(share + (share * (1 - share) / due) ** 0.5)


def test_a_box_that_always_loses_a_fifth_gets_no_rarer():
    """Hourly, for two months: what it loses is what it usually loses, as far as a hundred texts can show that."""
    times = texts_of("hourly", 0.2, 1200, random.Random(16))
    said = [count for count in range(60, len(times), 5) if watched(times[max(0, count - 200) : count]).rarer]
    assert said == []
