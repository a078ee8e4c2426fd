"""Every message of every language at every hour of the day, with 0, 1, 2, 5 and 21 of everything, and with names of every gender and number."""

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from gateway.commands.sample_messages import SPECIAL, Names
from gateway.phrases import Phrasebook, cldr, languages, load_phrases
from gateway.phrases.phrasebook import FIELD, When
from gateway.phrases.said_times import ROLES
from tests.phrases import messages

NAMES = {
    "en": (("House tank", "Ridge box"), ("Cistern", "Station"), ("Twin tanks", "Hill sensors")),
    "de": (("Haustank", "Bergkasten"), ("Zisterne", "Station"), ("Zwillingstanks", "Bergsensoren")),
    "es": (("Tanque de la casa", "Equipo"), ("Cisterna", "Caja"), ("Tanques gemelos", "Sensores")),
    "uk": (("Бак дому", "Прилад"), ("Цистерна", "Скринька"), ("Два баки", "Давачі")),
}
"""(tank, box) masculine, feminine, plural."""
TIMES = ("since", "until", "from", "dry_early", "dry", "full", "early", "asked", "dry_now")
COUNTS = (0, 1, 2, 5, 21)
SYDNEY = ZoneInfo("Australia/Sydney")
MONDAY = datetime(2026, 11, 22, 13, 0, tzinfo=UTC)
"""Midnight in Sydney."""
FORMS = ("counts", "spans", "spoken_spans", "spoken_counts", "spoken_units")
FAULTS = {
    "a doubled blank": re.compile(r"  "),
    "a blank before a stop": re.compile(r" [.,;:!?](?!\d|\.)"),
    "a field that nothing filled in": re.compile(r"[{}]"),
    "a doubled stop": re.compile(r"(?<!\.)\.\.(?!\.)|[,;:]\.|\.,"),
    "a value that is no word": re.compile(r"\bNone\b|timedelta|datetime|When\("),
}


def made(book: Phrasebook, name: str, line: str, number: int) -> str:
    """The message at that hour, with one of the counts and of the names."""
    tank, box = NAMES[book.language][number % 3]
    count, moved = COUNTS[number % 5], timedelta(hours=number)
    names = Names(tank=tank, controller=box, tanks=tank, zone=SYDNEY)
    values = {**messages.sample_values(book, line, names), **SPECIAL.get(name, {})}
    for key, value in values.items():
        if isinstance(value, When):
            values[key] = replace(value, at=MONDAY + (value.at - value.now) + moved, now=MONDAY + moved)
    values |= {"count": count, "limit": count, "lasted": timedelta(days=count), "lasts": timedelta(hours=count)}
    table, key = name.split(".")
    compose = book.message if table == "said" else book.reply
    return compose(key, values, segments=4, line=line)


@pytest.mark.parametrize("line", ["mobile", "landline"])
@pytest.mark.parametrize("language", languages())
def test_no_message_has_a_fault_that_a_reader_would_see(language, line):
    """No doubled blank, no field left, no form of a number that does not go with it."""
    book = load_phrases(language)
    forms = [_alike(forms) for table in FORMS for forms in book.data.get(table, {}).values()]
    for name in messages.message_names(book):
        for number in range(24 if _has_a_time(book, name) else 15):
            said = made(book, name, line, number)
            found = [fault for fault, pattern in FAULTS.items() if pattern.search(said)]
            assert not found, (name, number, found, said)
            assert not list(wrong_forms(book, forms, said)), (name, number, list(wrong_forms(book, forms, said)), said)


def _has_a_time(book: Phrasebook, name: str) -> bool:
    table, _, key = name.partition(".")
    entry = book.data[table][key]
    return any(f"{{{time}" in str(part) for part in entry.values() for time in TIMES)


def _alike(forms: dict[str, str]) -> dict[str, str]:
    """With the number as a figure everywhere."""
    return {form: re.sub(r"\{[fm]\}", "{n}", words) for form, words in forms.items()}


def wrong_forms(book: Phrasebook, all_forms: list[dict[str, str]], said: str):
    """Numbers whose word stands in a form that goes with other numbers."""
    for figures, word in re.findall(r"(?<![\d.,:-])(\d+) ([^\W\d_]+)", said):
        right = {cldr.plural_form(book.language, int(figures)), "other"}
        of_it = [forms for forms in all_forms if f"{{n}} {word}" in forms.values()]
        if of_it and not any(right_form(forms, right) == f"{{n}} {word}" for forms in of_it):
            yield figures, word


