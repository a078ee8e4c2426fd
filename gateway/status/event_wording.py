"""An event → the phrase and the values it is told with: names, local times, spans, never an input's number."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from gateway.facts import KINDS, NUMBER_FIELDS, Event, numbers_in
from gateway.facts.harmless import harmless
from gateway.gsm.segments import measure_text
from gateway.phrases.phrasebook import Day, Label, Line, Measured, Money, Volts, When
from gateway.ports import Reader
from gateway.settings.people_tables import Contact
from gateway.site import Site
from gateway.status.battery import flat_in
from gateway.status.forecast import TankForecast, as_told, forecast_of, forecasts
from gateway.status.gauge_memory import gauge_memory, level_detail
from gateway.status.snapshot import take_snapshot
from gateway.water.volumes import two_digits

LATE_FROM = timedelta(hours=1)
SAID_KINDS = ("low-over-said", "high-over-said")
"""Somebody said so; by the command line nobody knows who."""
ASKED_WITHIN, DAY_HOURS = timedelta(minutes=1), range(7, 22)
"""A question goes with the news of a low tank and with nothing that is said again of it; what is not urgent asks by day only."""
ONE_FIGURE = 1.5
"""Where the late edge is no further off than so many times the early one, the early one alone is told: half as long again changes nothing of
what is done before it."""
WORTH_TELLING = timedelta(minutes=5)
"""By how much a stamp must be older than a text is held to be, so that people are told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What to say of an event: a phrase key and everything that may stand in it."""

    key: str
    values: Mapping[str, Any]


def told_of(reader: Reader, site: Site, now: datetime, event: Event) -> Told:
    """The phrase and values of an event, with the forecast as of now where a tank is low."""
    values: dict[str, Any] = {
        "tank": site.tank_name(event.tank),
        "controller": site.controller_name(event.controller),
        "since": _time(site, event.at, now),
        "lasted": _span(event.detail.get("lasted_s")),
        "who": event.detail.get("who"),
        "why": event.detail.get("why"),
        "count": event.detail.get("count"),
        "number": event.sender,
        "raw": harmless(event.text) if event.text else None,
        "stamped": _stamped(site, event, now),
        "off": _span(abs(event.detail.get("off_s", 0.0))),
        "late": _late(event),
    }
    values.update(_particulars(reader, site, now, event))
    if event.tank is not None and KINDS[event.kind].forecast:
        forecast = forecast_of(reader, site, event.tank, now)
        values.update(forecast_values(site, forecast, now))
        values["question"] = _question(site, event, forecast, now)
        values["by_day"] = now.astimezone(site.zone).hour in DAY_HOURS
    return Told(key=_key(site, event), values=values)


def text_for(site: Site, told: Told, contact: Contact, *, urgent: bool, remark: str = "") -> str:
    """The message for one contact: a landline is spoken to in full, and asked to ring somebody instead of replying.

    `remark`: said right behind what happened, never dropped.
    """
    line: Line = contact.line
    values = {**told.values, "take": how_to_answer(site, contact) if urgent else None}
    if contact.line != "mobile" or not contact.may_ask or not (urgent or told.values.get("by_day")):
        values["question"] = None
    segments = site.segments
    text = site.phrases.message(told.key, values, segments=segments, line=line, next_to_head=remark)
    late = told.values.get("late")
    if late is None:
        return text
    came_late = site.phrases.label("late", line=line).format(span=site.phrases.format_span(late, line=line))
    return site.phrases.with_prefix(
        came_late, text, segments=max(segments, measure_text(f"{came_late} {text}").segments)
    )


def _question(site: Site, event: Event, forecast: TankForecast | None, now: datetime) -> str | None:
    """The one thing that it would help to know; with the news alone, not with each reminder."""
    asks = forecast is not None and forecast.asks and now - event.heard_at < ASKED_WITHIN
    return inflow_question(site, site.tank_name(event.tank)) if asks else None


def inflow_question(site: Site, tank: str | None) -> str | None:
    """Whether water runs into it, with the words that answer that."""
    words = site.phrases.sentence("question", "inflow")
    if words is None:
        return None
    order_words = site.phrases.order_words()
    return words.format(tank=tank, flows=order_words["flows"][0], stopped=order_words["stopped"][0])


def _late(event: Event) -> timedelta | None:
    """By how much its text came later than it was written, where that is worth saying. What had to hold for a while did not come late."""
    late = event.heard_at - event.at
    return late if event.text is not None and "settled_s" not in event.detail and late >= LATE_FROM else None


def how_to_answer(site: Site, contact: Contact) -> str | None:
    """What the contact is asked to do about something urgent: reply, or, where nothing can be replied, ring somebody by name."""
    if contact.line == "mobile":
        return site.phrases.sentence("mobile", "take") if contact.may_ask else None
    able = [
        other
        for other in site.settings.contacts
        if other.line == "mobile" and other.may_ask and set(other.about) & set(contact.about)
    ]
    ring = site.phrases.sentence("landline", "ring")
    return ring.format(who=min(able, key=lambda other: other.turn).name) if able and ring else None


def forecast_values(site: Site, forecast: TankForecast | None, now: datetime) -> dict[str, Any]:
    """Dry and full times, cause and advice in the household's words; a likely time that has gone by is left unsaid."""
    if forecast is None:
        return {}
    return {
        **_dry_values(site, forecast, now),
        "unheard": _time(site, forecast.heard_until, now) if forecast.heard_until else None,
        "full": _time(site, forecast.full_at[1], now) if forecast.full_at else None,
        "cause": site.phrases.sentence("cause", forecast.cause.kind if forecast.cause else None),
        "advice": site.phrases.sentence("advice", forecast.advice),
    }


