"""Messages fit their segments whatever the names are; every language says everything; unknown values leave no hole."""

import re
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gateway.facts import kinds_where
from gateway.gsm.segments import measure_text
from gateway.phrases import Phrasebook, languages, load_phrases
from gateway.phrases.cut_to_segments import in_its_letters
from gateway.phrases.phrase_files import read_phrases
from gateway.phrases.phrasebook import FIELD, Measured, Money, is_never_dropped
from gateway.phrases.put_together import MOST_SEGMENTS, SPOKEN_S, spoken_s
from gateway.phrases.review import review_phrases
from tests.phrases import messages

NOW = datetime(2026, 11, 25, 3, 5, tzinfo=UTC)
SYDNEY = ZoneInfo("Australia/Sydney")


LONG = "Überlauf-Hochbehälter № 7 am Čertův kámen"
LONG_NAMES = dict.fromkeys(
    ("tank", "controller", "who", "name", "site", "tanks", "raw", "why", "list", "matters", "state"), LONG
)


@pytest.mark.parametrize("language", languages())
def test_what_keeps_from_harm_and_how_to_answer_is_never_dropped(language):
    """With long names in another alphabet such pieces stand whole in a message, which takes a further segment for them and no more."""
    book = load_phrases(language)
    values = {**messages.sample_values(book), **LONG_NAMES}
    for key, entry in book.data["said"].items():
        for line in ("mobile", "landline"):
            message = book.message(key, values, line=line)
            spoken = line == "landline" and spoken_s(message) <= SPOKEN_S
            assert spoken or measure_text(message).segments <= MOST_SEGMENTS, (key, message)
            assert book.has_own_alphabet or measure_text(message).alphabet == "gsm7", (key, message)
            more = entry.get("more", ()) if line == "mobile" else entry.get("spoken_more", entry.get("more", ()))
            for piece in more:
                if is_never_dropped(piece) and not FIELD.search(piece):
                    assert in_its_letters(piece[1:], book.letters) in message, (key, message)
            assert in_its_letters(str(values["take"]), book.letters) in message, (
                "whether or not the phrase has a place for it"
            )


@pytest.mark.parametrize("language", languages())
def test_with_ordinary_names_a_message_is_one_segment_but_for_what_keeps_from_harm(language):
    """What is only of use is dropped rather than paid for."""
    book = load_phrases(language)
    for name in messages.message_names(book):
        text = messages.message(book, name)
        longer = name in SAFETY_FIRST or book.has_own_alphabet
        assert measure_text(text).segments <= (3 if longer else 1), (name, text)


@pytest.mark.parametrize("language", languages())
def test_every_language_says_everything(language):
    """No phrase is borrowed from English, and with ordinary names only what keeps from harm takes a further segment."""
    reviewed = review_phrases(
        load_phrases(language),
        {"tank": "House tank", "controller": "Ridge box", "who": "Wren"},
        messages.allowed(load_phrases(language)),
    )
    assert (reviewed.lacking, reviewed.longer) == ((), ())


def test_a_review_finds_what_lacks_and_what_is_cut(monkeypatch):
    """A language without a phrase, a name that leaves no room, a letter outside the alphabet: each is found."""
    english = dict(read_phrases("en"))
    lame = {**english, "said": {key: entry for key, entry in english["said"].items() if key != "low"}, "cause": {}}
    monkeypatch.setattr("gateway.phrases.review.read_phrases", lambda language: english if language == "en" else lame)
    book = Phrasebook("es", {**english, "said": {**english["said"], "high": {"head": "{tank} á {since}"}}})
    reviewed = review_phrases(book, {"tank": "T" * 150}, 1)
    assert (
        "said.low" in reviewed.lacking
        and "cause.float-fault" in reviewed.lacking
        and "said.high" not in reviewed.lacking
    )
    assert "said.low" in reviewed.longer and "said.test" not in reviewed.longer
    assert review_phrases(load_phrases("es"), {}, 1).letters == ""


def test_letters_outside_the_alphabet_are_named():
    """Spanish has vowels that plain texts lack; English has none."""
    assert set("áíóú") <= set(review_phrases(load_phrases("es"), {}, 1).letters)
    assert review_phrases(load_phrases("en"), {}, 1).letters == ""


