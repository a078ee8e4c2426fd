"""The link to an MQTT broker, on threads of its own: it connects, publishes what it is handed one by one (QoS 1), and comes back by itself.

The daemon's thread only ever looks at it and hands it a batch when it is idle; so what a dead, slow or hostile broker can cost is that one
batch, which is on record anyway. Nothing is subscribed to, and what comes in is not looked at.

MQTT 3.1.1, which every broker speaks that speaks MQTT 5. Each connection is a client of its own with a clean session: the library
would send again by itself what was under way, out of order; what counts as published stands on record instead. One message is under way at
a time, so that at most that one comes twice, and none too early.
"""

import hashlib
import ssl
import threading
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from queue import Empty, SimpleQueue
from typing import Any, Literal
from urllib.parse import urlsplit

import paho.mqtt.client as paho
from paho.mqtt.enums import CallbackAPIVersion

from gateway.feeds.mqtt_topics import Publication

KEEP_ALIVE_S = 60
CONNECT_WITHIN_S = 10.0
FIRST_PAUSE_S, LONGEST_PAUSE_S = 1.0, 120.0
GOODBYE_WITHIN_S = 0.5
END_WITHIN_S = 1.0
QOS = 1
PORTS = {"mqtt": 1883, "mqtts": 8883}


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """Where the broker is and who we are there. `password`: asked for at each connection. Raises OSError where it cannot be read."""

    url: str
    user: str
    password: Callable[[], str | None]
    ca_file: str
    client_id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _News:
    """What a connection said. `what` acked: the message `number`; lost: `why`."""

    client: object
    what: Literal["connected", "refused", "acked", "lost"]
    number: int = 0
    why: str = ""


_Item = _News | tuple[Publication, ...] | None
"""None: it shall end."""


