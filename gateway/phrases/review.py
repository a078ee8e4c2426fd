"""A language and the longest names of a household → which phrases lack, which take a further segment, and which need letters plain texts lack.

Pure: nothing is said, no time is put into words; the longest forms stand in for times and spans.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from gateway.gsm.segments import measure_text
from gateway.phrases.cut_to_segments import in_its_letters
from gateway.phrases.phrase_files import read_phrases
from gateway.phrases.phrasebook import FIELD, FREE_FIELDS, Phrasebook, is_never_dropped
from gateway.phrases.said_times import ROLES

NOT_SAID = ("words", "until")
"""What people write to the gateway."""
TABLES = (
    *NOT_SAID,
    "label",
    "cause",
    "silence",
    "battery",
    "advice",
    "said",
    "answer",
    "bleed",
    "landline",
    "caution",
    "errand-not-sent",
    "list",
    "help",
    "when",
    "spoken_when",
    "clock",
    "counts",
    "spans",
    "spoken_units",
    "spoken",
    "spoken_spans",
    "week",
    "spoken_week",
)
LONGEST_TIME, LONGEST_DAY, LONGEST_DATE, LONGEST_SPAN, LONGEST_NUMBER = (
    "23:59",
    "Wed",
    "30 Nov 2026",
    "59 seconds",
    "1000",
)
LONGEST_VALUES: Mapping[str, str] = {
    "number": "+61491570156",
    "state": "unknown",
    "level": "12.45 V",
    "was": "12.4 l/min",
    "now": "12.4 l/min",
    "free": "999 MB",
    "value": "-12.45 V",
    "bound": "-12.45 V",
    "held": "10000",
    "celsius": "-12.5 C",
    "limit_c": "-12.5 C",
    "gravity": "1.16",
    "month": "September",
    "share": "100",
    "day": "Wednesday",
    "height": "12.45",
    "float": "12.45",
    "flow": "1000",
    "says": "has stopped",
    "amount": "-999.99",
    "errand": "status",
    "code": "4821",
    "place": "12",
    "people": "1000",
    "of": "12",
}
SPAN_FIELDS = ("lasted", "lasts")
COUNT_FIELDS = ("count", "limit")


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """`lacking`: keys said in English; `longer`: keys that take a further segment for these names; `letters`: outside the GSM alphabet."""

    lacking: tuple[str, ...]
    longer: tuple[str, ...]
    letters: str


def review_phrases(phrasebook: Phrasebook, names: Mapping[str, str], segments: int) -> Review:
    """What a language lacks, and what is long in it. `names`: the longest name for each field (`tank`, `controller`, `who`, `site`, …)."""
    own, english = read_phrases(phrasebook.language), read_phrases("en")
    return Review(
        lacking=tuple(_find_lacking(own, english)),
        longer=tuple(_find_longer(phrasebook, names, segments)),
        letters="".join(
            sorted(
                {letter for text in _sentences_of(own) for letter in text if measure_text(letter).alphabet != "gsm7"}
            )
        ),
    )


def _find_lacking(own: Mapping[str, Any], english: Mapping[str, Any]) -> Iterator[str]:
    for table in TABLES:
        yield from (f"{table}.{key}" for key in english.get(table, {}) if key not in own.get(table, {}))


def _find_longer(phrasebook: Phrasebook, names: Mapping[str, str], segments: int) -> Iterator[str]:
    for table in ("said", "answer"):
        for key, entry in phrasebook.data[table].items():
            if takes_more_for_names(phrasebook, entry, names, segments):
                yield f"{table}.{key}"


def takes_more_for_names(
    phrasebook: Phrasebook, entry: Mapping[str, Any], names: Mapping[str, str], segments: int
) -> bool:
    """Whether a message takes a further segment with these names, and would not with short ones."""
    short = dict.fromkeys(names, "-")
    least = max(segments, segments_needed(phrasebook, entry, short))
    return segments_needed(phrasebook, entry, names) > least


def segments_needed(phrasebook: Phrasebook, entry: Mapping[str, Any], names: Mapping[str, str]) -> int:
    """How many segments what is never dropped of a message takes with these names, at its longest."""
    kept = [entry["head"], *(piece.lstrip("!") for piece in entry.get("more", ()) if is_never_dropped(piece))]
    longest = FIELD.sub(lambda field: _longest_value(field[1], field[2], phrasebook, names), " ".join(kept))
    return measure_text(in_its_letters(longest, phrasebook.letters)).segments


def _longest_value(field: str, counted: str | None, phrasebook: Phrasebook, names: Mapping[str, str]) -> str:
    if counted in ROLES:
        return _longest_time(phrasebook, counted)
    if counted:
        return str(max(phrasebook.data["counts"][counted].values(), key=len)).format(n=LONGEST_NUMBER)
    if field == "take":
        return phrasebook.sentence("mobile", "take") or ""
    if field in SPAN_FIELDS:
        return LONGEST_SPAN
    if field in COUNT_FIELDS:
        return LONGEST_NUMBER
    return names.get(field) or LONGEST_VALUES.get(
        field, "" if field in FREE_FIELDS else _longest_time(phrasebook, "bare")
    )


def _longest_time(phrasebook: Phrasebook, role: str) -> str:
    by_hour = {name: max(forms.values(), key=len) for name, forms in phrasebook.data.get("by_hour", {}).items()}
    return str(phrasebook.data["when"][role][2]).format(t=LONGEST_TIME, d=LONGEST_DAY, m=LONGEST_DATE, **by_hour)


def _sentences_of(data: Mapping[str, Any]) -> Iterator[str]:
    """Every sentence of a phrase file that may leave as a text; fields taken out."""
    for table in TABLES[len(NOT_SAID) :]:
        yield from _strings_in(data.get(table, {}))


def _strings_in(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield FIELD.sub("", value)
    elif isinstance(value, Mapping):
        for inner in value.values():
            yield from _strings_in(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _strings_in(inner)
