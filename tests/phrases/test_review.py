"""How long a phrase gets at its longest: what stands in for each field, to the character."""

import pytest

from gateway.phrases import load_phrases
from gateway.phrases.review import review_phrases, segments_needed, takes_more_for_names

ONE_SEGMENT = 160
NAMES = {"tank": "House tank"}


def length_of(entry):
    """How many characters it takes: how many fewer letters fit before its head within a segment."""
    book = load_phrases("en")
    room = (
        n
        for n in range(ONE_SEGMENT, -1, -1)
        if segments_needed(book, {**entry, "head": "x" * n + entry["head"]}, NAMES) == 1
    )
    return ONE_SEGMENT - next(room)


@pytest.mark.parametrize(
    ("head", "longest"),
    [
        ("{reason}", ""),
        ("{tank}", "House tank"),
        ("{at}", "30 Nov 2026 23:59"),
        ("{at:since}", "since 30 Nov 2026 23:59"),
        ("{count:messages}", "1000 messages"),
        ("{count}", "1000"),
        ("{limit}", "1000"),
        ("{lasted}", "59 seconds"),
        ("{number}", "+61491570156"),
        ("{take}", load_phrases("en").sentence("mobile", "take")),
    ],
)
def test_the_longest_that_may_stand_in_a_field(head, longest):
    """What comes from elsewhere, of any length, counts nothing: a message that holds it is cut where it must be."""
    assert length_of({"head": head}) == len(longest)


def test_only_what_is_never_dropped_counts():
    """Its mark does not."""
    assert length_of({"head": "{tank}", "more": ["!abc", "of no account"]}) == len("House tank abc")


@pytest.mark.parametrize(
    ("letters", "segments", "more"), [(150, 1, False), (151, 1, True), (151, 2, False), (161, 1, False)]
)
def test_which_names_take_a_further_segment(letters, segments, more):
    """Not where the household allows it, nor where the phrase takes it with the shortest names too."""
    entry = {"head": "x" * letters + "{tank}"}
    assert takes_more_for_names(load_phrases("en"), entry, NAMES, segments) is more


def test_english_lacks_nothing_and_needs_no_other_letters():
    """It is what the others fall back on; Ukrainian needs its own."""
    found = review_phrases(load_phrases("en"), NAMES, 3)
    assert (found.lacking, found.longer, found.letters) == ((), (), "")
    assert {"ї", "є"} <= set(review_phrases(load_phrases("uk"), NAMES, 3).letters)