@given(st.text(min_size=1, max_size=80), st.integers(1, 3))
def test_any_name_fits(name, segments):
    """Whatever a tank is called, the message takes a further segment at most for what is never dropped."""
    values = {"tank": name, "since": "07:17", "take": "Reply OK if you see to it."}
    message = load_phrases("en").message("low", values, segments=segments)
    assert measure_text(message).segments <= MOST_SEGMENTS and message.endswith(values["take"])


def test_what_is_not_known_leaves_no_hole():
    """A piece whose value is unknown is left out, and the order is by weight."""
    book = load_phrases("en")
    assert book.message("low", {"tank": "House tank", "since": "07:17"}) == "House tank LOW since 07:17."
    assert book.message("low", {"tank": "House tank"}) == "House tank LOW."
    message = book.message(
        "low",
        {"tank": "House tank", "since": "07:17", "dry_early": "16:10", "dry": "19:40", "advice": "Look at the intake."},
    )
    assert message == "House tank LOW since 07:17. May run dry from 16:10, likely 19:40. Look at the intake."


@pytest.mark.parametrize(
    ("at", "in_words"),
    [
        (NOW - timedelta(hours=2), "12:05"),
        (NOW - timedelta(days=1), "Tue 14:05"),
        (NOW - timedelta(days=20), "5 Nov 14:05"),
        (NOW - timedelta(days=400), "21 Oct 2025 14:05"),
    ],
)
def test_times_are_local_and_no_longer_than_needed(at, in_words):
    """Today the hour, this week the day, else the date."""
    assert load_phrases("en").format_time(at, NOW, SYDNEY) == in_words


SAFETY_FIRST = ("said.ran-dry", "said.battery-low", "answer.dry")
QUOTING = ("said.given-up",)
"""It holds another's message, word for word."""
WEEKLY = ("said.well", "said.not-well", "answer.week")
READ_AS_WORDS = {"SIM", "PUK"}
SPOKEN = {
    "en": ("2 oh 5 in the afternoon", "2 o'clock in the afternoon", "Tuesday, 12 37 in the afternoon"),
    "de": ("14 Uhr 5", "14 Uhr", "Dienstag, 12 Uhr 37"),
    "es": ("las dos y 5 de la tarde", "las dos de la tarde", "el martes a las doce y 37 de la tarde"),
    "uk": ("о другій нуль п'ять дня", "о другій дня", "у вівторок о дванадцятій тридцять сім дня"),
}


@pytest.mark.parametrize("language", languages())
def test_a_voice_reads_no_colon(language):
    """On a landline a time is said in words a voice reads well, with days in full."""
    book = load_phrases(language)
    times = (NOW, NOW - timedelta(minutes=5), NOW - timedelta(hours=25, minutes=28))
    assert tuple(book.format_time(at, NOW, SYDNEY, line="landline") for at in times) == SPOKEN[language]
    for name in messages.message_names(book):
        if name in WEEKLY or (name.startswith("said.") and name not in QUOTING):
            message = messages.message(book, name, "landline").split("LINE")[0]
            assert not re.search(r"\d:\d|\b0\d| h\b|\b[VВ]\b", message), (name, message)
            assert set(re.findall(r"\b[^\W\d_a-zа-яіїєґäöüßáéíóúñ]{3,}\b", message)) <= READ_AS_WORDS, (name, message)


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("name", WEEKLY)
def test_a_week_is_spoken_in_sentences(language, name):
    """No colon, no semicolon, no code of a currency; where there is room for it, what it says still stands in it."""
    message = messages.message(load_phrases(language), name, "landline", segments=2)
    assert not re.search(r"[:;/()]|EUR", message), message
    assert re.search(r"0[.,]84 (euros|Euro|євро)", message), message


@pytest.mark.parametrize("language", languages())
def test_joined_messages_are_spoken_one_after_the_other(language):
    """Each a sentence of its own, with no stroke between them."""
    book = load_phrases(language)
    message = messages.message(book, "said.digest", "landline", segments=2)
    how_many, _, joined = message.partition(". ")
    assert how_many.startswith("2 ") and ":" not in how_many and joined.count("House tank") == 2
    assert "/" not in message and message.endswith(".") and ".." not in message


