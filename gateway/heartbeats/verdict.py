"""One controller and now → heard, silent or never heard; whether to ask it; when to look again.

Silence counts from the last text (by the time it was sent), or, for one never heard, from when the gateway began to watch.
Heard at the very deadline is heard. It is asked once, `before_silence` ahead of the deadline (half way, where the limit is
shorter than that), and besides on `ask.every`. What was flagged stays flagged until it is heard: a restart repeats nothing.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from gateway.settings.models import Ask


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """How it stands. `silent_since`: the last sign of life; `due`: when something can change without a text."""

    state: Literal["heard", "silent", "never-heard"]
    silent_since: datetime | None = None
    ask_now: bool = False
    due: datetime | None = None


def judge(
    *,
    limit: timedelta | None,
    last_heard: datetime | None,
    watched_since: datetime,
    asked_at: datetime | None,
    flagged: bool,
    ask: Ask,
    now: datetime,
) -> Verdict:
    """The verdict; `limit` None: silence is not watched."""
    counted_from = last_heard or watched_since
    state: Literal["heard", "never-heard"] = "heard" if last_heard else "never-heard"
    dues: list[datetime] = []
    ask_now = False
    if _asks(ask):
        when = _ask_times(limit, counted_from, asked_at, ask, watched_since)
        ask_now = any(at <= now for at in when)
        dues.extend(at for at in when if at > now)
    if limit is None:
        return Verdict(state=state, ask_now=ask_now, due=min(dues, default=None))
    deadline = counted_from + limit
    if now > deadline or (now == deadline and last_heard != now):
        return Verdict(
            state="silent",
            silent_since=counted_from,
            ask_now=ask_now and not flagged,
            due=min(dues, default=None),
        )
    dues.append(deadline + timedelta(milliseconds=1))
    return Verdict(state=state, ask_now=ask_now, due=min(dues))


def _asks(ask: Ask) -> bool:
    return bool(ask.text)


def _ask_times(
    limit: timedelta | None, counted_from: datetime, asked_at: datetime | None, ask: Ask, watched_since: datetime
) -> list[datetime]:
    """The moments at which it should be asked and was not yet."""
    times: list[datetime] = []
    if limit is not None:
        ahead = ask.before_silence if ask.before_silence < limit else limit / 2
        before = counted_from + limit - ahead
        if asked_at is None or asked_at < before:
            times.append(before)
    if ask.every is not None:
        times.append((asked_at or watched_since) + ask.every)
    return times
