"""`python -m tests.faults.without [ROW …]`: each row's remedy taken out → its test must fail.

A copy of the program is made, one remedy in it is undone, and the row's test is run there. What is printed is the proof that
no test of the fault table is a test that cannot fail: `seen to fail` or `NOT SEEN TO FAIL`.
"""

import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).resolve().parents[2]
MODEM, POWER, DISK, CLOCK, NETWORK, TEXTS, OTHERS, SERVE, STORE = (
    "tests/faults/test_modem_faults.py",
    "tests/faults/test_power_faults.py",
    "tests/faults/test_disk_faults.py",
    "tests/faults/test_clock_faults.py",
    "tests/faults/test_network_faults.py",
    "tests/faults/test_hostile_texts.py",
    "tests/faults/test_store_and_text_faults.py",
    "tests/daemon/test_serve.py",
    "tests/storage",
)


@dataclass(frozen=True, slots=True)
class Without:
    """A row of the table, and its remedy undone: in that file `old` becomes `new` (`also`: further such changes)."""

    row: int
    remedy: str
    file: str
    old: str
    new: str
    tests: str
    also: tuple[tuple[str, str, str], ...] = ()


UNDONE = (
    Without(
        1,
        "the line is opened again",
        "gateway/modem/worker.py",
        "                self._lose(trouble)\n                self._pause(retry_s)",
        "                self._lose(trouble)\n                return",
        MODEM,
    ),
    Without(
        2,
        "the stable link is followed anew",
        "gateway/modem/link.py",
        "                device, baud, timeout=0",
        "                _SEEN.setdefault(device, os.path.realpath(device)), baud, timeout=0",
        MODEM,
        (("gateway/modem/link.py", "HELD = (", "_SEEN: dict[str, str] = {}\nHELD = ("),),
    ),
    Without(
        3,
        "no answer is an error",
        "gateway/modem/worker.py",
        "                if silent > 1 or not",
        "                if False and not",
        MODEM,
    ),
    Without(
        4,
        "noise is a line like another",
        "gateway/modem/dialogue.py",
        '.decode("latin-1")',
        '.decode("ascii")',
        MODEM,
    ),
    Without(
        5,
        "unasked lines are kept out of answers",
        "gateway/modem/dialogue.py",
        "        elif UNASKED.match(line):\n            self._tell(line)\n        elif flight.bare",
        "        elif UNASKED.match(line):\n            raise ModemRefused(line)\n        elif flight.bare",
        MODEM,
    ),
    Without(
        6,
        "the sweep",
        "gateway/modem/worker.py",
        "                if now >= next_sweep or self._take_sweep():",
        "                if self._take_sweep():",
        MODEM,
    ),
    Without(
        7,
        "a reset is noticed",
        "gateway/modem/answers.py",
        'raise ResetSeen("the modem is in text mode again: it was reset")',
        "return []",
        MODEM,
        (("gateway/modem/session.py", "        if self._dialogue.echo_seen:", "        if False:"),),
    ),
    Without(
        8,
        "what may have left is marked",
        "gateway/outbox/outcome.py",
        "now + UNSURE_WAIT, possible_repeat=True",
        "now + UNSURE_WAIT, possible_repeat=False",
        POWER,
    ),
    Without(9, "exclusive open", "gateway/modem/link.py", "exclusive=True", "exclusive=False", SERVE),
    Without(
        10,
        "the PIN is tried once",
        "gateway/modem/sim.py",
        "        if self._pin.tried():",
        "        if False:",
        MODEM,
    ),
    Without(
        11,
        "a SIM that comes back is found",
        "gateway/modem/worker.py",
        "                self._pause(retry_s)\n",
        "                self._stopping.wait()\n",
        MODEM,
    ),
    Without(
        12,
        "slots are freed",
        "gateway/modem/worker.py",
        "                if self._one_free(session):\n                    continue",
        "                pass",
        MODEM,
    ),
    Without(
        13,
        "a PDU is known by its hash",
        "gateway/gsm/keys.py",
        "    bare = pdu_hex.strip().upper()",
        '    bare = f"{pdu_hex} {__import__(chr(111) + chr(115)).urandom(8).hex()}"',
        MODEM,
    ),
    Without(
        14,
        "what cannot be decoded is kept raw",
        "gateway/flow/receive.py",
        "            _take_undecodable(moment, held, content)",
        "            pass",
        MODEM,
    ),
    Without(
        15,
        "back-off",
        "gateway/outbox/outcome.py",
        "    return wait * (1 + JITTER_SHARE",
        "    return timedelta(0) * (1 + JITTER_SHARE",
        NETWORK,
    ),
    Without(
        16,
        "permanent refusals end a message",
        "gateway/outbox/outcome.py",
        "    if given_up or permanent(ended.family, ended.code):",
        "    if given_up:",
        NETWORK,
    ),
    Without(
        17,
        "parts are put in order",
        "gateway/inbox/join.py",
        "for number in range(1, total + 1)),",
        "for number in by_number),",
        NETWORK,
    ),
    Without(
        18,
        "a PDU is known by its hash",
        "gateway/flow/receive.py",
        "    if moment.tx.known_arrival(key, held.memory, held.slot, stamped=stamped):\n        return",
        "    stamped = stamped",
        NETWORK,
    ),
    Without(
        19,
        "the burst limit",
        "gateway/outbox/choose.py",
        "        if left <= 0:",
        "        left = max(left, 2)\n        if left <= 0:",
        NETWORK,
    ),
    Without(
        20,
        "stored first, freed second",
        "gateway/daemon/loop.py",
        "        for held in listed.held:\n",
        "        self._modem.free(listed.held)\n        for held in listed.held:\n",
        POWER,
    ),
    Without(
        21,
        "what is on the SIM is read at the next start",
        "gateway/modem/worker.py",
        "        if new or self._first_sweep:",
        "        if False:",
        SERVE,
    ),
    Without(
        22,
        "a short time off is told to nobody",
        "gateway/flow/gateway_life.py",
        "OUTAGE_TOLD = timedelta(minutes=30)",
        "OUTAGE_TOLD = timedelta(seconds=1)",
        POWER,
    ),
    Without(
        23,
        "signs of life come from the loop",
        "gateway/daemon/notify.py",
        "def notify(state: str) -> bool:\n",
        "def notify(state: str) -> bool:\n    return False\n",
        DISK,
    ),
    Without(
        24,
        "what stood at sending is judged at the start",
        "gateway/daemon/loop.py",
        "        self._within(deliver.at_start)\n",
        "",
        POWER,
    ),
    Without(
        25,
        "news of the modem outlives a full disk",
        "gateway/daemon/trouble.py",
        "        if isinstance(item, KEPT) and",
        "        if False and",
        DISK,
    ),
    Without(
        26,
        "a failing disk ends it",
        "gateway/daemon/trouble.py",
        "            self.ends = True\n",
        "            self.ends = False\n",
        DISK,
    ),
    Without(
        27,
        "the store is checked at start",
        "gateway/storage/store.py",
        '    if said != "ok":',
        '    if said == "never":',
        OTHERS,
    ),
    Without(
        28,
        "a backup is made beside the older one",
        "gateway/storage/backup.py",
        '    making = target.with_name(target.name + ".making")',
        "    making = target",
        STORE,
    ),
    Without(
        29, "the log is limited", "gateway/daemon/record.py", "        if count < BURST:", "        if True:", DISK
    ),
    Without(
        30,
        "a clock before the program is not trusted",
        "gateway/inbox/stamps.py",
        "    return now >= CLOCK_FLOOR and",
        "    return",
        CLOCK,
    ),
    Without(
        31,
        "the trigger asks what is now",
        "gateway/schedule/ticker.py",
        "        return now + (",
        "        return (previous_fire_time or now) + (",
        CLOCK,
    ),
    Without(
        32,
        "the local day is remembered",
        "gateway/flow/weekly.py",
        "    moment.tx.set_mark(MARK, ",
        "    moment.tx.set_mark('elsewhere', ",
        CLOCK,
    ),
    Without(
        33,
        "absurd stamps are not believed",
        "gateway/inbox/stamps.py",
        "    return heard_at - OLDEST_STAMP <= stamp <= heard_at + CLOCK_SKEW",
        "    return True",
        CLOCK,
    ),
    Without(
        34,
        "every problem is collected",
        "gateway/settings/syntax.py",
        "except tomllib.TOMLDecodeError as wrong",
        "except ZeroDivisionError as wrong",
        OTHERS,
    ),
    Without(
        35,
        "a wrong file keeps the old configuration",
        "gateway/daemon/loop.py",
        "        except ConfigurationWrong as wrong:",
        "        except ZeroDivisionError as wrong:",
        SERVE,
    ),
    Without(
        36,
        "patterns have a time limit",
        "gateway/rules/compiled.py",
        "timeout=",
        "timeout=1e9 + ",
        OTHERS,
    ),
    Without(
        37,
        "who may not ask is not obeyed",
        "gateway/flow/answer.py",
        "    if not contact.may_ask:",
        "    if False:",
        TEXTS,
    ),
    Without(
        38,
        "hidden characters are shown as what they are",
        "gateway/facts/harmless.py",
        "    if unicodedata.category(char) not in _HIDDEN:",
        "    if True:",
        TEXTS,
    ),
    Without(
        39,
        "a text leaves as hexadecimal digits",
        "gateway/modem/pdu/encode.py",
        ".hex()",
        ".decode('latin-1')",
        OTHERS,
    ),
    Without(
        40,
        "a machine gets no answer",
        "gateway/flow/answer.py",
        "    return replace(moment, unanswered=True)",
        "    return moment",
        TEXTS,
    ),
    Without(
        41,
        "the burst limit",
        "gateway/outbox/choose.py",
        "        if left <= 0:",
        "        left = max(left, 2)\n        if left <= 0:",
        NETWORK,
    ),
    Without(
        42,
        "giving up is told to the others",
        "gateway/flow/deliver.py",
        "    if change.give_up:\n",
        "    if False:\n",
        NETWORK,
    ),
    Without(
        43,
        "messages to nobody are cancelled",
        "gateway/flow/deliver.py",
        "    _cancel_strangers(moment)\n    for",
        "    for",
        OTHERS,
    ),
    Without(
        44,
        "one job's mistake costs no other",
        "gateway/daemon/guard.py",
        "        except Exception as broken:",
        "        except ZeroDivisionError as broken:",
        DISK,
    ),
    Without(
        45,
        "what was flagged is taken back once",
        "gateway/flow/alive.py",
        '    moment.tx.set_mark(f"silent:{controller.id}", None)\n',
        "",
        CLOCK,
    ),
    Without(
        46,
        "no verdict before the store was swept",
        "gateway/daemon/loop.py",
        "        verdicts = self._swept and self._modem_ready",
        "        verdicts = True",
        CLOCK,
    ),
    Without(
        47,
        "a migration is one transaction",
        "gateway/storage/schema.py",
        "    with engine.execution_options(writing=True).connect() as connection, connection.begin():\n",
        '    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:\n',
        STORE,
    ),
    Without(
        48,
        "a newer store is refused",
        "gateway/storage/schema.py",
        "    if version is not None and version > HEAD:",
        "    if False:",
        OTHERS,
        (("gateway/storage/backup.py", "    if version[0] > HEAD:", "    if False:"),),
    ),
)


