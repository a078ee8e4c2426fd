"""A contact's text is one order; slips are forgiven only where nothing can go wrong."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gateway.orders import (
    Ask,
    AskDry,
    Back,
    Dry,
    Inflow,
    Next,
    No,
    Note,
    Ok,
    Over,
    Safe,
    Tanks,
    Unknown,
    Walk,
    Week,
    Words,
    Work,
    Yes,
    parse,
)
from gateway.orders.spelling import bare
from gateway.phrases import load_phrases

TANKS = (("house", "House tank"), ("spring", "Spring tank"))
WORDS = load_phrases("en").order_words()


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("OK", Ok()),
        (" ok. ", Ok()),
        ("Ok!", Ok()),
        ("tanks", Tanks()),
        ("tnaks", Tanks()),
        ("WEEK", Week()),
        ("weeek", Week()),
        ("words?", Words()),
        ("DRY", Dry()),
        ("“OK”", Ok()),
        ("ok 👍", Ok()),
        ("ÓK", Ok()),
        ("𝐎𝐊", Ok()),
        ("OK OK", Unknown(near="ok")),
        ("Ok thanks", Unknown(near="ok")),
        ("OK I will be there in an hour or so", Unknown(near="ok")),
        ("(tanks)", Tanks()),
        ("tank", Tanks()),
        ("weak", Week()),
        ("word", Words()),
        ("dr y", Unknown(near="dry")),
        ("drye", Unknown(near="dry")),
        ("dry weather here, all well", Unknown(near="dry")),
        ("werk house 4h", Unknown(near="work")),
        ("mote cleaned the intake", Unknown(near="note")),
        ("I am driving and will reply later", Unknown()),
        ("WORK house 4h", Work(tank="house", duration=timedelta(hours=4))),
        ("work House Tank 1d 2h", Work(tank="house", duration=timedelta(hours=26))),
        ("WORK spring", Work(tank="spring", duration=None)),
        ("WORK\nhouse\t4h", Work(tank="house", duration=timedelta(hours=4))),
        ("Work: House tank, 4 h.", Work(tank="house", duration=timedelta(hours=4))),
        ("WORK 4h", Work(tank=None, duration=timedelta(hours=4))),
        ("WORK house 0h", Work(tank="house", duration=None)),
        ("WORK house 999999999w", Work(tank="house", duration=None)),
        ("WORK house four hours", Work(tank="house", duration=None)),
        ("WORK houses 4h", Work(tank=None, duration=None)),
        ("Working late, back soon", Unknown(near=None)),
        ("WORK attic 4h", Work(tank=None, duration=None)),
        ("WORK house 9999d", Work(tank="house", duration=None)),
        ("NOTE cleaned the intake", Note(text="cleaned the intake")),
        ("note: new gasket", Note(text="new gasket")),
        ("note:new gasket", Note(text="new gasket")),
        ("NOTE\nFirst line,\n  second: OK ", Note(text="First line,\n  second: OK")),
        ("Note -5 °C", Note(text="-5 °C")),
        ("NOTE", Note(text="")),
        ("", Unknown()),
    ],
)
def test_orders(text, order):
    """Each word with its argument; nothing is guessed for words that do something."""
    assert parse(text, WORDS, TANKS) == order


BOXES = (("ridge", "Ridge pump"), ("creek", "Creek valve"))
WITHOUT_LETTERS = (("-", "!"),)


@pytest.mark.parametrize(
    ("text", "tanks", "order"),
    [
        ("NO", TANKS, No()),
        ("next", TANKS, Next()),
        ("Safe.", TANKS, Safe()),
        ("DRY?", TANKS, AskDry()),
        ("WEEK?", TANKS, Week()),
        ("OK house", TANKS, Ok(about="house")),
        ("ok: Spring Tank!", TANKS, Ok(about="spring")),
        ("OK ridge", TANKS, Ok(about="ridge")),
        ("NO Creek valve", TANKS, No(about="creek")),
        ("OK house please", TANKS, Unknown(near="ok")),
        ("OK attic", TANKS, Unknown(near="ok")),
        ("OK attic", TANKS[:1], Unknown(near="ok")),
        ("OK top", (("a", "Top"), ("b", "Top")), Unknown(near="ok")),
        ("good morning", WITHOUT_LETTERS, Unknown()),
        ("OVER house", TANKS, Over(tank="house")),
        ("over: Spring tank.", TANKS, Over(tank="spring")),
        ("OVER house now", TANKS, Over(tank=None)),
        ("OVER", TANKS, Over(tank=None)),
        ("OVER", TANKS[:1], Over(tank="house")),
        ("YES 0417", TANKS, Yes(code="0417")),
        ("yes: 0417.", TANKS, Yes(code="0417")),
        ("YES 417", TANKS, Unknown(near="yes")),
        ("0417", TANKS, Unknown()),
        ("ASK ridge  status", TANKS, Ask(what="ridge status")),
        ("ASK", TANKS, Ask(what="")),
        ("WALK", TANKS, Walk(tank="")),
        ("Walk House  tank.", TANKS, Walk(tank="house tank")),
        ("WORK house 31d", TANKS, Work(tank="house", duration=timedelta(days=31))),
        ("WORK house 32d", TANKS, Work(tank="house", duration=None)),
        ("oks", TANKS, Unknown()),
        ("nexd", TANKS, Unknown(near="next")),
        ("nott", TANKS, Unknown(near="note")),
        ("nodd", TANKS, Unknown()),
        ("week of rain", TANKS, Unknown(near="week")),
    ],
)
def test_the_other_orders(text, tanks, order):
    """A word with its argument and nothing else; what was nearly meant is named where it has three letters."""
    assert parse(text, WORDS, tanks, BOXES if tanks is TANKS else ()) == order


def test_of_two_words_that_were_nearly_meant_the_one_that_does_something_is_named():
    """Whoever asks in vain asks again; whoever thinks that something was done does not."""
    words = {"week": ("WEEK",), **WORDS, "note": ("WEEP",)}
    assert parse("weex of rain", words, TANKS) == Unknown(near="note")


@given(st.text(max_size=200))
def test_no_text_breaks_it(text):
    """Whatever is texted is some order, and nothing that is not such a word from its first letter on does anything."""
    order = parse(text, WORDS, TANKS)
    begins = bare(text)
    if isinstance(order, Ok | Dry):
        assert begins in ("ok", "dry")
    if isinstance(order, Work | Note):
        assert begins.startswith(("work", "note"))


@given(
    st.sampled_from([("OK", Ok()), ("DRY", Dry()), ("TANKS", Tanks()), ("WEEK", Week()), ("WORDS", Words())]),
    st.sampled_from([str.lower, str.upper, str.title, str.swapcase]),
    st.text(alphabet=" \t\n.!?,;:\"'()…“”»–", max_size=4),
    st.text(alphabet=" \t\n.!?,;:\"'()…“”»–", max_size=4),
)
def test_case_and_what_stands_around_a_word_do_not_matter(word, case, before, behind):
    """A bare word is that word however it is dressed; with a question mark DRY asks, and OK takes nothing."""
    with_mark = {Dry(): AskDry(), Ok(): Unknown(near="ok")} if "?" in before + behind else {}
    assert parse(before + case(word[0]) + behind, WORDS, TANKS) == with_mark.get(word[1], word[1])


@given(st.sampled_from(["OK", "DRY", "WORK", "NOTE"]), st.integers(0, 3), st.characters(categories=["Lu", "Ll"]))
def test_no_slip_makes_a_word_that_does_something(word, place, letter):
    """One letter put in, and it is that word no more."""
    slipped = word[:place] + letter + word[place:]
    if bare(slipped) != bare(word):
        assert not isinstance(parse(slipped, WORDS, TANKS), Ok | Dry | Work | Note)


@given(st.text(max_size=120).map(str.strip))
def test_a_note_keeps_every_word_of_it(said):
    """What stands behind NOTE is kept as it was written."""
    order = parse(f"NOTE {said}", WORDS, TANKS)
    assert isinstance(order, Note) and order.text == said.lstrip(" \t\r\n:;,").rstrip()


def test_a_tank_that_two_could_be_is_none():
    """Two tanks of one name: nobody's messages are held on a guess; the longer name wins over the shorter."""
    twins = (("a", "Top tank"), ("b", "Top tank"), ("top", "Top"))
    assert parse("WORK top tank 4h", WORDS, twins) == Work(tank=None, duration=timedelta(hours=4))
    assert parse("WORK top 4h", WORDS, twins) == Work(tank="top", duration=timedelta(hours=4))
    assert parse("WORK b 4h", WORDS, twins) == Work(tank="b", duration=timedelta(hours=4))
    assert parse("WORK 4h", WORDS, twins[:1]) == Work(tank="a", duration=timedelta(hours=4))


