"""A seed → an invented dialect of the wilder kind: terse, keyed, listed, glued, over several lines, in other tongues.

Each family writes in a way of its own; seeds vary words, separators, noise and measurements within it. The words are made
for these tests; no device is imitated.
"""

import random
from collections.abc import Callable

from tests.suggest.dialects import Dialect

Draw = random.Random
Event = Callable[[Draw, int, str], str]
"""(noise, input from 1, 'active' or 'idle') → a text."""

PAIRS = [
    ("OPEN", "SHUT"),
    ("LOW", "OK"),
    ("ON", "OFF"),
    ("HI", "LO"),
    ("H", "L"),
    ("ALARM", "NORMAL"),
    ("DRY", "WET"),
    ("vacío", "lleno"),
    ("leer", "voll"),
    ("ПУСТО", "ПОЛНО"),
    ("bas", "plein"),
    ("tyhjä", "täynnä"),
    ("TRIP", "RESET"),
    ("1", "0"),
]
LONG = [
    ("has dropped below the mark", "is back above the mark"),
    ("water level low", "water level restored"),
    ("is nearly empty", "fills again"),
    ("sous le seuil", "de nouveau au-dessus"),
]
NAMES = [
    ["Spring", "House", "Top", "Dam"],
    ["NORTH", "SOUTH", "EAST", "WEST"],
    ["quelle", "hof", "stall", "weide"],
    ["A", "B", "C", "D"],
]
OTHER = {
    "alive": ["DAILY REPORT", "TEST OK", "I'm alive", "Tagesmeldung", "SYSTEM START v2.14", "Boot: reset cause 3"],
    "power-lost": ["MAINS LOST", "AC FAIL", "Netz weg", "external power down", "PWR:0"],
    "power-back": ["MAINS BACK", "AC OK", "Netz da", "external power up", "PWR:1"],
    "ignore": ["Recharge your prepaid plan by Friday", "Unknown command", "Config saved"],
}


def volts(draw: Draw, style: int) -> str:
    """A battery, in one of many ways."""
    value = draw.uniform(11.2, 13.9)
    return [
        f"{int(value)}V{int(value * 10) % 10}",
        f"{value:.1f}V".replace(".", ","),
        f"Batt={value * 1000:.0f}mV",
        f"BAT {draw.randint(20, 100)}%",
        f"VBAT: {value:.2f}",
        f"{value:.1f} V",
        f"U={value:.1f}",
    ][style]


def extras(draw: Draw, style: int) -> str:
    """Temperature or signal."""
    return [
        "",
        f"CSQ {draw.randint(3, 31)}",
        f"-{draw.randint(51, 110)}dBm",
        f"T={draw.randint(-9, 41)}C",
        f"{draw.randint(-9, 41)}°C",
        f"RSSI:{draw.randint(3, 31)}",
    ][style]


def when(draw: Draw, style: int) -> str:
    """A time, in odd ways."""
    day, month, hour, minute = draw.randint(1, 28), draw.randint(1, 12), draw.randint(0, 23), draw.randint(0, 59)
    return [
        f"{hour:02d}{minute:02d}",
        f"{hour:02d}:{minute:02d} {day:02d}/{month:02d}/26",
        f"26{month:02d}{day:02d}{hour:02d}{minute:02d}",
        f"{day:02d}.{month:02d}.2026 {hour:02d}.{minute:02d}",
        f"2026-{month:02d}-{day:02d}T{hour:02d}:{minute:02d}:{draw.randint(0, 59):02d}Z",
        f"{hour:02d}h{minute:02d}",
        f"{day}/{month} {hour}:{minute:02d}{'am' if hour < 12 else 'pm'}",
        f"{draw.choice(['Mon', 'Tue', 'Wed', 'Sat'])} {hour:02d}:{minute:02d}:{draw.randint(0, 59):02d}",
    ][style]


