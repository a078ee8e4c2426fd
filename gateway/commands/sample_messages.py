"""Every message and answer there is, with names and what may stand in each: to be looked at (`phrases`), and held by tests."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from zoneinfo import ZoneInfo

from gateway.handlers.enqueue import as_one
from gateway.phrases import Phrasebook
from gateway.phrases.phrasebook import Day, Label, Line, Measured, Money, Volts, When
from gateway.status.order_help import example_of, words_said
from gateway.status.summary import Told, week_said

SYDNEY = ZoneInfo("Australia/Sydney")
NOW = datetime(2026, 11, 25, 3, 5, tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class Names:
    """Who and what the messages speak of."""

    tank: str = "House tank"
    controller: str = "Ridge controller"
    tanks: str = "House tank, Spring tank"
    who: str = "Wren"
    name: str = "Robin"
    site: str = "Quandong Ridge"
    zone: tzinfo = SYDNEY


INVENTED = Names()


def _when(hours: float, names: Names) -> When:
    """So many hours from now."""
    return When(NOW + timedelta(hours=hours), NOW, names.zone)


def sample_values(book: Phrasebook, line: Line = "mobile", names: Names = INVENTED) -> dict[str, object]:
    """What any message may hold."""
    return {
        "tank": names.tank,
        "controller": names.controller,
        "tanks": names.tanks,
        "since": _when(-2, names),
        "from": _when(-9, names),
        "until": _when(4, names),
        "dry_early": _when(3, names),
        "dry": _when(7, names),
        "dry_tank": names.tank,
        "dry_alone": None,
        "dry_by_now": None,
        "unheard": None,
        "early": _when(3, names),
        "left": timedelta(hours=3),
        "off": timedelta(minutes=20),
        "full": _when(20, names),
        "cause": book.sentence("cause", "supply-stopped"),
        "advice": book.sentence("advice", "close-house-valve"),
        "take": book.sentence("mobile", "take"),
        "step": book.label("step", line=line).format(
            number=3, count=5, what=(book.sentence("bleed", "tap") or "").format(tap="laundry")
        ),
        "lasted": timedelta(hours=5),
        "lasts": timedelta(days=3),
        "who": names.who,
        "name": names.name,
        "level": Volts(11.9),
        "raw": "LINE 9 WET 0717",
        "why": "the cable is out",
        "count": 3,
        "limit": 100,
        "state": Label("ok"),
        "was": Measured(3.4, "l/min"),
        "now": Measured(2.1, "l/min"),
        "amount": Money(1.8, "AUD"),
        "value": Measured(1.5, "C"),
        "bound": Measured(2, "C"),
        "held": "3550",
        "celsius": Measured(1.5, "C"),
        "limit_c": Measured(-7, "C"),
        "gravity": 1.1,
        "month": book.month_name(7),
        "share": "63",
        "height": 1.13,
        "float": 0.45,
        "flow": "40",
        "says": "is open",
        "free": Measured(180, "MB"),
        "number": "+61491570110",
        "matters": f"{book.matter(names.tank, 'low', line=line)}.",
        "site": names.site,
        "errand": "flush",
        "place": "1",
        "people": "8",
        "day": book.day_name(6),
        "of": "4",
        "on": Day(date(2027, 6, 30)),
        "names": "Robin, Finch",
        "reply": book.sentence("mobile", "reply-to-drill"),
        "code": "4821",
        "asked": _when(-2, names),
        "caution": book.sentence("caution", "sets"),
        "reason": book.sentence("errand-not-sent", "busy"),
        "doubt": book.sentence("mobile", "doubt"),
        "tested": None,
        "list": week_said(book, WEEK, line),
    }


COST = ("cost", {"cost": Money(0.84, "EUR"), "year": Money(10.2, "EUR")})
WEEK: Sequence[Told] = (
    ("low", {"tank": "House tank", "count": 2}),
    ("silent", {"controller": "Ridge controller", "count": 1}),
    COST,
)
REASONS: Mapping[str, Label] = {
    "said.modem-lost": Label("modem-silent"),
    "said.sim-trouble": Label("sim-puk"),
    "said.gauge-fault": Label("gauge-jump"),
    "said.store-trouble": Label("store-full"),
}
SPECIAL: Mapping[str, Mapping[str, object]] = {
    "said.silent": {"since": _when(-27, INVENTED)},
    "said.high": {"advice": None},
    "said.unread": {"raw": "LINE 9 WET 0717"},
    "said.stranger": {"raw": "Please call back"},
    "said.given-up": {"raw": "House tank LOW since 12:05."},
    "said.backup-failed": {"why": "/mnt/stick is not there"},
    "said.credit-unread": {"raw": "Service not available"},
    "said.float-fault": {"count": 12},
    "said.battery-high": {"level": Volts(15.6)},
    "said.battery-high-over": {"level": Volts(14.1)},
    "said.battery-frost": {"celsius": Measured(-5, "C")},
    "said.frost-season": {"celsius": Measured(4.5, "C")},
    "said.gauge-differs": {"state": Label("low")},
    "said.configuration-changed": {"name": "Creek tank"},
    "said.input-active": {"name": "Lid", "advice": "Shut it before frogs do."},
    "said.input-idle": {"name": "Lid", "says": "is shut"},
    "said.reading-low": {"name": "Trough"},
    "said.reading-high": {"name": "Trough", "value": Measured(31, "C"), "bound": Measured(30, "C")},
    "said.reading-back": {"name": "Trough", "value": Measured(8, "C")},
    "answer.errand-code": {"caution": None},
    "answer.errands": {"list": "ridge status, ridge flush"},
}


def sample_message(
    book: Phrasebook, name: str, line: Line = "mobile", *, segments: int = 1, names: Names = INVENTED
) -> str:
    """`said.low` → the message as it would leave; a voice is asked for no reply."""
    table, key = name.split(".")
    known = {
        **sample_values(book, line, names),
        **_lists(book, name, line, names),
        **({"why": REASONS[name]} if name in REASONS else {}),
        **SPECIAL.get(name, {}),
    }
    asks = any("{take}" in piece for piece in book.data[table][key].get("more", ()))
    known["take"] = _take(book, line, names) if asks else None
    compose = book.message if table == "said" else book.reply
    return compose(key, known, segments=segments, line=line)


def _take(book: Phrasebook, line: Line, names: Names) -> str:
    """How to answer; a voice asks for no reply."""
    if line == "landline":
        return (book.sentence("landline", "ring") or "").format(who=names.who)
    return book.sentence("mobile", "take") or ""


def _lists(book: Phrasebook, name: str, line: Line, names: Names) -> dict[str, object]:
    """What only some list: a week in which nothing happened, the messages that are joined."""
    if name == "said.unanswered":
        return {"reply": _take(book, line, names)}
    if name == "answer.dry":
        what = book.sentence("bleed", "close-valve")
        return {"step": book.label("step", line=line).format(number=1, count=5, what=what)}
    if name == "answer.nearly":
        return {"example": example_of(book, "work", "house")}
    if name == "answer.unknown":
        return {"list": words_said(book, "house")}
    if name == "said.silent":
        return {"cause": book.sentence("silence", "battery")}
    if name == "said.walk-failed":
        return {"list": f"{names.tank}: {book.label('walk-never-over', line=line)}"}
    if name == "said.well":
        return {"list": week_said(book, (("quiet", {}), COST), line)}
    if name == "said.digest":
        texts = [
            book.message(key, {"tank": names.tank, "since": _when(-2, names)}, line=line) for key in ("low", "low-over")
        ]
        return {"count": len(texts), "list": as_one(texts, line)}
    return {}


def message_names(book: Phrasebook) -> Iterator[str]:
    """All phrases that leave as a message or a reply, as `said.low`."""
    for table in ("said", "answer"):
        yield from (f"{table}.{key}" for key in book.data[table])
