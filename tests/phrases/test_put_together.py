"""The pieces of a message have ranks: what is never dropped takes a further segment, the others follow while they find room."""

import pytest

from gateway.gsm.segments import measure_text
from gateway.phrases.cut_to_segments import Letters
from gateway.phrases.put_together import SPOKEN_S, put_together, spoken_s

HEAD, USE, HARM, ANSWER = "House tank LOW.", "u" * 60, "h" * 90, "Reply OK."


@pytest.mark.parametrize(
    ("pieces", "line", "segments", "shown"),
    [
        ([(USE, False), (ANSWER, True)], "mobile", 1, [HEAD, USE, ANSWER]),
        ([(USE, False), (HARM, True)], "mobile", 1, [HEAD, HARM]),
        ([(USE, False), (HARM, True), (ANSWER, True)], "mobile", 1, [HEAD, HARM, ANSWER]),
        ([(HARM, True), (HARM, True), (USE, False)], "mobile", 1, [HEAD, HARM, HARM, USE]),
        ([(HARM, False), (USE, False), ("short", False)], "mobile", 1, [HEAD, HARM, "short"]),
        ([(USE, False), (USE, False)], "mobile", 1, [HEAD, USE, USE]),
        ([(USE, False), (USE, False), (USE, False)], "landline", 1, [HEAD, USE, USE, USE]),
        ([(USE, False), (USE, False), (USE, False), (USE, False)], "landline", 1, [HEAD, USE, USE, USE]),
    ],
)
def test_who_stands_and_who_is_dropped(pieces, line, segments, shown):
    """In their own order; where a further segment is taken anyway, what is of use finds room in it; a voice has its seconds."""
    text = put_together(HEAD, pieces, segments, line, may_grow=True, letters=Letters())
    assert text == " ".join(shown)
    assert line == "mobile" or spoken_s(text) <= SPOKEN_S


def test_a_head_of_our_own_grows_and_what_came_from_elsewhere_is_cut():
    """A long name is said whole; a raw text of any length is marked as cut."""
    for may_grow, segments in ((True, 2), (False, 1)):
        text = put_together("x" * 200, [], 1, "mobile", may_grow=may_grow, letters=Letters())
        assert measure_text(text).segments == segments and text.endswith("...") is not may_grow


def test_own_letters_take_a_further_segment_and_stay():
    """Seventy characters of another alphabet: no transliteration for the sake of one segment."""
    text = put_together(
        "Вода " * 12, [("Не пийте, доки не безпечно.", True)], 1, "mobile", may_grow=True, letters=Letters(own=True)
    )
    assert text.endswith("безпечно.") and measure_text(text).segments == 2