def test_words_of_several_words():
    """A language may need two words for one."""
    words = {**WORDS, "dry": ("SIN AGUA", "DRY"), "note": ("TOMA NOTA", "NOTE")}
    assert parse("sin  agua!", words, TANKS) == Dry()
    assert parse("toma nota: bomba nueva", words, TANKS) == Note(text="bomba nueva")
    assert parse("toma agua", words, TANKS) == Unknown(near=None)
    assert parse("sin agua hoy", words, TANKS) == Unknown(near="dry")


@pytest.mark.parametrize(
    ("text", "near"),
    [
        ("OK?", "ok"),
        ("NO?", "no"),
        ("is it SAFE?", None),
        ("SAFE?", "safe"),
        ("OVER house?", "over"),
        ("BACK ?", "back"),
        ("FLOWS?", "flows"),
        ("STOPPED?", "flows"),
        ("AWAY?", "away"),
        ("PEOPLE 8?", "people"),
        ("WALK?", "walk"),
        ("WORK house 4h?", "work"),
        ("OK house?", "ok"),
    ],
)
def test_a_word_that_does_something_does_nothing_with_a_question_mark(text, near):
    """Whoever asks whether the water is safe must not end what keeps people from it."""
    assert parse(text, WORDS, TANKS, BOXES) == Unknown(near=near)


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("OK\n\n> House tank LOW since 03:00.\n> Reply OK?", Ok()),
        ("> House tank LOW since 03:00.\nok", Ok()),
        ("Ok\n--\nRobin, Quandong Ridge", Ok()),
        ("OK\r\n-----Original message-----\r\nHouse tank LOW", Ok()),
        ("TANKS\n________________\nFrom: the gateway", Tanks()),
        ("OK\nHouse tank LOW since 03:00.", Unknown(near="ok")),
        ("Liked “House tank LOW since 03:00. Reply OK if you see to it”", Unknown()),
        ("👍", Unknown()),
        ("NOTE see below\n> not a quotation", Note(text="see below\n> not a quotation")),
        ("--", Unknown()),
    ],
)
def test_what_a_phone_quotes_below_is_no_part_of_the_order(text, order):
    """But only what is marked as quoted; a note keeps every line."""
    assert parse(text, WORDS, TANKS) == order


