"""One way to drive either modem behind the port: the fake in process, and the real one on the simulated modem.

`tell` puts news on a queue; `until` takes it off until what is awaited comes.
"""

import queue
from collections.abc import Callable
from typing import Any, TypeVar

from gateway.ports import Modem, ModemNews
from gateway.simulator import Faults, Habits, Policy, SimulatedModem
from tests.fakes.fake_modem import UNSURE, FakeModem, refused

PATIENCE_S = 20.0
N = TypeVar("N")


class Bench:
    """`modem` is behind the port; the rest is the world around it.

    `is_noisy`: an answer may be harmed on the wire, so that a sweep may have to be repeated, as the daemon's timer does.
    """

    is_noisy = False

    def __init__(self, modem: Modem) -> None:
        self.modem = modem
        self._news: queue.SimpleQueue[ModemNews] = queue.SimpleQueue()

    def start(self) -> None:
        self.modem.start(self._news.put)

    def until(
        self, kind: type[N], fits: Callable[[N], bool] = lambda news: True, *, patience_s: float = PATIENCE_S
    ) -> N:
        """The next news of that kind that fits; what comes before it is dropped. Raises queue.Empty."""
        while True:
            news = self._news.get(timeout=patience_s)
            if isinstance(news, kind) and fits(news):
                return news

    def deliver(self, sender: str, text: str) -> None:
        raise NotImplementedError

    def slots(self) -> dict[tuple[str, int], str]:
        raise NotImplementedError

    def reuse(self, memory: str, slot: int, pdu: str) -> None:
        raise NotImplementedError

    def refuse(self, number: str, code: int) -> None:
        raise NotImplementedError

    def delete_fails(self, fails: bool) -> None:
        raise NotImplementedError

    def lose_next_answer(self) -> None:
        """The next text is taken and its answer lost."""
        raise NotImplementedError

    def report(self, number: str, reference: int) -> None:
        """Makes the network report that segment as delivered, where it does not do so by itself."""

    def unplug(self) -> None:
        raise NotImplementedError

    def plug(self) -> None:
        raise NotImplementedError

    def arrived(self, count: int) -> list[tuple[str, str]]:
        """(number, text) of what people got, once there are so many."""
        raise NotImplementedError

    def close(self) -> None:
        self.modem.stop(2.0)


class FakeBench(Bench):
    """The fake, in process."""

    def __init__(self) -> None:
        self.fake = FakeModem()
        super().__init__(self.fake)

    def deliver(self, sender: str, text: str) -> None:
        self.fake.deliver(sender, text)

    def slots(self) -> dict[tuple[str, int], str]:
        return dict(self.fake.slots)

    def reuse(self, memory: str, slot: int, pdu: str) -> None:
        self.fake.reuse(slot, pdu)

    def refuse(self, number: str, code: int) -> None:
        self.fake.by_number[number] = refused(code)

    def delete_fails(self, fails: bool) -> None:
        self.fake.delete_fails = fails

    def lose_next_answer(self) -> None:
        self.fake.outcomes.append(UNSURE)

    def report(self, number: str, reference: int) -> None:
        self.fake.report(number, reference)

    def unplug(self) -> None:
        self.fake.lose()

    def plug(self) -> None:
        self.fake.back()

    def arrived(self, count: int) -> list[tuple[str, str]]:
        assert len(self.fake.arrived) >= count
        return [(job.number, job.text) for job in self.fake.arrived]


class LineBench(Bench):
    """The real dialogue on the simulated modem."""

    def __init__(self, link: str, habits: Habits, faults: Faults, open_it: Callable[[str], Any]) -> None:
        self.simulated = SimulatedModem(link, habits=habits, faults=faults)
        self.simulated.start()
        self.is_noisy = faults.noise > 0
        super().__init__(open_it(self.simulated.device))

    def deliver(self, sender: str, text: str) -> None:
        self.simulated.network.deliver(sender, text)

    def slots(self) -> dict[tuple[str, int], str]:
        return self.simulated.slots

    def reuse(self, memory: str, slot: int, pdu: str) -> None:
        self.simulated.put(memory, pdu, slot)

    def refuse(self, number: str, code: int) -> None:
        self.simulated.network.policy(number, Policy(refuse=code))

    def delete_fails(self, fails: bool) -> None:
        self.simulated.faults.delete_error = 500 if fails else None

    def lose_next_answer(self) -> None:
        self.simulated.faults.lost_answers = 1

    def unplug(self) -> None:
        self.simulated.unplug()

    def plug(self) -> None:
        self.simulated.plug()

    def arrived(self, count: int) -> list[tuple[str, str]]:
        sent = self.simulated.network.wait_for_outgoing(count, PATIENCE_S)
        return [(message.number, message.text) for message in sent]

    def close(self) -> None:
        super().close()
        self.simulated.stop()
