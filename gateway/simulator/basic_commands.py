"""AT commands about the modem itself, its SIM and the network → answers (3GPP TS 27.007, ITU-T V.250)."""

from gateway.simulator.core import Answer, Command, Core, Kind, words
from gateway.simulator.pdus import stamp_octets
from gateway.simulator.sim import NOT_ALLOWED, Refused

BASIC = frozenset("EVQSXIZ&")
"""First letters of the commands without a plus."""


def basic(core: Core, body: str) -> Answer:
    """`E0V1` and the like: what stands behind AT where no plus does."""
    lines: list[str] = []
    rest = body.upper()
    while rest:
        letter, digits = rest[0], ""
        rest = rest[1:]
        if letter == "&" and rest:
            letter, rest = f"&{rest[0]}", rest[1:]
        while rest and rest[0] in "0123456789=?":
            digits, rest = digits + rest[0], rest[1:]
        lines += _basic(core, letter, digits)
    return Answer(lines=tuple(lines))


def _basic(core: Core, letter: str, digits: str) -> list[str]:
    if letter[0] not in BASIC:
        raise Refused()
    if letter == "E":
        core.echo = digits == "1" or core.habits.always_echoes
    elif letter in ("Z", "&F"):
        core.echo, core.cmee, core.text_mode = core.habits.echo, 0, core.habits.text_mode
        core.cnmi = (0, 0, 0, 0, 0)
    elif letter == "I":
        return [core.habits.maker, core.habits.model, "Revision: 1.04"]
    return []


def cgmi(core: Core, kind: Kind, arguments: str) -> Answer:
    """Who made it."""
    return Answer(lines=(core.habits.maker,) if kind == "run" else ())


def cgmm(core: Core, kind: Kind, arguments: str) -> Answer:
    """Its model."""
    return Answer(lines=(core.habits.model,) if kind == "run" else ())


def cgmr(core: Core, kind: Kind, arguments: str) -> Answer:
    """Its revision."""
    return Answer(lines=("1.04",) if kind == "run" else ())


def cgsn(core: Core, kind: Kind, arguments: str) -> Answer:
    """Its serial number."""
    return Answer(lines=(core.habits.serial,) if kind == "run" else ())


def cmee(core: Core, kind: Kind, arguments: str) -> Answer:
    """How it words its errors."""
    if kind == "read":
        return Answer(lines=(f"+CMEE: {core.cmee}",))
    if kind == "test":
        return Answer(lines=("+CMEE: (0-2)",))
    if arguments not in ("0", "1", "2"):
        raise Refused()
    core.cmee = int(arguments)
    return Answer()


def cpin(core: Core, kind: Kind, arguments: str) -> Answer:
    """Whether a PIN is wanted; takes one."""
    if kind == "test":
        return Answer()
    if kind == "set":
        if core.faults.busy is not None or not core.awake:
            core.need_sim()
        core.sim.unlock(words(arguments)[0])
        return Answer(then=core.network.bring_waiting)
    if core.sim.state in ("SIM PIN", "SIM PUK") and core.awake and core.faults.busy is None:
        return Answer(lines=(f"+CPIN: {core.sim.state}",))
    core.need_sim()
    return Answer(lines=("+CPIN: READY",))


def csq(core: Core, kind: Kind, arguments: str) -> Answer:
    """Signal: 0..31, 99 unknown."""
    if kind == "test":
        return Answer(lines=("+CSQ: (0-31,99),(0-7,99)",))
    return Answer(lines=(f"+CSQ: {core.network.signal},99",))


def creg(core: Core, kind: Kind, arguments: str) -> Answer:
    """Whether it is registered."""
    if kind == "read":
        return Answer(lines=(f"+CREG: 0,{core.network.registered if core.is_ready else 0}",))
    return Answer(lines=("+CREG: (0-2)",) if kind == "test" else ())


def cops(core: Core, kind: Kind, arguments: str) -> Answer:
    """With whom."""
    core.need_sim()
    if kind != "read":
        return Answer()
    if not core.network.is_there:
        return Answer(lines=("+COPS: 0",))
    return Answer(lines=(f'+COPS: 0,0,"{core.network.operator}",7',))


def cclk(core: Core, kind: Kind, arguments: str) -> Answer:
    """The network's time, with the zone in quarters of an hour."""
    if kind != "read":
        return Answer()
    swapped = stamp_octets(core.network.now(), 40).hex()
    year, month, day, hour, minute, second = (f"{swapped[at + 1]}{swapped[at]}" for at in range(0, 12, 2))
    return Answer(lines=(f'+CCLK: "{year}/{month}/{day},{hour}:{minute}:{second}+40"',))


def cfun(core: Core, kind: Kind, arguments: str) -> Answer:
    """Radio on or off; `1,1` starts it afresh."""
    if kind == "read":
        return Answer(lines=(f"+CFUN: {core.function}",))
    if kind == "test":
        return Answer(lines=("+CFUN: (0,1,4),(0-1)",))
    level, _, afresh = arguments.partition(",")
    if level not in ("0", "1", "4"):
        raise Refused("CME", NOT_ALLOWED)
    core.function = int(level)
    if afresh.strip() == "1":
        return Answer(then=core.reset)
    return Answer(then=core.network.bring_waiting)


def cusd(core: Core, kind: Kind, arguments: str) -> Answer:
    """A short dialogue with the network: the answer comes later, as a line of its own; a code that leads to None gets none."""
    if kind == "read":
        return Answer(lines=("+CUSD: 0",))
    if kind == "test":
        return Answer(lines=("+CUSD: (0-2)",))
    core.need_sim()
    asked = words(arguments)
    if len(asked) < 2:
        return Answer()
    if asked[1] not in core.network.ussd:
        return Answer(then=lambda: core.later(core.network.ussd_after_s, lambda: core.say("+CUSD: 4")))
    said = core.network.ussd[asked[1]]
    if said is None:
        return Answer()
    shown, dcs = (said, 15) if said.isascii() else (said.encode("utf-16-be").hex().upper(), 72)
    line = f'+CUSD: 0,"{shown}",{dcs}'.replace("\n", "\r\n")
    return Answer(then=lambda: core.later(core.network.ussd_after_s, lambda: core.say(line)))


def clac(core: Core, kind: Kind, arguments: str) -> Answer:
    """Every command it knows, where it knows this one."""
    if not core.habits.knows_clac:
        raise Refused()
    return Answer(
        lines=tuple(f"AT{name}" for name in (*BASIC_COMMANDS, "+CMGF", "+CPMS", "+CNMI", "+CMGL", "+CMGD", "+CMGS"))
    )


BASIC_COMMANDS: dict[str, Command] = {
    "+CGMI": cgmi,
    "+CGMM": cgmm,
    "+CGMR": cgmr,
    "+CGSN": cgsn,
    "+CMEE": cmee,
    "+CPIN": cpin,
    "+CSQ": csq,
    "+CREG": creg,
    "+COPS": cops,
    "+CCLK": cclk,
    "+CFUN": cfun,
    "+CUSD": cusd,
    "+CLAC": clac,
}
EVEN_ASLEEP = frozenset({"+CGMI", "+CGMM", "+CGMR", "+CGSN", "+CMEE", "+CFUN", "+CLAC"})
"""What answers before the modem is awake."""