def main(rows: list[int]) -> int:
    """How many were not seen to fail."""
    unseen = 0
    for one in UNDONE:
        if rows and one.row not in rows:
            continue
        failed = _fails_without(one)
        unseen += not failed
        print(f"{one.row:3}  {'seen to fail' if failed else 'NOT SEEN TO FAIL'}  without: {one.remedy}", flush=True)
    return unseen


def _fails_without(one: Without) -> bool:
    with tempfile.TemporaryDirectory(prefix="without-") as place:
        copy = Path(place)
        for name in ("gateway", "tests", "config"):
            shutil.copytree(HERE / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
        shutil.copy(HERE / "pyproject.toml", copy)
        for name, old, new in ((one.file, one.old, one.new), *one.also):
            file = copy / name
            text = file.read_text("utf-8")
            if old not in text:
                print(f"     {name} no longer has: {old!r}")
                return False
            file.write_text(text.replace(old, new), "utf-8")
        command = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", "-o", "addopts=", one.tests]
        try:
            ended = subprocess.run(
                [*command, "-k", f"row_{one.row:02}_ or row_{one.row}_ or and_{one.row:02}_ "],
                cwd=copy,
                capture_output=True,
                text=True,
                timeout=300,
            )
        except subprocess.TimeoutExpired:
            return True
        return ended.returncode == 1 and "no tests ran" not in ended.stdout


if __name__ == "__main__":
    sys.exit(min(main([int(one) for one in sys.argv[1:]]), 1))
