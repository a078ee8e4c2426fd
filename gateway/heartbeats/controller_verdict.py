"""One controller and now → heard, silent or never heard; whether to ask it; when to look again.

Silence counts from the last text (by the time it was sent), or, for one never heard, from when the gateway began to watch. Heard at
the very deadline is heard: only past it is it silent. It is asked on the way to a silence, `before_silence` ahead of the
deadline (half way, where the limit is no longer than that): once, or so often as it is told to, the last wait always half of the one
before; and besides on `ask.every`, also while it is silent: its owner wished
so, and an answer ends the silence. What was flagged stays flagged until it is heard: a restart repeats nothing.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from gateway.settings.controller_tables import Ask

JUST_PAST = timedelta(milliseconds=1)
"""From a deadline to the first moment that is past it, as the schedule counts."""


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
    times_asked: int = 1,
) -> Verdict:
    """The verdict; `limit` None: silence is not watched. An `asked_at` still to come (the clock stepped back) is not believed."""
    counted_from = last_heard or watched_since
    deadline = counted_from + limit if limit is not None else None
    silent = deadline is not None and now > deadline
    asked = asked_at if asked_at is not None and asked_at <= now else None
    asks: list[datetime] = []
    if ask.text and limit is not None and not (silent and flagged):
        asks.extend(_on_the_way(limit, counted_from, asked, ask, times_asked))
    if ask.text and ask.every is not None:
        asks.append((asked or watched_since) + ask.every)
    ask_now = any(at <= now for at in asks)
    dues = [at for at in asks if at > now]
    if silent:
        return Verdict(state="silent", silent_since=counted_from, ask_now=ask_now, due=min(dues, default=None))
    if deadline is not None:
        dues.append(deadline + JUST_PAST)
    return Verdict(state="heard" if last_heard else "never-heard", ask_now=ask_now, due=min(dues, default=None))


def _on_the_way(
    limit: timedelta, counted_from: datetime, asked: datetime | None, ask: Ask, times: int
) -> list[datetime]:
    """When to ask next before this silence, unless that was done."""
    ahead = ask.before_silence if ask.before_silence < limit else limit / 2
    moments = (counted_from + limit - ahead / 2**time for time in range(times))
    return next(([when] for when in moments if asked is None or asked < when), [])
