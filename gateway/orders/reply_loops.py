"""What a contact texted lately → whether the gateway may answer, so that no automatic reply ever starts a loop (fault 40).

Two guards. What was not understood is answered at most once an hour. And nothing at all is answered, also no word that is
known, to a phone that talks like a machine: the same text a fourth time within ten minutes, or a seventh text of whatever
kind. The order itself is carried out all the same; only the answer is left out. Common practice; the figures are our own.
"""

from datetime import datetime, timedelta

from gateway.facts.states.people import RecentTexts

ONE_ANSWER_IN = timedelta(hours=1)
WINDOW = timedelta(minutes=10)
SAME_TEXT, ANY_TEXT = 3, 6
"""So many of one and the same text, and of all texts, are answered within the window."""

KEPT_CHARACTERS = 40


def heard(talk: RecentTexts, text: str, now: datetime) -> RecentTexts:
    """One more text of that contact."""
    lately = [text for text in talk.heard if abs(now - text[0]) < WINDOW]
    return RecentTexts(heard=(*lately, (now, _gist(text)))[-(ANY_TEXT + 1) :])


def like_a_machine(talk: RecentTexts) -> bool:
    """Whether the text that was heard last gets no answer."""
    if not talk.heard:
        return False
    last = talk.heard[-1][1]
    same = sum(text == last for _, text in talk.heard)
    return same > SAME_TEXT or len(talk.heard) > ANY_TEXT


def may_answer(last_answer: datetime | None, now: datetime) -> bool:
    """Whether what was not understood may be answered now."""
    return last_answer is None or now - last_answer >= ONE_ANSWER_IN or now < last_answer


def _gist(text: str) -> str:
    return " ".join(text.casefold().split())[:KEPT_CHARACTERS]