class Habits:
    """What one box never changes."""

    def __init__(self, seed: int) -> None:
        self.draw = draw = random.Random(seed)
        self.active, self.idle = draw.choice(PAIRS)
        self.long = draw.choice(LONG)
        if draw.random() < 0.3:
            self.active, self.idle = self.idle, self.active
            self.long = self.long[::-1]
        self.names = draw.choice(NAMES)
        self.prefix = draw.choice(["IN", "Z", "ZONE ", "Input ", "DI", "F", "Kanal ", "contact n°", "ch-", "float_"])
        self.volts, self.extras, self.when = draw.randrange(7), draw.randrange(6), draw.randrange(8)
        self.count = draw.randrange(50, 5000)
        self.site = draw.choice(["RDG", "Quandong", "box 7", "Höhe"])

    def state(self, state: str) -> str:
        """Its word."""
        return self.active if state == "active" else self.idle

    def phrase(self, state: str) -> str:
        """Its long words."""
        return self.long[0] if state == "active" else self.long[1]

    def v(self, draw: Draw) -> str:
        """Its battery."""
        return volts(draw, self.volts)

    def x(self, draw: Draw) -> str:
        """Its other measurement."""
        return extras(draw, self.extras)

    def t(self, draw: Draw) -> str:
        """Its time."""
        return when(draw, self.when)

    def n(self) -> int:
        """Its counter."""
        self.count += 1
        return self.count


def _letter(number: int) -> str:
    return "ABCD"[number - 1]


