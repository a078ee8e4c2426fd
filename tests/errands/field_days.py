"""The household below the daemon with an outbox that empties when it is told to: errands at whatever time is said."""

from datetime import UTC, datetime

from gateway.facts import Report
from gateway.handlers import deliver
from gateway.handlers.due import do_what_is_due
from gateway.handlers.errands import order_errand
from gateway.handlers.report import take_report
from gateway.ports import SendEnded
from gateway.status.errands import errand_called
from gateway.status.next_due import next_due
from gateway.storage import open_store
from tests.handlers.days import Days
from tests.household import RIDGE, WREN

NOON = datetime(2026, 7, 6, 2, 0, tzinfo=UTC)
ERRANDS = """
silence_after = "26h"
  [[controllers.errands]]
  id = "status"
  text = "REPORT {time}"
  answer = "STATE {volts} V"
  within = "5m"
  may = ["wren", "robin"]
  [[controllers.errands]]
  id = "names"
  text = "NAMES?"
  answer = "NAMES ARE *"
  tries = 3
  within = "2m"
  may = ["wren"]
  [[controllers.errands]]
  id = "clock"
  text = "CLOCK {time}"
  answer = "CLOCK SET"
  risk = "sets"
  may = ["wren"]
  [[controllers.errands]]
  id = "flush"
  text = "OUT 1 ON"
  answer = "OUT 1 ON"
  risk = "switches"
  longest = "10m"
  stop_text = "OUT 1 OFF"
  may = ["wren", "finch"]
  [[controllers.errands]]
  id = "bell"
  text = "RING"
"""
FINCH = '[[contacts]]\nid = "finch"\nname = "Finch"\nnumber = "02 5550 0110"\nline = "landline"'
FINCH_NUMBER = "+61255500110"


class FieldDays(Days):
    """`leaves` hands over what waits; each step is its own transaction, so that between two of them the daemon may have died."""

    def __init__(self, folder, controller=ERRANDS, rest=FINCH, heard=True, **parts):
        super().__init__(folder, controller=controller, rest=rest, **parts)
        self.at(NOON, self._judge)
        if heard:
            self.comes(NOON, "STATION WELL 0200")

    def starts_again(self):
        """The gateway died and was started: nothing is known but what the store holds."""
        self.store.close()
        self.store = open_store(self.settings.store.url, "Quandong Ridge", create=False)

    @staticmethod
    def _judge(unit):
        do_what_is_due(unit, verdicts=True)

    def order(self, now, id, controller="ridge"):
        """At the command line."""
        box = self.site.controllers[controller]
        return self.at(now, lambda unit: order_errand(unit, box, errand_called(box, id), by=None))

    def texts(self, now, words, *, number=WREN, at=None):
        """A contact writes."""
        self.comes(now, words, number=number, at=at)

    def due(self, now):
        """What time brings; as often as it is due."""
        for _ in range(10):
            self.at(now, self._judge)
            with self.store.read() as reader:
                again = next_due(reader, self.site, now, verdicts=True)
            if again is None or again > now:
                return again
        raise AssertionError("due again and again: it would never rest")

    def leaves(self, now, outcome="sent", **end):
        """Everything that may leave now is handed over, and ends so; what it was: (number, text)."""
        left, self.handed = [], []
        for _ in range(50):
            claimed = self.at(now, deliver.claim_next)
            if claimed.job is None:
                break
            left.append((claimed.job.number, claimed.job.text))
            reference = claimed.job.id % 256
            self.handed.append((claimed.job.number, reference))
            references = (reference,) if outcome == "sent" else ()
            ended = SendEnded(job=claimed.job.id, outcome=outcome, references=references, **end)
            self.at(now, lambda unit, ended=ended: deliver.message_ended(unit, ended))
        self.due(now)
        return left

    def reported(self, now, number, outcome="delivered"):
        """The network's reports on what that phone got when messages left last."""
        for to, reference in self.handed:
            if to == number:
                report = Report(reference=reference, number=number, outcome=outcome, status=0)
                self.at(now, lambda unit, report=report: take_report(unit, report))

    def to_the_box(self, now, outcome="sent", **end):
        """What of that the box got."""
        return [text for number, text in self.leaves(now, outcome, **end) if number == RIDGE]

    def told(self, now, number=WREN):
        """What of that the contact got."""
        return [text for to, text in self.leaves(now) if to == number]

    def ends(self):
        """(kind, errand) of each errand that ended."""
        kinds = ("errand-answered", "errand-unexpected", "errand-unanswered", "errand-refused")
        return [(event.kind, event.detail["errand"]) for event in self.events(*kinds)]