def right_form(forms: dict[str, str], right: set[str]) -> str:
    """The form by the CLDR, else the one for all others."""
    return next((forms[form] for form in forms if form in right and form != "other"), forms["other"])


@pytest.mark.parametrize("language", languages())
def test_every_number_has_its_form(language):
    """A thing that has several forms has all that whole numbers of the language take, by the CLDR."""
    needed = {cldr.plural_form(language, n) for n in range(200)} - {"many" if language == "es" else ""}
    for table in FORMS:
        for name, forms in load_phrases(language).data.get(table, {}).items():
            assert len(forms) == 1 or needed <= set(forms) | {"other"}, (table, name)


@pytest.mark.parametrize("line", ["mobile", "landline"])
@pytest.mark.parametrize("language", languages())
def test_every_hour_of_every_day_in_every_role(language, line):
    """Each is said, and no two hours of a day alike."""
    book = load_phrases(language)
    for role in ROLES:
        for days in (0, 3, 20):
            said = [
                book.format_time(
                    MONDAY + timedelta(hours=hour), MONDAY + timedelta(days=days), SYDNEY, line=line, role=role
                )
                for hour in range(24)
            ]
            assert len(set(said)) == 24 and not any(re.search(r"  |[{}]|^ | $", text) for text in said)
            minutes = {
                book.format_time(MONDAY + timedelta(minutes=n), MONDAY, SYDNEY, line=line, role=role) for n in range(60)
            }
            assert len(minutes) == 60


SAID = {
    "en": ("since noon", "until Monday, 1 oh 1 in the afternoon", "at midnight", "about 11 30 in the morning on the twenty-third of November"),
    "de": ("seit 12 Uhr", "bis Montag, 13 Uhr 1", "um 0 Uhr", "am dreiundzwanzigsten November gegen 11 Uhr 30"),
    "es": ("desde las doce del mediodía", "hasta el lunes a la una y un minuto de la tarde", "a la medianoche",
           "el 23 de noviembre hacia las once y media de la mañana"),
    "uk": ("з дванадцятої дня", "до першої нуль одна дня понеділка", "опівночі",
           "двадцять третього листопада близько одинадцятої тридцять ранку"),
}  # fmt: skip


@pytest.mark.parametrize("language", languages())
def test_times_by_a_voice_are_in_their_case(language):
    """Written out by hand: noon, one o'clock, midnight, a date."""
    book, hour = load_phrases(language), timedelta(hours=1)
    said = (
        book.format_time(MONDAY + 12 * hour, MONDAY, SYDNEY, line="landline", role="since"),
        book.format_time(MONDAY + 13 * hour + hour / 60, MONDAY + 50 * hour, SYDNEY, line="landline", role="until"),
        book.format_time(MONDAY, MONDAY, SYDNEY, line="landline", role="at"),
        book.format_time(MONDAY + 11.5 * hour, MONDAY + 400 * hour, SYDNEY, line="landline", role="about"),
    )
    assert said == SAID[language]


SPANS = {
    "en": ("1 hour", "2 hours", "21 hours", "5 hours"),
    "de": ("eine Stunde", "2 Stunden", "21 Stunden", "5 Stunden"),
    "es": ("una hora", "2 horas", "veintiuna horas", "5 horas"),
    "uk": ("одну годину", "дві години", "двадцять одну годину", "5 годин"),
}


@pytest.mark.parametrize("language", languages())
def test_spans_by_a_voice_have_gender(language):
    """Where the number has one, it is a word. One hour is said in minutes elsewhere: here the table itself is held."""
    book = load_phrases(language)
    said = tuple(book._with_count(("spoken_spans",), "hour", n) for n in (1, 2, 21, 5))
    assert said == SPANS[language]


@pytest.mark.parametrize("language", languages())
def test_no_sentence_glues_a_preposition_to_a_time(language):
    """Since, from, until and about stand in [when] alone: a phrase that writes one itself has the wrong case by voice."""
    glued = {
        "en": r"\b(since|until|about|from) \{",
        "de": r"\b(seit|bis|ab|gegen|um) \{",
        "es": r"\b(desde|hasta|hacia|a las) \{",
        "uk": r"(?<!\w)(з|до|о|близько) \{",
    }
    book = load_phrases(language)
    for table in ("said", "answer"):
        for key, entry in book.data[table].items():
            for sentence in (
                entry["head"],
                entry.get("spoken", ""),
                *entry.get("more", ()),
                *entry.get("spoken_more", ()),
            ):
                for place in re.finditer(glued[language], sentence):
                    assert FIELD.match(sentence, place.end() - 1)[1] not in TIMES, (table, key, sentence)