def families(h: Habits) -> dict[str, Event]:
    """How texts about an input are written, by family."""
    p = h.prefix
    return {
        "terse": lambda d, i, s: f"{i}:{h.state(s)}",
        "terse-time": lambda d, i, s: f"{i} {h.state(s)} {h.t(d)}",
        "plain": lambda d, i, s: f"{p}{i} {h.state(s)}",
        "plain-volts": lambda d, i, s: f"{p}{i} {h.state(s)} {h.v(d)} {h.x(d)}",
        "json": lambda d, i, s: f'{{"in":{i},"st":"{h.state(s)}","ts":"{h.t(d)}"}}',
        "json-first": lambda d, i, s: f'{{"id":"{h.site}","n":{h.n()},"ch":{i},"value":"{h.state(s)}"}}',
        "keys": lambda d, i, s: f"id={h.site};in={i};state={h.state(s)};{h.v(d)};{h.x(d)}",
        "keys-space": lambda d, i, s: f"seq={h.n()} chan={i} st={h.state(s)} {h.v(d)}",
        "commas": lambda d, i, s: f"{h.site},{h.n()},{p}{i},{h.state(s)},{h.v(d)},{h.x(d)}",
        "commas-bare": lambda d, i, s: f"{h.t(d)},{i},{h.state(s)},{h.v(d)}",
        "semicolons": lambda d, i, s: f"EV;{i};{h.state(s)};{h.t(d)};{h.x(d)}",
        "glued": lambda d, i, s: f"{p.strip()}{i}{h.state(s)}",
        "glued-volts": lambda d, i, s: f"{p.strip()}{i}{h.state(s)} {h.v(d)}",
        "glued-state-first": lambda d, i, s: f"{h.state(s)}{p.strip()}{i} {h.t(d)}",
        "counter": lambda d, i, s: f"#{h.n():04d} {p}{i} {h.state(s)}",
        "counter-tail": lambda d, i, s: f"{p}{i} {h.state(s)} [{h.n()}] {h.t(d)}",
        "lettered": lambda d, i, s: f"TANK {_letter(i)} {h.state(s)} {h.v(d)}",
        "lettered-short": lambda d, i, s: f"{_letter(i)}={h.state(s)}",
        "named": lambda d, i, s: f"{h.names[i - 1]} {h.state(s)} {h.x(d)}",
        "named-keys": lambda d, i, s: f"{h.site}: {h.names[i - 1]}={h.state(s)} {h.v(d)}",
        "phrase": lambda d, i, s: f"{p}{i} {h.phrase(s)}. {h.v(d)}",
        "phrase-named": lambda d, i, s: f"The {h.names[i - 1]} tank {h.phrase(s)} at {h.t(d)}",
        "two-orders": lambda d, i, s: f"ALARM {p}{i} {h.t(d)}" if s == "active" else f"{h.t(d)} all clear on {p}{i}",
        "only-active": lambda d, i, s: (
            f"!! {p}{i} {h.state(s)} !!" if s == "active" else f"{p}{i} back to normal, {h.t(d)}"
        ),
        "lines": lambda d, i, s: f"{h.site}\n{p}{i}\n{h.state(s)}\n{h.t(d)}",
        "lines-keys": lambda d, i, s: f"Unit: {h.site}\nPoint: {i}\nState: {h.state(s)}\nBattery: {h.v(d)}",
        "tail-time": lambda d, i, s: f"{h.state(s)} {p}{i} {h.t(d)} {h.v(d)}",
        "brackets": lambda d, i, s: f"<{h.n()}>[{p}{i}]({h.state(s)})",
        "arrow": lambda d, i, s: f"{p}{i} -> {h.state(s)} | {h.x(d)} | {h.v(d)}",
        "was": lambda d, i, s: f"{p}{i} changed to {h.state(s)} after {d.randint(1, 90)} min",
        "list": lambda d, i, s: " ".join(
            f"{p.strip()}{k}={h.state(s if k == i else d.choice(['active', 'idle']))}" for k in (1, 2, 3, 4)
        ),
        "list-comma": lambda d, i, s: (
            ", ".join(f"{k}:{h.state(s if k == i else d.choice(['active', 'idle']))}" for k in (1, 2, 3, 4))
            + f" {h.v(d)}"
        ),
        "list-lettered": lambda d, i, s: ", ".join(
            f"TANK {_letter(k)} {h.state(s if k == i else d.choice(['active', 'idle']))}" for k in (1, 2, 3, 4)
        ),
        "first-volts": lambda d, i, s: f"{h.v(d)} {h.x(d)} {p}{i} {h.state(s)}",
        "sentence": lambda d, i, s: f"Attention: {p}{i} at {h.site} is now {h.state(s)}, since {h.t(d)}.",
        "upper-noise": lambda d, i, s: f"MSG{h.n()} FROM {h.site} {p}{i} {h.state(s)} END",
    }


