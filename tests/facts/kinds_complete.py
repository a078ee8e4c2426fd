"""What a kind of event still lacks, each place by name; and the table of all kinds beside the code.

`python -m tests.facts.kinds_complete` writes `gateway/facts/KINDS.md` anew.
"""

import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from gateway.facts.event_kind import EPISODE_TONES, Kind
from gateway.facts.kinds import KINDS
from gateway.phrases import languages
from gateway.phrases.phrase_files import read_phrases

DOCUMENT = Path(__file__).parents[2] / "gateway/facts/KINDS.md"
FILLED = {"where", "lasted", "who", "who_first", "numbers", "text", "was", "now", "named", "level", "errand", "changed"}
"""What the page can put into a kind's sentence."""

HEAD = """# Kinds of event

Of `kinds.py`, written by `python -m tests.facts.kinds_complete`. `urgent`: calls people out; `soon`: told once; `record`: not told by itself.

| kind | subject | priority | alarm | on the page | more |
| --- | --- | --- | --- | --- | --- |"""


def lacks(kind: Kind, kinds: Mapping[str, Kind] = KINDS, phrases: Mapping[str, Any] | None = None) -> Iterator[str]:
    """`pump-stopped: no [said.pump-stopped] in phrases/de.toml`, and whatever else is not there yet."""
    for language, data in (phrases or {language: read_phrases(language) for language in languages()}).items():
        yield from (f"{kind.name}: {what} in phrases/{language}.toml" for what in _lacks_phrases(kind, data))
    yield from (f"{kind.name}: {what}" for what in (*_lacks_alarm(kind, kinds), *_lacks_page(kind)))
    if kind.lasts and not kind.do:
        yield f"{kind.name}: it lasts, and `do` does not say what helps"
    if kind.opens and not (kind.consequence and kind.respond_within and kind.do):
        yield f"{kind.name}: `alarms --why` cannot say its consequence, by when to respond, and what to do"


def _lacks_phrases(kind: Kind, data: Mapping[str, Any]) -> Iterator[str]:
    phrase = data["said"].get(kind.name)
    if kind.priority != "record" and phrase is None:
        yield f"no [said.{kind.name}]"
    if phrase is not None:
        asks = any("{take}" in piece for piece in phrase.get("more", ()))
        # an alarm of any kind may be urgent by its consequence, or since the household wants it so
        if (asks and kind.opens is None) or (not asks and kind.priority == "urgent"):
            yield f"[said.{kind.name}] {'asks' if asks else 'does not ask'} for a reply"
        if kind.word_for_word and "{raw}" not in phrase["head"]:
            yield f"[said.{kind.name}] does not hold the text itself"
    if (kind.opens or kind.lasts) and kind.priority != "record" and kind.name not in data["label"]:
        yield f"no {kind.name} in [label]"
    if kind.weekly:
        yield from (f"no {kind.name} in [{table}]" for table in ("week", "spoken_week") if kind.name not in data[table])


def _lacks_alarm(kind: Kind, kinds: Mapping[str, Kind]) -> Iterator[str]:
    others = list(kinds.values())
    if kind.opens and not any(other.closes == kind.opens for other in others):
        yield f"nothing closes the alarm {kind.opens} that it opens"
    if kind.closes and not any(other.opens == kind.closes for other in others):
        yield f"nothing opens the alarm {kind.closes} that it closes"
    if any(other.subject != kind.subject for other in others if kind.opens and other.closes == kind.opens):
        yield f"what closes the alarm {kind.opens} is told to others than those who heard of it"
    if kind.priority == "urgent" and not kind.opens:
        yield "it is urgent, and `opens` no alarm"


def _lacks_page(kind: Kind) -> Iterator[str]:
    sentence = kind.page
    if not (sentence[:1].isupper() or sentence.startswith("{wh")) or sentence.endswith("."):
        yield f"`page` is no sentence without its full stop: {sentence!r}"
    unknown = set(re.findall(r"\{(\w*)\}", sentence)) - FILLED
    if unknown:
        yield f"`page` holds what nobody fills in: {', '.join(sorted(unknown))}"
    if kind.opens and kind.priority != "record" and kind.tone is None:
        yield "it opens an alarm, and has no `tone` on the page"
    if kind.priority == "urgent" and kind.opens not in EPISODE_TONES:
        yield f"the page draws no episodes of {kind.opens}"
    if kind.moment and kind.moment not in EPISODE_TONES:
        yield f"the page draws no moments of {kind.moment}"


def written() -> str:
    """The table of the document."""
    rows = [
        f"| `{kind.name}` | {kind.subject} | {kind.priority} | {_alarm(kind)} | {_page(kind)} | {', '.join(_more(kind))} |"
        for kind in KINDS.values()
    ]
    return "\n".join([HEAD, *rows, ""])


def _alarm(kind: Kind) -> str:
    return f"opens {kind.opens}" if kind.opens else f"closes {kind.closes}" if kind.closes else ""


def _page(kind: Kind) -> str:
    drawn = kind.moment or kind.begins_episode or kind.ends_episode
    places = [f"{drawn} lane" if drawn else "", "record, folded away" if kind.routine else "record", kind.tone or ""]
    return ", ".join(place for place in places if place)


def _more(kind: Kind) -> Iterator[str]:
    flags = {
        "counted weekly": kind.weekly,
        "with forecast": kind.forecast,
        "word for word": kind.word_for_word,
        "lasts": kind.lasts,
        "bars messages": kind.bars_messages,
    }
    return (name for name, holds in flags.items() if holds)


if __name__ == "__main__":
    DOCUMENT.write_text(written(), "utf-8")