@pytest.mark.parametrize(
    ("language", "n", "message"),
    [
        ("en", 1, "1 message: x"),
        ("en", 2, "2 messages: x"),
        ("de", 1, "1 Meldung: x"),
        ("es", 3, "3 avisos: x"),
        ("uk", 1, "1 повідомлення: x"),
        ("uk", 3, "3 повідомлення: x"),
        ("uk", 5, "5 повідомлень: x"),
        ("uk", 21, "21 повідомлення: x"),
        ("uk", 11, "11 повідомлень: x"),
    ],
)
def test_counts_take_their_form(language, n, message):
    """By the plural rules of the CLDR: 21 goes as 1 in Ukrainian, 11 as 5."""
    assert load_phrases(language).message("digest", {"count": n, "list": "x"}) == message


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("table", ["counts", "spans", "spoken_spans"])
def test_no_form_of_a_number_is_borrowed(language, table):
    """One of a thing is said in the household's language too, where that has one form for all numbers."""
    assert load_phrases(language).data[table] == read_phrases(language)[table]


@pytest.mark.parametrize(
    ("language", "voltage"), [("en", "11.9 V"), ("de", "11,9 V"), ("es", "11,9 V"), ("uk", "11,9 В")]
)
def test_volts_have_the_languages_own_sign(language, voltage):
    """Decimal comma where the language has one."""
    assert voltage in messages.message(load_phrases(language), "said.battery-low")


def test_every_message_stands_in_the_document():
    """MESSAGES.md has every message as it leaves; `python -m tests.phrases.messages` writes it anew."""
    assert messages.DOCUMENT.read_text("utf-8") == messages.messages_table()


@pytest.mark.parametrize(
    ("length", "in_words"),
    [
        (timedelta(seconds=1), "1 second"),
        (timedelta(seconds=95), "95 seconds"),
        (timedelta(minutes=90), "90 min"),
        (timedelta(hours=5), "5 h"),
        (timedelta(days=3), "3 days"),
    ],
)
def test_spans(length, in_words):
    """The largest unit that says it well."""
    assert load_phrases("en").format_span(length) == in_words


@pytest.mark.parametrize("language", languages())
def test_no_language_lacks_a_word(language):
    """Every word a contact may text has at least one form in every language."""
    assert set(load_phrases(language).order_words()) == set(load_phrases("en").order_words())


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("kind", kinds_where(lambda kind: kind.opens and kind.priority != "record"))
def test_every_alarm_has_a_word_of_its_own(language, kind):
    """Who took what, and what nobody took, is said in words and not by the name of an event; no capitals for a voice."""
    book = load_phrases(language)
    assert kind in book.data["label"]
    spoken = book.label(kind, line="landline").replace("SIM", "")
    assert not re.search(r"[^\W\d_a-zа-яіїєґäöüßáéíóúñ]{2}", spoken)


MEASURES = {
    "en": ("3.4 l/min", "3.4 litres a minute", "-7 C", "1.80 AUD", "21 bar"),
    "de": ("3,4 l/min", "3,4 Liter in der Minute", "-7 C", "1,80 AUD", "21 bar"),
    "es": ("3,4 l/min", "3,4 litros por minuto", "-7 C", "1,80 AUD", "21 bar"),
    "uk": ("3,4 л/хв", "3,4 літра за хвилину", "-7 C", "1,80 AUD", "21 bar"),
}


@pytest.mark.parametrize("language", languages())
def test_measures_have_the_languages_own_sign_and_their_unit_by_name_by_a_voice(language):
    """A unit that nobody named stays as it is written."""
    book, flow = load_phrases(language), Measured(3.4, "l/min")

    def said(value, line="mobile"):
        return book.message("disk-back", {"free": value}, line=line).rpartition(": ")[2].removesuffix(".")

    assert (
        said(flow),
        said(flow, "landline"),
        said(Measured(-7, "C")),
        said(Money(1.8, "AUD")),
        said(Measured(21, "bar")),
    ) == MEASURES[language]


def test_why_a_message_comes_again_stands_right_behind_its_head_and_stays():
    """So that the matter keeps the first line, and what to answer is not cut for it."""
    values = {"tank": "House tank", "since": "07:17", "take": "Reply OK.", "advice": "A" * 150}
    said = load_phrases("en").message("low", values, next_to_head="Nobody has it yet.")
    assert said == "House tank LOW since 07:17. Nobody has it yet. Reply OK."
