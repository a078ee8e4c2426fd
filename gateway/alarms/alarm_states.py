"""The life of an alarm as a table `(state, trigger) → state`, after the alarm states of ISA-18.2 (IEC 62682).

What the standard calls each (states A to I of its model as restated in public documents; E and F from memory of ISA-18.2-2016):

    open, unanswered   B, unacknowledged. Told turn by turn; `unanswered`: the last turn passed, and all were told so
    taken              C, acknowledged. It comes back (C to B, re-alarm: OPC 10000-9 B.1.5) when it is not over in time
    folded             H, suppressed by design: another alarm, its cause, tells of it too
    held               I, out of service: somebody works on the tank
    reckoned-over      E and F, latched: the condition should be gone and nobody has said so
    over               A, normal

There is no state D (over, not acknowledged): who was told of the beginning is told of the end, and nobody has to confirm that. There
is no shelving (G) by a person but the work on a tank, whose end is known. Nothing is suppressed otherwise (18.2-2016, 16.5, from
memory). A pair that the table lacks raises and names both.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

from gateway.facts.alarms import AlarmState

Trigger = Literal[
    "worsen", "turn-passes", "last-turn-passes", "take", "decline", "come-back", "hold", "release", "fold", "unfold", "reckon", "end"
]  # fmt: skip
"""`worsen`: it is more urgent than it was, or another kind of the same matter came. `decline`: NO. `come-back`: who took it is asked
again, for it is not over in time or a message did not reach them. `reckon`: by refill time it should be over."""

TRANSITIONS: Mapping[tuple[AlarmState, Trigger], AlarmState] = MappingProxyType(
    {
        ("open", "worsen"): "open",
        ("open", "turn-passes"): "open",
        ("open", "last-turn-passes"): "unanswered",
        ("open", "take"): "taken",
        ("open", "decline"): "open",
        ("open", "come-back"): "open",
        ("open", "hold"): "held",
        ("open", "fold"): "folded",
        ("open", "reckon"): "reckoned-over",
        ("open", "end"): "over",
        ("unanswered", "worsen"): "open",
        ("unanswered", "take"): "taken",
        ("unanswered", "decline"): "unanswered",
        ("unanswered", "come-back"): "open",
        ("unanswered", "hold"): "held",
        ("unanswered", "fold"): "folded",
        ("unanswered", "reckon"): "reckoned-over",
        ("unanswered", "end"): "over",
        ("taken", "worsen"): "open",
        ("taken", "take"): "taken",
        ("taken", "decline"): "open",
        ("taken", "come-back"): "open",
        ("taken", "hold"): "held",
        ("taken", "fold"): "folded",
        ("taken", "reckon"): "reckoned-over",
        ("taken", "end"): "over",
        ("held", "worsen"): "held",
        ("held", "release"): "open",
        ("held", "reckon"): "reckoned-over",
        ("held", "end"): "over",
        ("folded", "worsen"): "folded",
        ("folded", "unfold"): "open",
        ("folded", "hold"): "held",
        ("folded", "reckon"): "reckoned-over",
        ("folded", "end"): "over",
        ("reckoned-over", "end"): "over",
    }
)


def next_state(state: AlarmState, trigger: Trigger) -> AlarmState:
    """Where the trigger leads. Raises KeyError naming both."""
    if (state, trigger) not in TRANSITIONS:
        raise KeyError(f"an alarm that is {state!r} cannot meet {trigger!r}")
    return TRANSITIONS[(state, trigger)]
