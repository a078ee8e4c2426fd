"""An event → the sentence that tells it in the history and to other programs, in English throughout; the page has words of its own."""

from datetime import timedelta

from gateway.facts import KINDS, NUMBER_FIELDS, Event, numbers_in
from gateway.facts.harmless import harmless
from gateway.phrases import load_phrases
from gateway.site import Site

RAW_SHOWN_CHARS = 400
KEYS_SHOWN = 4
NOT_WELL = ("still", "settling")
"""Details of a sign of life that is none of being well."""


def event_sentence(site: Site, event: Event) -> str:
    """`House tank is no longer low after 4 h`; a kind that a later program wrote is told by its bare name."""
    kind = KINDS.get(event.kind)
    if event.kind == "alive" and not event.detail.keys().isdisjoint(NOT_WELL):
        return _told_again(site, event)
    return kind.page.format(**_fillings(site, event)) if kind else str(event.kind).replace("-", " ")


def why_said(event: Event) -> str | None:
    """Why, in words: what a program would read as `jump` is `it moved faster than any pipe`; None where nothing says why."""
    why = event.detail.get("why")
    if event.kind == "gauge-fault" and isinstance(why, str):
        return load_phrases("en").label(f"gauge-{why}")
    return str(why) if why else None


def _told_again(site: Site, event: Event) -> str:
    """A float, an input or the supply was told of without a change: a sign of life, which says nothing of being well."""
    box, tank = site.controller_name(event.controller) or "Somebody unknown", site.tank_name(event.tank)
    of_tank = f" of {tank}" if tank else ""
    if "settling" in event.detail:
        return f"{box} tells{of_tank} what counts once it has held{_numbers(event)}"
    return f"{box} says the same{of_tank} as before{_numbers(event)}"


def cut_text(text: str) -> str:
    """The text with nothing harmful in it, or its beginning and how much is left out."""
    shown = harmless(text)
    more = len(shown) - RAW_SHOWN_CHARS
    return shown if more <= 0 else f"{shown[:RAW_SHOWN_CHARS]} … ({more} more characters)"


def _fillings(site: Site, event: Event) -> dict[str, str]:
    """What may stand in a kind's sentence."""
    who = event.detail.get("who")
    return {
        "where": site.tank_name(event.tank) or site.controller_name(event.controller) or "Somebody unknown",
        "lasted": _lasted(site, event),
        "who": f", told by {who}" if who and event.kind == "ran-dry" else f" by {who}" if who else "",
        "who_first": str(who or "Somebody"),
        "numbers": _numbers(event),
        "errand": str(event.detail.get("errand", "")),
        "text": cut_text(event.text or ""),
        "named": " ".join(str(event.detail[key]) for key in ("name", "says") if event.detail.get(key)),
        "level": _level(event),
        "was": str(event.detail.get("was", "")),
        "changed": _changed_keys(event),
        "now": str(event.detail.get("now", "")),
    }


def _changed_keys(event: Event) -> str:
    """`: limits.segments, contacts[wren].quiet and 3 more`; from what to what stands in the history."""
    keys = [str(change["key"]) for change in event.detail.get("changes", ())]
    more = f" and {len(keys) - KEYS_SHOWN} more" if len(keys) > KEYS_SHOWN else ""
    return f": {', '.join(keys[:KEYS_SHOWN])}{more}" if keys else ""


def _lasted(site: Site, event: Event) -> str:
    """` after 2 h`; a first idle reading ends nothing that lasted."""
    lasted_s = event.detail.get("lasted_s")
    if event.detail.get("first") or not isinstance(lasted_s, int | float) or lasted_s <= 0:
        return ""
    return f" after {site.phrases.format_span(timedelta(seconds=lasted_s))}"


def _numbers(event: Event) -> str:
    numbers = [NUMBER_FIELDS[name].told(value) for name, value in numbers_in(event.detail).items() if name != "level"]
    return f": {', '.join(numbers)}" if numbers else ""


def _level(event: Event) -> str:
    """` 1.13 m, 3550 l`; of one that does not count what was read."""
    height, litres, read = (event.detail.get(name) for name in ("level_m", "litres", "level"))
    if not isinstance(height, int | float):
        return f" not believed, read as {read:g}" if isinstance(read, int | float) else " not known"
    return f" {height:.2f} m" + (f", {litres:.0f} l" if isinstance(litres, int | float) else "")