class MqttLink:
    """One broker. `wake` is called on another thread, whenever there is something to look at."""

    def __init__(
        self,
        account: Account,
        will: Publication,
        birth: Callable[[], Publication],
        wake: Callable[[], None],
        monotonic: Callable[[], float],
    ) -> None:
        self._account, self._will, self._birth, self._wake, self._monotonic = account, will, birth, wake, monotonic
        self._queue: SimpleQueue[_Item] = SimpleQueue()
        self._done: deque[Publication] = deque()
        self._ended = threading.Event()
        self._goodbye: Publication | None = None
        self._pause_s = FIRST_PAUSE_S
        self.trouble = ""
        """Why there is no connection; empty: there is one, or it was not tried yet."""
        self.connections = 0
        """How many there have been: a new one knows nothing of what was retained before."""
        self.idle = False
        """Whether it is connected and has nothing under way."""
        self._thread = threading.Thread(target=self._run, name="mqtt", daemon=True)
        self._thread.start()

    # the daemon's thread -------------------------------------------------------------------

    def offer(self, batch: Sequence[Publication]) -> None:
        """To be published, in this order; only while it is idle."""
        self.idle = False
        self._queue.put(tuple(batch))

    def take_done(self) -> list[Publication]:
        """What the broker has acknowledged since this was asked last."""
        return [self._done.popleft() for _ in range(len(self._done))]

    @property
    def has_done(self) -> bool:
        """Whether there is any."""
        return bool(self._done)

    def end(self, goodbye: Publication) -> None:
        """Says goodbye, if the broker takes it at once; a link that hangs is left behind."""
        self._goodbye = goodbye
        self._ended.set()
        self._queue.put(None)
        self._thread.join(END_WITHIN_S)

    # its own thread ------------------------------------------------------------------------

    def _run(self) -> None:
        while not self._ended.is_set():
            began_s = self._monotonic()
            self._live_through_a_connection()
            # One that is lost soon after it came is looked for less and less often, too: two gateways of one name throw each
            # other out without end.
            held = self._monotonic() - began_s >= LONGEST_PAUSE_S
            self._pause_s = FIRST_PAUSE_S if held else min(2 * self._pause_s, LONGEST_PAUSE_S)
            self._ended.wait(self._pause_s)

    def _live_through_a_connection(self) -> None:
        """From the knock until it is lost, refused or at its end."""
        try:
            client = self._connected()
        except (OSError, ValueError, ssl.SSLError) as error:
            self._say_trouble(getattr(error, "strerror", None) or str(error) or type(error).__name__)
            return
        try:
            if self._publish(client, self._birth()):
                self.trouble, self.connections, self.idle = "", self.connections + 1, True
                self._wake()
                self._serve(client)
        finally:
            self.idle = False
            client.loop_stop()

    def _connected(self) -> paho.Client:
        """Raises OSError, or ValueError for what the library will not take."""
        while not self._queue.empty():  # of a connection that is no more
            self._queue.get()
        if self._ended.is_set():  # what said so may have been among them
            raise ConnectionError("ended")
        client, where = self._client(), urlsplit(self._account.url)
        client.connect(where.hostname or "", where.port or PORTS[where.scheme], keepalive=KEEP_ALIVE_S)
        client.loop_start()
        try:
            news = self._next(client, CONNECT_WITHIN_S)
        except Empty:
            news = _News(client=client, what="refused", why=f"no answer within {CONNECT_WITHIN_S:.0f} s")
        if news is None or isinstance(news, tuple) or news.what != "connected":
            client.loop_stop()
            raise ConnectionError(news.why if isinstance(news, _News) else "ended")
        return client

    def _client(self) -> paho.Client:
        client = paho.Client(
            CallbackAPIVersion.VERSION2,
            client_id=self._account.client_id,
            protocol=paho.MQTTv311,
            reconnect_on_failure=False,
        )
        if self._account.user:
            client.username_pw_set(self._account.user, self._account.password())
        if self._account.url.startswith("mqtts:"):
            client.tls_set(ca_certs=self._account.ca_file or None)
        client.will_set(self._will.topic, self._will.payload, qos=QOS, retain=self._will.retain)
        put = self._queue.put

        def on_connect(client: paho.Client, _data: Any, _flags: Any, reason: Any, _properties: Any) -> None:
            put(_News(client=client, what="refused" if reason.is_failure else "connected", why=str(reason)))

        def on_publish(client: paho.Client, _data: Any, number: int, _reason: Any, _properties: Any) -> None:
            put(_News(client=client, what="acked", number=number))

        def on_disconnect(client: paho.Client, _data: Any, _flags: Any, reason: Any, _properties: Any) -> None:
            # what the library says of a line that broke without a word
            why = "the connection broke" if reason == "Unspecified error" else str(reason)
            put(_News(client=client, what="lost", why=why))

        client.on_connect, client.on_publish, client.on_disconnect = on_connect, on_publish, on_disconnect
        return client

    def _serve(self, client: paho.Client) -> None:
        """What it is handed, until the connection is lost or it shall end."""
        while True:
            item = self._next(client)
            if item is None:
                self._part(client)
                return
            if isinstance(item, _News):
                if item.what == "lost":
                    self._say_trouble(item.why)
                    return
                continue
            for publication in item:
                if not self._publish(client, publication):
                    return
                self._done.append(publication)
            self.idle = True
            self._wake()

    def _publish(self, client: paho.Client, publication: Publication, within_s: float | None = None) -> bool:
        """Whether the broker has acknowledged it; however long it takes, for a dead connection is noticed by its keep-alive."""
        sent = client.publish(publication.topic, publication.payload, qos=QOS, retain=publication.retain)
        while True:
            item = self._next(client, within_s)
            if item is None:  # it shall end: what is under way is not waited for
                self._part(client)
                return False
            if isinstance(item, _News) and item.what == "acked" and item.number == sent.mid:
                return True
            if isinstance(item, _News) and item.what in ("lost", "refused"):
                self._say_trouble(item.why)
                return False

    def _next(self, client: paho.Client, within_s: float | None = None) -> _Item:
        """The next item that is not of a connection before. Raises queue.Empty."""
        while True:
            item = self._queue.get(timeout=within_s)
            if not isinstance(item, _News) or item.client is client:
                return item

    def _part(self, client: paho.Client) -> None:
        """After an orderly end the broker says no last will (MQTT 3.1.1, 3.14.4), so that we say it ourselves."""
        if self._goodbye is not None:
            goodbye = self._goodbye
            sent = client.publish(goodbye.topic, goodbye.payload, qos=QOS, retain=goodbye.retain)
            try:
                while True:
                    news = self._next(client, GOODBYE_WITHIN_S)
                    if isinstance(news, _News) and (news.what == "lost" or news.number == sent.mid):
                        break
            except Empty:
                return  # it hangs: then its own last will is what it tells
        client.disconnect()

    def _say_trouble(self, why: str) -> None:
        if self.trouble != why:
            self.trouble = why
            self._wake()


def client_id(site: str, topic: str) -> str:
    """The same at each start, and another for each gateway: a second client of that name throws the first one out.

    23 letters and figures, which every broker must take (MQTT 3.1.1, 3.1.3.1).
    """
    return f"tank{hashlib.sha256(f'{site}/{topic}'.encode()).hexdigest()[:19]}"
