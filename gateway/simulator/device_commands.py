"""AT commands about the modem itself, its SIM and the network → answers (3GPP TS 27.007, ITU-T V.250)."""

from gateway.simulator.modem_state import Answer, Command, Kind, ModemState, words
from gateway.simulator.pdus import stamp_octets
from gateway.simulator.sim_card import NOT_ALLOWED, Refused

BASIC = frozenset("EVQSXIZ&")
"""First letters of the commands without a plus."""


def basic(modem: ModemState, body: str) -> Answer:
    """`E0V1` and the like: what stands behind AT where no plus does."""
    lines: list[str] = []
    unread = body.upper()
    while unread:
        letter, digits = unread[0], ""
        unread = unread[1:]
        if letter == "&" and unread:
            letter, unread = f"&{unread[0]}", unread[1:]
        while unread and unread[0] in "0123456789=?":
            digits, unread = digits + unread[0], unread[1:]
        lines += _basic(modem, letter, digits)
    return Answer(lines=tuple(lines))


def _basic(modem: ModemState, letter: str, digits: str) -> list[str]:
    if letter[0] not in BASIC:
        raise Refused()
    if letter == "E":
        modem.echo = digits == "1" or modem.habits.always_echoes
    elif letter == "Q":
        modem.quiet = digits == "1"
    elif letter == "V":
        modem.figures = digits != "1"
    elif letter in ("Z", "&F"):
        modem.profile()
        modem.cnmi = (0, 0, 0, 0, 0)
    elif letter == "I":
        return [modem.habits.maker, modem.habits.model, "Revision: 1.04"]
    return []


def cgmi(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """Who made it."""
    return Answer(lines=(modem.habits.maker,) if kind == "run" else ())


def cgmm(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """Its model."""
    return Answer(lines=(modem.habits.model,) if kind == "run" else ())


def cgmr(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """Its revision."""
    return Answer(lines=("1.04",) if kind == "run" else ())


def cgsn(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """Its serial number."""
    return Answer(lines=(modem.habits.serial,) if kind == "run" else ())


def cnum(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """The number that the SIM holds as its own; most hold none."""
    if kind != "run":
        return Answer()
    modem.need_sim()
    number = modem.sim.number
    return Answer(lines=(f'+CNUM: "","{number}",{145 if number.startswith("+") else 129}',) if number else ())


def cmee(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """How it words its errors."""
    if kind == "read":
        return Answer(lines=(f"+CMEE: {modem.cmee}",))
    if kind == "test":
        return Answer(lines=("+CMEE: (0-2)",))
    if arguments not in ("0", "1", "2"):
        raise Refused()
    modem.cmee = int(arguments)
    return Answer()


def cpin(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """Whether a PIN is wanted; takes one."""
    if kind == "test":
        return Answer()
    if kind == "set":
        if modem.faults.busy is not None or not modem.awake:
            modem.need_sim()
        modem.sim.unlock(words(arguments)[0])
        return Answer(then=modem.network.bring_waiting)
    if modem.sim.state in ("SIM PIN", "SIM PUK") and modem.awake and modem.faults.busy is None:
        return Answer(lines=(f"+CPIN: {modem.sim.state}",))
    modem.need_sim()
    return Answer(lines=("+CPIN: READY",))


def csq(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """Signal: 0..31, 99 unknown."""
    if kind == "test":
        return Answer(lines=("+CSQ: (0-31,99),(0-7,99)",))
    return Answer(lines=(f"+CSQ: {modem.network.signal},99",))


def creg(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """Whether it is registered for calls and texts."""
    return _registration(modem, kind, "+CREG")


def cereg(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """Whether it is registered in LTE."""
    return _registration(modem, kind, "+CEREG")


def _registration(modem: ModemState, kind: Kind, name: str) -> Answer:
    if kind == "read":
        stat = modem.network.registered if modem.is_ready and modem.habits.registration == name else 0
        return Answer(lines=(f"{name}: 0,{stat}",))
    return Answer(lines=(f"{name}: (0-2)",) if kind == "test" else ())


def cops(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """With whom."""
    modem.need_sim()
    if kind != "read":
        return Answer()
    if not modem.network.is_there:
        return Answer(lines=("+COPS: 0",))
    return Answer(lines=(f'+COPS: 0,0,"{modem.network.operator}",7',))


def cclk(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """The network's time, with the zone in quarters of an hour."""
    if kind != "read":
        return Answer()
    swapped = stamp_octets(modem.network.now(), 40).hex()
    year, month, day, hour, minute, second = (f"{swapped[at + 1]}{swapped[at]}" for at in range(0, 12, 2))
    return Answer(lines=(f'+CCLK: "{year}/{month}/{day},{hour}:{minute}:{second}+40"',))


def cfun(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """Radio on or off; `1,1` starts it afresh."""
    if kind == "read":
        return Answer(lines=(f"+CFUN: {modem.function}",))
    if kind == "test":
        return Answer(lines=("+CFUN: (0,1,4),(0-1)",))
    level, _, afresh = arguments.partition(",")
    if level not in ("0", "1", "4"):
        raise Refused("CME", NOT_ALLOWED)
    modem.function = int(level)
    if afresh.strip() == "1":
        return Answer(then=modem.reset)
    return Answer(then=modem.network.bring_waiting)


def cusd(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """A short dialogue with the network: the answer comes later, as a line of its own; a code that leads to None gets none."""
    if kind == "read":
        return Answer(lines=("+CUSD: 0",))
    if kind == "test":
        return Answer(lines=("+CUSD: (0-2)",))
    modem.need_sim()
    asked = words(arguments)
    if len(asked) < 2:
        return Answer()
    if asked[1] not in modem.network.ussd:
        return Answer(then=lambda: modem.later(modem.network.ussd_after_s, lambda: modem.say("+CUSD: 4")))
    reply = modem.network.ussd[asked[1]]
    if reply is None:
        return Answer()
    shown, dcs = (reply, 15) if reply.isascii() else (reply.encode("utf-16-be").hex().upper(), 72)
    line = f'+CUSD: 0,"{shown}",{dcs}'.replace("\n", "\r\n")
    return Answer(then=lambda: modem.later(modem.network.ussd_after_s, lambda: modem.say(line)))


def clac(modem: ModemState, kind: Kind, arguments: str) -> Answer:
    """Every command it knows, where it knows this one."""
    if not modem.habits.knows_clac:
        raise Refused()
    return Answer(
        lines=tuple(f"AT{name}" for name in (*DEVICE_COMMANDS, "+CMGF", "+CPMS", "+CNMI", "+CMGL", "+CMGD", "+CMGS"))
    )


DEVICE_COMMANDS: dict[str, Command] = {
    "+CGMI": cgmi,
    "+CGMM": cgmm,
    "+CGMR": cgmr,
    "+CGSN": cgsn,
    "+CNUM": cnum,
    "+CMEE": cmee,
    "+CPIN": cpin,
    "+CSQ": csq,
    "+CREG": creg,
    "+CEREG": cereg,
    "+COPS": cops,
    "+CCLK": cclk,
    "+CFUN": cfun,
    "+CUSD": cusd,
    "+CLAC": clac,
}
EVEN_ASLEEP = frozenset({"+CGMI", "+CGMM", "+CGMR", "+CGSN", "+CMEE", "+CFUN", "+CLAC"})
"""What answers before the modem is awake."""
