"""Answers that could start a loop with somebody's automatic reply → at most one an hour."""

from datetime import datetime, timedelta

ONE_ANSWER_IN = timedelta(hours=1)


def may_answer(last_answer: datetime | None, now: datetime) -> bool:
    """Whether what was not understood may be answered now."""
    return last_answer is None or now - last_answer >= ONE_ANSWER_IN or now < last_answer