def one_says_it(early: datetime, late: datetime, now: datetime) -> bool:
    """Whether the early edge alone is told."""
    return late - now <= ONE_FIGURE * (early - now)


def _dry_values(site: Site, forecast: TankForecast, now: datetime) -> dict[str, Any]:
    """The early time with the likely one; where the edges are near each other the early one says it, for late is worse."""
    if forecast.dry_at is None or forecast.dry_at[1] <= now:
        return {}
    early, likely, late = forecast.dry_at
    if early <= now:
        return {"dry_now": _time(site, likely, now)}
    alone = one_says_it(early, late, now)
    return {
        "dry_early": _time(site, early, now),
        "dry_alone" if alone else "dry": _time(site, early if alone else likely, now),
    }


def _key(site: Site, event: Event) -> str:
    if event.kind == "unread" and event.controller is None:
        return "stranger"
    if event.kind == "silent" and event.detail.get("never"):
        return "never-heard"
    if event.kind == "clock-untrusted" and "off_s" in event.detail:
        return "clock-off"
    if event.kind == "gateway-started" and not event.detail.get("surely", True):
        return "power-cut"
    if event.kind == "battery-frost" and event.detail.get("lithium"):
        return "battery-cold"
    return event.kind


def _particulars(reader: Reader, site: Site, now: datetime, event: Event) -> dict[str, Any]:
    """What only some kinds carry."""
    detail = event.detail
    values = _battery_values(site, event)
    if event.kind == "silent" and event.controller is not None:
        values["tanks"] = ", ".join(tank.name for tank in site.tanks_of(event.controller))
        values["cause"] = site.phrases.sentence("silence", detail.get("cause"))
        values.update(_dry_meanwhile(reader, site, now, event.controller))
    if "since" in detail:
        values["since"] = _time(site, datetime.fromisoformat(detail["since"]), now)
    if "asked" in detail:
        values["asked"] = _time(site, datetime.fromisoformat(detail["asked"]), now)
    if "from" in detail:
        values["from"] = _time(site, datetime.fromisoformat(detail["from"]), now)
    if "on" in detail:
        values["on"] = Day(date.fromisoformat(detail["on"]))
    if "state" in detail:
        values["state"] = Label(detail["state"])
    if "lasts_h" in detail:
        values["lasts"] = timedelta(hours=detail["lasts_h"])
    if event.kind in SAID_KINDS and not detail.get("who"):
        values["who"] = Label("somebody")
    values.update({name: detail[name] for name in ("errand", "names", "of") if name in detail})
    values.update({name: _as_measured(detail[name]) for name in ("was", "now", "free") if name in detail})
    if "amount" in detail:
        amount, _, currency = detail["amount"].partition(" ")
        values["amount"] = Money(float(amount), currency)
    values.update({name: harmless(detail[name]) for name in ("name", "says", "advice") if name in detail})
    values.update(_measured(site, event, {**detail, **_level_now(reader, site, event)}))
    return values


def _battery_values(site: Site, event: Event) -> dict[str, Any]:
    """Volts or percent; until when a low battery holds, or why that cannot be told."""
    values: dict[str, Any] = {}
    if "volts" in event.detail:
        values["level"] = Volts(event.detail["volts"])
    elif "percent" in event.detail:
        values["level"] = Measured(event.detail["percent"], "%")
    return {**values, **_flat_values(site, event)} if event.kind == "battery-low" else values


