"""A look at a modem without the daemon: nothing is sent or deleted, and no PIN is given."""

import os
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

from gateway.facts import Delivered
from gateway.modem.dialogue import Dialogue, Times
from gateway.modem.initialise import Session
from gateway.modem.link import Link
from gateway.modem.sim import Pin
from gateway.modem.unknown_lines import UnknownLines


@contextmanager
def opened(device: str, baud: int) -> Iterator[Link]:
    """The port, closed at the end. Raises ModemTrouble where it cannot be opened."""
    wake_read, wake_write = os.pipe()
    try:
        link = Link(device, baud, wake_read)
        try:
            yield link
        finally:
            link.close()
    finally:
        os.close(wake_read)
        os.close(wake_write)


def session_on(dialogue: Dialogue, *, delivery_reports: bool) -> Session:
    """The modem as the daemon would set it up, but for a PIN."""
    return Session(
        dialogue,
        pin=Pin(pin=None, tried=lambda: False, mark_tried=lambda: None),
        times=Times(wake_s=5.0),
        delivery_reports=delivery_reports,
        monotonic=time.monotonic,
        pause=_wait,
    )


def stored_texts(device: str, baud: int) -> tuple[Delivered, ...]:
    """The whole texts that the modem has kept, in the order of its slots; parts of longer ones are left out. Raises ModemTrouble."""
    with opened(device, baud) as link:
        dialogue = Dialogue(link, time.monotonic, lambda news: None, unknown=UnknownLines().note)
        dialogue.resynchronise(within_s=1.0)
        session = session_on(dialogue, delivery_reports=False)
        session.initialise()
        contents = [held.content for held in session.slots.list_all().held]
    return tuple(content for content in contents if isinstance(content, Delivered) and content.part is None)


def _wait(seconds: float) -> None:
    threading.Event().wait(seconds)
