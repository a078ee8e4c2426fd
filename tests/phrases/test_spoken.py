"""What the gateway reckons a voice takes, beside what a synthesiser took (SPOKEN.md, written by `python -m tests.phrases.spoken`)."""

from statistics import mean

import pytest

from gateway.phrases import languages
from gateway.phrases.put_together import SPOKEN_S, spoken_s
from tests.phrases.spoken import DOCUMENT, figures

MEASURED = figures(DOCUMENT.read_text("utf-8"))


@pytest.mark.parametrize("language", languages())
def test_the_reckoned_length_is_near_the_measured_one(language):
    """On the average within a tenth, for each message within a half; nobody listens for much longer than we mean them to."""
    ratios = [ours / theirs for theirs, ours in MEASURED[language]]
    assert len(ratios) > 100 and 0.9 <= mean(ratios) <= 1.1
    assert min(ratios) > 0.65 and max(ratios) < 1.5
    assert max(theirs for theirs, _ in MEASURED[language]) <= SPOKEN_S * 1.1


@pytest.mark.parametrize(
    ("words", "lasts_s"), [("x" * 25, 2.0), ("In 2026", 23 / 12.5), ("12", 2 / 12.5), ("+61491570110", 84 / 12.5)]
)
def test_long_numbers_take_longer_than_they_are_written(words, lasts_s):
    """A figure is a word."""
    assert spoken_s(words) == pytest.approx(lasts_s)
