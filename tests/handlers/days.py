"""The household with a clock of the test's own: the flow below the daemon, one transaction a step, at whatever time is said."""

from functools import partial

from gateway.facts import Text
from gateway.handlers import deliver, gateway_life
from gateway.handlers.controllers import judge_controllers
from gateway.handlers.due import do_what_is_due
from gateway.handlers.text import read_text
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import Condition, SendEnded
from gateway.settings.load import load
from gateway.site import compile_site
from gateway.status.silence import silence_dues
from gateway.storage import open_store
from tests.household import RIDGE, WREN, write_config


class Days:
    """The flow below the daemon: one transaction a step, at whatever time is said."""

    def __init__(self, folder, **parts):
        self.folder = folder
        self.configure(**parts)
        self.store = open_store(self.settings.store.url, "Quandong Ridge", create=True)

    def configure(self, **parts):
        """Another file from now on."""
        self.settings = load(str(write_config(self.folder, **parts))).settings
        self.site = compile_site(self.settings)

    def at(self, now, work, *, trusted=True):
        """One transaction."""
        with self.store.write() as tx:
            return work(UnitOfWork(tx=tx, site=self.site, now=now, trusted=trusted))

    def judge(self, now):
        """One verdict over all, as the daemon does it when it is due."""
        self.at(now, judge_controllers)

    def comes(self, now, text="STATION WELL 1", *, number=RIDGE, at=None):
        """A text, stamped `at`."""
        whole = Text(number=number, text=text, at=at or now, heard_at=now)
        self.at(now, lambda unit: read_text(unit, whole))

    def says(self, now, text, number=WREN, at=None):
        """A contact's text, and all that leaves: (number, text)."""
        self.comes(now, text, number=number, at=at)
        return self.leaves(now)

    def time_brings(self, now):
        """All that leaves of what is due by then: (number, text)."""
        self.at(now, partial(do_what_is_due, verdicts=True))
        return self.leaves(now)

    def network(self, now, there=True, percent=60):
        """What our own modem says."""
        condition = Condition(signal_percent=percent, registered=there, operator=None, sim="ready")
        self.at(now, lambda unit: gateway_life.modem_news(unit, condition))

    def events(self, *kinds):
        """Of these kinds."""
        with self.store.read() as reader:
            return reader.events(kinds=kinds)

    def due(self, now):
        """When it looks next."""
        with self.store.read() as reader:
            return min(silence_dues(reader, self.site, now), default=None)

    def texts(self):
        """All of them, in and out."""
        with self.store.read() as reader:
            return reader.texts()

    def leaves(self, now, outcome="sent"):
        """Everything that may leave then does, and the modem says so of each: (number, text)."""
        left = []
        while (job := self.at(now, deliver.claim_next).job) is not None:
            references = (len(left) + 1,) if outcome == "sent" else ()
            ended = SendEnded(job=job.id, outcome=outcome, references=references)
            self.at(now, lambda unit, ended=ended: deliver.message_ended(unit, ended))
            left.append((job.number, job.text))
        return left

    def outbox(self):
        """What waits to leave: (number, text)."""
        with self.store.read() as reader:
            return [(message.number, message.text) for message in reader.outbox()]
