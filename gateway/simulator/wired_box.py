"""A controller in the field that answers errands, has a clock of its own, and can be wired wrongly: for the walk and for the errands.

It hears what the network brings to its number, and says what a hand on a float makes it say. `Wiring` is what is wrong with it.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta, tzinfo

from gateway.simulator.network import Network, Sent

_TIME = re.compile(r"\b(\d{2}):(\d{2})\b")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wiring:
    """What is wrong. `crossed`: what a hand does to the one input arrives at the other. `reversed`: active and idle are changed round.

    `never_over`: it says nothing when an input becomes idle. `dead`: inputs of which it says nothing at all. `sends_from`: another number
    than the one it is known by. `slow_s`: its texts take so long (the network's stamp is of when they began).
    """

    crossed: Mapping[int, int] = field(default_factory=dict)
    reversed: frozenset[int] = frozenset()
    never_over: bool = False
    dead: frozenset[int] = frozenset()
    sends_from: str | None = None
    slow_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """What it answers to a text, `{time}` by its own clock, and after how long; `text` None: nothing."""

    text: str | None
    after_s: float = 0.0


class WiredBox:
    """One box on a simulated network. `replies`: how the text begins → its answer; the longest beginning that fits wins.

    `clock_ahead`: of its own clock, which a text with a time in it sets (`sets_clock`). `heard`: what the network brought it.
    """

    def __init__(
        self,
        network: Network,
        number: str,
        zone: tzinfo,
        *,
        words: Mapping[bool, str] | None = None,
        replies: Mapping[str, Reply] | None = None,
        wiring: Wiring | None = None,
        clock_ahead: timedelta = timedelta(0),
    ) -> None:
        self.number, self.clock_ahead = number, clock_ahead
        self.wiring = wiring or Wiring()
        self.heard: list[str] = []
        self.replies: dict[str, Reply] = dict(replies or {})
        self._network, self._zone = network, zone
        self._words = words or {True: "LINE {input} MADE {time}", False: "LINE {input} BROKE {time}"}
        network.hearers.append(self._hear)

    def switches(self, input: int, *, active: bool) -> None:
        """A hand moves the float that should be on that input, so that it should be active or idle."""
        wiring = self.wiring
        wired = wiring.crossed.get(input, input)
        says = active != (wired in wiring.reversed)
        if wired in wiring.dead or (wiring.never_over and not says):
            return
        self.says(self._words[says].replace("{input}", str(wired)))

    def says(self, text: str, *, after_s: float = 0.0) -> None:
        """A text of its own; `{time}` is its clock's."""
        sender = self.wiring.sends_from or self.number
        stamp = self._network.now()
        after = after_s + self.wiring.slow_s
        filled = text.replace("{time}", f"{self.time:%H:%M}")
        # what it is slow with has its stamp from when it began; an answer that it gives later is written later
        self._network.deliver(sender, filled, stamp=stamp + timedelta(seconds=after_s), after_s=after)

    @property
    def time(self) -> datetime:
        """By its own clock."""
        return self._network.now().astimezone(self._zone) + self.clock_ahead

    def _hear(self, sent: Sent) -> None:
        if sent.number != self.number:
            return
        self.heard.append(sent.text)
        fitting = [beginning for beginning in self.replies if sent.text.startswith(beginning)]
        if not fitting:
            return
        clock = _TIME.search(sent.text)
        if clock is not None:
            self._set_clock(int(clock[1]), int(clock[2]))
        reply = self.replies[max(fitting, key=len)]
        if reply.text is not None:
            self.says(reply.text, after_s=reply.after_s)

    def _set_clock(self, hour: int, minute: int) -> None:
        now = self._network.now().astimezone(self._zone)
        self.clock_ahead = now.replace(hour=hour, minute=minute, second=now.second) - now