HOUSES = (("house", "Haus oben"), ("source", "Überlauf"))


@pytest.mark.parametrize(
    ("language", "text", "order"),
    [
        ("en", "Okay.", Ok()),
        ("en", "O.K.", Ok()),
        ("en", "yes", Unknown(near="ok")),
        ("en", "yes I go", Unknown(near="ok")),
        ("en", "yes 417", Unknown(near="yes")),
        ("en", "no idea", Unknown(near="no")),
        ("en", "more", Words(more=True)),
        ("de", "behalter", Tanks()),
        ("de", "Behaelter", Tanks()),
        ("de", "Behälter.", Tanks()),
        ("de", "zurueck", Back()),
        ("de", "fließt", Inflow(runs=True)),
        ("de", "Pruefen ueberlauf", Walk(tank="ueberlauf")),
        ("de", "arbeit ueberlauf 4 std", Work(tank="source", duration=timedelta(hours=4))),
        ("de", "ARBEIT Haus oben 2 Tage", Work(tank="house", duration=timedelta(days=2))),
        ("de", "OK Ueberlauf", Ok(about="source")),
        ("de", "Ok danke", Unknown(near="ok")),
        ("de", "Ja", Unknown(near="ok")),
        ("de", "ja mache ich", Unknown(near="ok")),
        ("de", "TRINKBAR?", Unknown(near="safe")),
        ("de", "hilfe", Words()),
        ("de", "status", Words()),
        ("es", "sí", Unknown(near="ok")),
        ("es", "si", Unknown(near="ok")),
        ("es", "vale!", Ok()),
        ("es", "Vale, voy", Unknown(near="ok")),
        ("es", "sin agua.", Dry()),
        ("es", "¿SECO?", AskDry()),
        ("es", "ayuda más", Words(more=True)),
        ("es", "Depósitos", Tanks()),
        ("es", "trabajo house 4 horas", Work(tank="house", duration=timedelta(hours=4))),
        ("es", "¿?", Words()),
        ("uk", "ок", Ok()),
        ("uk", "беруся!", Ok()),
        ("uk", "так", Unknown(near="ok")),
        ("uk", "ні", No()),
        ("uk", "баки", Tanks()),
        ("uk", "довідка", Words()),
        ("uk", "СТАТУС", Words()),
        ("uk", "робота house 4 год", Work(tank="house", duration=timedelta(hours=4))),
        ("uk", "?", Words()),
    ],
)
def test_people_write_as_their_phones_do(language, text, order):
    """Without umlauts and accents, with a stop, in small letters, in any language; a yes to no question takes nothing."""
    book = load_phrases(language)
    assert parse(text, book.order_words(), HOUSES, BOXES, book.until_words()) == order


def test_apostrophes_are_all_one():
    """A phone sets a typographic one, or none."""
    names = (("wrens", "Wren's tank"), ("spring", "Spring tank"))
    for written in ("wren's tank", "Wren’s tank", "Wrenʼs tank", "wrens tank", "Wren`s tank"):
        assert parse(f"OVER {written}", WORDS, names) == Over(tank="wrens")
