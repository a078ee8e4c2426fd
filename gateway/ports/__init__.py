"""What the spine asks of the world: the Modem, the Store and the Clock, as Protocols.

Nothing in here touches anything. The shell implements it; tests put fakes beneath it.
"""

from gateway.ports.modem import (
    Condition,
    Listed,
    MemoryRoom,
    Modem,
    ModemLost,
    ModemNews,
    ModemReady,
    NetworkSaid,
    SendEnded,
    SendJob,
    SlotFreed,
    UnknownLinesSeen,
    Verdict,
)
from gateway.ports.rows import Arrival, Past, PauseRow, SentSegment, StoredPart, StoredText
from gateway.ports.store import HEARD_AT_MOST, Reader, Store, Transaction
from gateway.ports.summaries import DayOfNumbers, EpisodeSum, Summaries
from gateway.ports.world import Clock, Timer

__all__ = [
    "HEARD_AT_MOST",
    "Arrival",
    "Clock",
    "Condition",
    "DayOfNumbers",
    "EpisodeSum",
    "Listed",
    "MemoryRoom",
    "Modem",
    "ModemLost",
    "ModemNews",
    "ModemReady",
    "NetworkSaid",
    "Past",
    "PauseRow",
    "Reader",
    "SendEnded",
    "SendJob",
    "SentSegment",
    "SlotFreed",
    "Store",
    "StoredPart",
    "StoredText",
    "Summaries",
    "Timer",
    "Transaction",
    "UnknownLinesSeen",
    "Verdict",
]
