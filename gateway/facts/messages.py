"""What leaves the house: one plain message to one contact, and where it stands."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from gateway.facts.event_kind import Subject

OutState = Literal["waiting", "held", "sending", "sent", "delivered", "failed", "unsure", "joined"]
"""`joined`: told within a digest; to anybody who looks it is held. `sending`: still waiting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """A message in the outbox. `id` is None until it is stored.

    `not_before`: earliest time to hand it over (retry back-off, quiet hours). `possible_repeat`: it was handed over before
    and the answer was lost. `event`: what it tells of. `subject`: which `about` it answers to.
    """

    contact: str | None
    number: str
    text: str
    at: datetime
    state: OutState = "waiting"
    urgent: bool = False
    subject: Subject = "tanks"
    event: int | None = None
    segments: int = 1
    tries: int = 0
    not_before: datetime | None = None
    possible_repeat: bool = False
    id: int | None = None