def later_families(h: Habits) -> dict[str, Event]:
    """Written after the code was thought to be done, to see what it makes of them."""
    p, w = h.prefix, h.names

    def word(state: str) -> str:
        return h.state(state).capitalize()

    def other(number: int) -> int:
        return number % 4 + 1

    return {
        "xml-ish": lambda d, i, s: f'<ev ch="{i}" st="{h.state(s)}" n="{h.n()}"/>',
        "at-end": lambda d, i, s: f"{h.site} {h.t(d)} {h.v(d)} {h.x(d)} {h.state(s)} {i}",
        "pipes": lambda d, i, s: f"{h.n()}|{h.site}|{i}|{h.state(s)}|{h.v(d)}",
        "tilde": lambda d, i, s: f"~{i}~{h.state(s)}~{h.x(d)}~",
        "paren-state": lambda d, i, s: f"{p}{i} ({h.state(s)}) {h.v(d)}",
        "quoted": lambda d, i, s: f'{h.site}: "{w[i - 1]}" is {h.state(s)}',
        "event-verb": lambda d, i, s: f"{h.t(d)} {p}{i} {'went' if s == 'active' else 'came back'} {h.state(s)}",
        "hash-end": lambda d, i, s: f"{p}{i}:{h.state(s)} #{h.n()}",
        "slash-time": lambda d, i, s: f"{h.t(d)}/{p}{i}/{h.state(s)}/{h.x(d)}",
        "two-numbers": lambda d, i, s: f"PUMP SHED {d.randint(1, 30)} min run, {p}{i} {h.state(s)}",
        "site-number": lambda d, i, s: f"Site 12 {p}{i} {h.state(s)} {h.v(d)}",
        "long-lines": lambda d, i, s: (
            f"*** {h.site} ***\nTime {h.t(d)}\n{p}{i} = {h.state(s)}\n{h.v(d)}\n{h.x(d)}\nreply HELP"
        ),
        "question": lambda d, i, s: f"{word(s)}? {w[i - 1]}! {h.t(d)}",
        "was-now": lambda d, i, s: f"{p}{i} {h.state('idle' if s == 'active' else 'active')} > {h.state(s)}",
        "list-names": lambda d, i, s: "; ".join(
            f"{w[k - 1]}={h.state(s if k == i else d.choice(['active', 'idle']))}" for k in (1, 2, 3, 4)
        ),
        "list-lines": lambda d, i, s: (
            f"{h.site} {h.t(d)}\n"
            + "\n".join(f"{p}{k}: {h.state(s if k == i else d.choice(['active', 'idle']))}" for k in (1, 2, 3, 4))
        ),
        "level-too": lambda d, i, s: f"{p}{i} {h.state(s)} level {d.randint(5, 95)}% {h.v(d)}",
        "padded": lambda d, i, s: f"CH{i:03d}  {h.state(s)}  {h.t(d)}",
        "unit-both": lambda d, i, s: f"{_letter(i)}{i} {h.state(s)} {h.x(d)}",
        "double-word": lambda d, i, s: f"{p}{i} {h.state(s)} {h.state(s)} {h.v(d)}",
        "hello": lambda d, i, s: f"Hello {d.choice(['Wren', 'Heath', 'Teal'])}, {p}{i} says {h.phrase(s)}. Bye",
        "dots": lambda d, i, s: f"{p}{i}.....{h.state(s)}",
        "code": lambda d, i, s: f"E{'07' if s == 'active' else '08'} {p}{i} {h.t(d)}",
        "count-of": lambda d, i, s: f"{h.n()}/{h.count + 7} {p}{i} {h.state(s)}",
    }


def wild(seed: int, *, held: int = 16, made_of: Callable[[Habits], dict[str, Event]] = families) -> tuple[str, Dialect]:
    """(family, dialect): samples of two inputs (four where they are names), texts of all four held out."""
    h = Habits(seed)
    table = made_of(h)
    name = sorted(table)[seed % len(table)]
    write = table[name]
    noise = random.Random(seed + 1)
    made = Dialect(about=f"{seed} {name} {h.active!r}/{h.idle!r} {h.prefix!r}")
    by_name = name in ("named", "named-keys", "phrase-named", "quoted", "question", "list-names")
    lettered = "lettered" in name

    def label(number: int, state: str) -> str:
        which = h.names[number - 1].lower() if by_name else _letter(number) if lettered else str(number)
        return f"input {which} {state}"

    shown = (1, 2, 3, 4) if by_name else (1, 2)
    for turn in range(2):
        for number in shown:
            for state in ("active", "idle"):
                made.train.append((label(number, state), write(noise, number, state)))
        if turn == 0 and by_name:
            break
    for kind in sorted(OTHER):
        if h.draw.random() < 0.5:
            text = h.draw.choice(OTHER[kind])
            front = f"{h.site}: " if name in ("named-keys",) else ""
            tail = f" {h.v(noise)}" if h.draw.random() < 0.3 else ""
            made.train.extend((kind, front + text + tail) for _ in range(2))
            made.held.append((kind, front + text + tail))
    for _ in range(held):
        number, state = h.draw.randint(1, 4), h.draw.choice(["active", "idle"])
        made.held.append((label(number, state), write(noise, number, state)))
    return name, made
