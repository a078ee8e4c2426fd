"""How many of a household's leaks and hoses run day and night: learnt from those that tell, and from nothing else."""

import pytest

from gateway.water.draw_by_clock import BY_CLOCK, DrawByClock


def after(times: int, *, cut: float = 0.0, by_clock: float = 0.0, by_hours: float = 0.0) -> DrawByClock:
    """So many alike."""
    belief = DrawByClock()
    for _ in range(times):
        belief = belief.after(cut, by_clock, by_hours)
    return belief


def test_before_anything_was_seen_it_is_the_assumption():
    """Within what the points allow."""
    assert DrawByClock().share == pytest.approx(BY_CLOCK, abs=0.05)


@pytest.mark.parametrize(("by_clock", "least", "most"), [(1.0, 0.9, 0.97), (0.0, 0.03, 0.12)])
def test_ten_of_one_kind_are_believed(by_clock, least, most):
    """Though not that the next cannot be the other."""
    assert least < after(10, by_clock=by_clock, by_hours=1 - by_clock).share < most


def test_a_stopped_source_teaches_nothing_of_leaks():
    """However often."""
    assert after(5, cut=1.0) == DrawByClock()


def test_one_that_could_be_either_teaches_nothing():
    """As likely as it was thought before; counted, it would have made the next one surer."""
    share = DrawByClock().share
    assert after(1, cut=0.4, by_clock=0.6 * share, by_hours=0.6 * (1 - share)).share == pytest.approx(share)


def test_half_of_either_stays_half():
    """One by one, in turn."""
    belief = DrawByClock()
    for _ in range(10):
        belief = belief.after(0.0, 1.0, 0.0).after(0.0, 0.0, 1.0)
    assert belief.share == pytest.approx(0.5, abs=0.02)
