"""Lines one after another → what a modem says unasked, each whole piece once, with what stands behind it. Source: 3GPP TS 27.005 3.4.1."""

import pytest

from gateway.modem.unasked_lines import Unasked, UnaskedLines, tpdu_octets_in

PDU = "07911234567890F0" + "24" * 12
LENGTH = tpdu_octets_in(PDU)
CUT_NAME = f"+CMT: Ridge, box,,{LENGTH}"
WORDS = '+CMT: "+61491570006",,"26/06/01,12:00:00+40"'


def told_of(*lines):
    """What is told of them, and which were of no known form."""
    told, unknown = [], []
    news = UnaskedLines(told.append, unknown.append)
    for line in lines:
        news.tell(line)
    news.end_words()
    return told, unknown


@pytest.mark.parametrize(
    ("lines", "told", "unknown"),
    [
        (['+CMTI: "SM",1'], [Unasked(line='+CMTI: "SM",1')], []),
        (["+CDS: 25", PDU], [Unasked(line="+CDS: 25", pdu=PDU)], []),
        ([f"+CMT: ,{LENGTH}", PDU], [Unasked(line=f"+CMT: ,{LENGTH}", pdu=PDU)], []),
        # other news in between
        (["+CDS: 25", "RING", PDU], [Unasked(line="RING"), Unasked(line="+CDS: 25", pdu=PDU)], []),
        # a report in text mode stands in its line
        (['+CDS: 6,7,"+61491570156",145'], [Unasked(line='+CDS: 6,7,"+61491570156",145', words="")], []),
        ([WORDS, "LINE 1 MADE 0717"], [Unasked(line=WORDS, words="LINE 1 MADE 0717")], []),
        ([WORDS, "OK", "two"], [Unasked(line=WORDS, words="OK\ntwo")], []),
        ([WORDS, "one", '+CMTI: "SM",1'], [Unasked(line=WORDS, words="one"), Unasked(line='+CMTI: "SM",1')], []),
        # a name with a comma that is not in quotes looks like text mode
        ([CUT_NAME, PDU], [Unasked(line=CUT_NAME, pdu=PDU)], []),
        (["+XYZ: 1"], [Unasked(line="+XYZ: 1")], ["+XYZ: 1"]),
        # the late answer to a command that was given up
        (["+CMGS: 7"], [Unasked(line="+CMGS: 7")], []),
    ],
)  # fmt: skip
def test_each_piece_of_news_is_told_once(lines, told, unknown):
    """With its PDU or its words; what has no known form is noted beside."""
    assert told_of(*lines) == (told, unknown)


def test_octets_that_belong_to_nothing_are_told_as_they_are():
    """Their head was lost."""
    told, unknown = told_of(PDU)
    assert told == [Unasked(line=PDU)] and unknown == [PDU]
