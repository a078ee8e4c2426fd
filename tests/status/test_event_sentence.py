"""An event in a sentence: why it happened is said in words, and a long text is shown by its beginning."""

from datetime import UTC, datetime

import pytest

from gateway.facts import Event
from gateway.status.event_sentence import cut_text, why_said

NOW = datetime(2027, 3, 5, 1, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("kind", "detail", "said"),
    [
        ("gauge-fault", {"why": "jump"}, "it moved faster than any pipe"),
        ("modem-lost", {"why": "no answer within 5 s"}, "no answer within 5 s"),
        ("gauge-fault", {}, None),
    ],
    ids=["a gauge's, in words", "a modem's, as it was said", "nobody said why"],
)
def test_why_it_happened_is_said(kind, detail, said):
    """`history` and the journal give the reason: a gauge's in words, another's as it is on record."""
    assert why_said(Event(kind=kind, at=NOW, heard_at=NOW, known_at=NOW, detail=detail)) == said


@pytest.mark.parametrize(("more", "shown"), [(0, ""), (1, " … (1 more characters)"), (50, " … (50 more characters)")])
def test_a_long_text_is_shown_by_its_beginning(more, shown):
    """400 characters of it, and how much is left out."""
    assert cut_text("W" * (400 + more)) == "W" * 400 + shown
