"""A seed → an invented dialect: how one imaginary alarm box writes, with samples and texts held out.

A dialect is drawn from parts that are combined freely: what stands in front, how an input is called, how its state is
told, in which order, with which separators and case, what noise and which measurements follow. The words are made for
these tests; no device is imitated.
"""

import random
from dataclasses import dataclass, field

Case = tuple[str, str]
"""(label, text)."""

STATES = [
    (["OPEN"], ["SHUT"]),
    (["LOW"], ["OK"]),
    (["ON"], ["OFF"]),
    (["HI"], ["LO"]),
    (["1"], ["0"]),
    (["ALARM"], ["NORMAL"]),
    (["TRIPPED"], ["RESTORED"]),
    (["Very low"], ["All good"]),
    (["low water"], ["water back again"]),
    (["ACTIVE", "STILL ACTIVE"], ["CLEARED"]),
    (["DRY", "ALMOST DRY"], ["WET", "FULL AGAIN"]),
    (["fault"], ["fault over"]),
    (["not made"], ["made"]),
    (["closed"], ["opened"]),
    (["vide"], ["rempli"]),
    (["leer"], ["wieder voll"]),
    (["+"], ["-"]),
    (["up"], ["down"]),
]
NAMES = [
    ["Spring", "House", "Top", "Dam", "Yards"],
    ["Gully tank", "Shed tank", "Hill tank", "Orchard tank"],
    ["SPRING", "OLD SHED", "TOP PADDOCK", "YARDS"],
    ["north", "south", "east", "west"],
]
FORMS = [
    "{n} {s}",
    "{n}: {s}",
    "{n}={s}",
    "{n} is {s}",
    "{n} {s}!",
    "{n} now {s}.",
    "{s}: {n}",
    "{s} {n}",
    "{s} at {n}",
    "{n},{s}",
    "{n} - {s}",
    "{n} level {s}",
    "{n}/{s}",
    "<{n}> [{s}]",
    "{n} state: {s} since last text",
]
NUMBERED = [
    "ZONE {i}",
    "IN{i}",
    "Input {i}",
    "Z{i}",
    "#{i}",
    "ch{i:02d}",
    "Tank {i}",
    "sensor no. {i}",
    "port_{i}",
    "DI-{i}",
    "({i})",
    "{i}",
    "P{i} float",
]
FRONTS = [
    "",
    "",
    "{site}: ",
    "{site} ",
    "{time} ",
    "{date} {time} ",
    "[{site}] {time} ",
    "#{count} ",
    "{date},{time},",
    "{site} {date} {time}: ",
    "MSG {count}: ",
    "{weekday} {time} ",
    "from {person}: ",
    "*{site}* ",
]
TAILS = [
    "",
    "",
    " {v}",
    ", {v}",
    " {v} {q}",
    "; {q}; {t}",
    " at {time}",
    " {date} {time}",
    " ({count})",
    " #{count} {v}",
    "\n{time}",
    " ref {hex}",
    " ack by {person}",
    "|{v}|{t}|{q}",
]
VOLTS = ["BATT {x}V", "batt={x} V", "U:{x}V", "{x}V", "Supply {x} volt"]
SIGNALS = ["CSQ {x}", "sig={x}", "RSSI:{x}", "signal {x}%"]
CELSIUS = ["T={x}C", "temp {x}", "{x}°C"]
PERSONS = ["Wren", "Heath", "Linnet", "Sorrel", "Rook", "Teal"]
OTHERS = {
    "alive": ["DAILY TEST", "still here", "heartbeat ok", "I am well", "Test call"],
    "power-lost": ["MAINS FAIL", "power lost", "no 230 V", "Supply gone"],
    "power-back": ["MAINS OK", "power restored", "230 V is back", "Supply returned"],
    "ignore": ["Your credit is low, top up", "menu closed", "Welcome to the network"],
}


@dataclass(kw_only=True, eq=False)
class Dialect:
    """`train` to suggest from, `held` to read afterwards; `about` says how it was drawn."""

    train: list[Case] = field(default_factory=list)
    held: list[Case] = field(default_factory=list)
    about: str = ""