def _flat_values(site: Site, low: Event) -> dict[str, Any]:
    spent = flat_in(site, low)
    if spent is not None and spent.whole_days:
        return {"lasts": timedelta(days=spent.whole_days)}
    key = "unknown" if spent is None else "sun-covers" if spent.whole_days is None else "any-hour"
    return {"outlook": site.phrases.sentence("battery", key)}


def _dry_meanwhile(reader: Reader, site: Site, now: datetime, controller: str) -> dict[str, Any]:
    """Which of a silent box's tanks may be dry first, and from when; or that it may be so already. Of a tank at the taps, where it has one:
    that the one above is dry says nothing of how long there is water."""
    outlooks = as_told(reader, forecasts(reader, site, take_snapshot(reader, site, now, numbers=False)))
    dry = [(times[0], tank.name, tank.id) for tank in site.tanks_of(controller) if (times := outlooks[tank.id].dry_at)]
    at_taps = [of_tank for of_tank in dry if of_tank[2] in site.house_tanks()]
    early, tank, _ = min(at_taps or dry, default=(now, "", ""))
    return {"dry_early": _time(site, early, now), "dry_tank": tank} if early > now else {"dry_by_now": tank or None}


def _as_measured(written: str) -> Measured | str:
    """`3.4 l/min`, as an event keeps it, → a number that each language writes in its own way."""
    number, _, unit = written.partition(" ")
    try:
        return Measured(float(number), unit)
    except ValueError:
        return written


def _level_now(reader: Reader, site: Site, event: Event) -> dict[str, Any]:
    """What a gauge of a tank that was low or high then reads now: what is told again days later is not what was left then."""
    if event.kind not in ("low", "high") or "level_at" not in event.detail:
        return {}
    details = (
        level_detail(gauge, gauge_memory(reader, gauge))
        for gauge in site.gauges.values()
        if gauge.tank.id == event.tank
    )
    return next((detail for detail in details if detail), {})


def _measured(site: Site, event: Event, detail: Mapping[str, Any]) -> dict[str, Any]:
    """What a gauge, or a number with limits of its own, tells."""
    values = dict[str, Any]()
    if "litres" in detail:
        values["held"] = f"{two_digits(detail['litres']):.0f}"
    if "level_m" in detail:
        values["height"] = float(detail["level_m"])
    if "celsius" in detail:
        values["celsius"] = Measured(detail["celsius"], "C")
    if "freezes_c" in detail:
        values["limit_c"] = Measured(detail["freezes_c"], "C")
        values["gravity"] = float(detail["gravity"]) if "gravity" in detail else None
    if "share" in detail:
        values["share"] = f"{100 * detail['share']:.0f}"
    if "month" in detail:
        values["month"] = site.phrases.month_name(detail["month"])
    if event.kind == "gauge-differs":
        values["state"], values["float"] = Label(detail["float_says"]), float(detail["float_m"])
    if event.kind == "night-flow":
        values["flow"] = f"{detail['flow_l_h']:.0f}"
    if event.kind in ("modem-lost", "sim-trouble") and "reason" in detail:
        values["why"] = Label(detail["reason"])
    if event.kind == "gauge-fault":
        values["why"] = Label(f"gauge-{detail['why']}")
    if event.kind.startswith("reading-"):
        name, value = next(iter(numbers_in(detail).items()))
        # a text has no degree sign: "2 C", not "2 degC"
        values["value"] = _as_measured(NUMBER_FIELDS[name].told(value).replace("°", ""))
        limit = NUMBER_FIELDS[name].shown(detail["limit"]).replace("°", "") if "limit" in detail else None
        values["bound"] = limit and _as_measured(limit)
    return values


def _stamped(site: Site, event: Event, now: datetime) -> When | None:
    """What the network stamped on a text whose time is in doubt; None where that is no matter."""
    if event.detail.get("time") != "runs-back" or "network_stamp" not in event.detail:
        return None
    stamp = datetime.fromisoformat(event.detail["network_stamp"])
    return _time(site, stamp, now) if event.at - stamp >= WORTH_TELLING else None


def _time(site: Site, at: datetime, now: datetime) -> When:
    return When(at, now, site.zone)


def _span(seconds: float | None) -> timedelta | None:
    return None if seconds is None or seconds < 0 else timedelta(seconds=seconds)