class Writer:
    """One box: draws its habits once and its noise for each text."""

    def __init__(self, seed: int) -> None:
        self.draw = random.Random(seed)
        self.turn = 0
        pick = self.draw.choice
        self.site, self.front, self.tail, self.form = (
            pick(["RIDGE", "Quandong 2", "box7"]),
            pick(FRONTS),
            pick(TAILS),
            pick(FORMS),
        )
        self.active, self.idle = pick(STATES)
        if self.draw.random() < 0.2:
            self.active, self.idle = self.idle, self.active
        self.names = pick(NAMES) if self.draw.random() < 0.35 else None
        self.numbered = pick(NUMBERED)
        self.by_name = (
            self.names is not None and all(" " not in name for name in self.names) and self.draw.random() < 0.4
        )
        self.other_form = pick(FORMS) if self.draw.random() < 0.12 else None
        self.volts, self.signal, self.celsius = pick(VOLTS), pick(SIGNALS), pick(CELSIUS)
        self.optional_tail = self.draw.random() < 0.25
        self.case = pick([str, str, str, str.upper, str.lower])
        self.iso, self.count = self.draw.random() < 0.5, self.draw.randrange(9000)
        self.others = {label: pick(texts) for label, texts in OTHERS.items()}

    def event(self, number: int, state: str) -> Case:
        """A text about one input."""
        draw = self.draw
        words = self.active if state == "active" else self.idle
        word = words[self.turn % len(words)] if self.turn < 2 * self.inputs() else draw.choice(words)
        name = self.names[number - 1] if self.names else self.numbered.format(i=number)
        form = self.other_form if self.other_form and state == "idle" else self.form
        tail = "" if self.optional_tail and draw.random() < 0.4 else self.tail
        label = name.lower() if self.by_name else str(number)
        return f"input {label} {state}", self._written(self.front + form.format(n=name, s=word) + tail)

    def other(self, label: str) -> Case:
        """A text that is not about an input."""
        return label, self._written(self.front + self.others[label] + self.tail)

    def inputs(self) -> int:
        """How many inputs the box has."""
        return min(4, len(self.names)) if self.names else 8

    def _written(self, pattern: str) -> str:
        draw = self.draw
        self.count += draw.randint(1, 3)
        day, month, hour, minute = draw.randint(1, 28), draw.randint(1, 12), draw.randint(0, 23), draw.randint(0, 59)
        noise = {
            "site": self.site,
            "time": f"{hour:02d}:{minute:02d}",
            "date": f"2026-{month:02d}-{day:02d}" if self.iso else f"{day:02d}/{month:02d}/26",
            "weekday": draw.choice(["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]),
            "count": f"{self.count:04d}",
            "hex": f"{draw.randrange(0x1000, 0xFFFF):04X}",
            "person": draw.choice(PERSONS),
            "v": self.volts.format(x=f"{draw.uniform(11, 14):.1f}"),
            "q": self.signal.format(x=draw.randint(5, 31)),
            "t": self.celsius.format(x=draw.randint(-5, 38)),
        }
        return self.case(pattern.format(**noise))


def dialect(seed: int, *, events: int = 10, held: int = 20) -> Dialect:
    """Samples of half of the inputs, texts of all of them held out (of named inputs, all are in the samples).

    Every state word is shown at least once; how long a text goes on, and with what, is left to chance.
    """
    writer = Writer(seed)
    many = writer.inputs()
    shown = many if writer.names else many // 2
    made = Dialect(about=f"{seed}: {writer.front!r} {writer.form!r} {writer.active} {writer.idle} {writer.tail!r}")
    for turn in range(max(events, 2 * shown)):
        writer.turn = turn // 2
        made.train.append(writer.event(turn // 2 % shown + 1, ("active", "idle")[turn % 2]))
    writer.turn = 2 * many
    for label in writer.draw.sample(sorted(OTHERS), writer.draw.randint(0, 4)):
        made.train.extend(writer.other(label) for _ in range(2))
        made.held.append(writer.other(label))
    for _ in range(held):
        number = writer.draw.randint(1, shown if writer.names else many)
        made.held.append(writer.event(number, writer.draw.choice(["active", "idle"])))
    return made
