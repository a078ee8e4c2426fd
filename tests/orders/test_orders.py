"""A contact's text is one order; slips are forgiven only where nothing can go wrong."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gateway.orders import (
    Ask,
    AskDry,
    Dry,
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
from gateway.orders.order_words import bare
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
        ("OK OK", Unknown()),
        ("Ok thanks", Unknown()),
        ("OK I will be there in an hour or so", Unknown()),
        ("(tanks)", Tanks()),
        ("tank", Tanks()),
        ("weak", Week()),
        ("word", Words()),
        ("dr y", Unknown(near="DRY")),
        ("drye", Unknown(near="DRY")),
        ("dry weather here, all well", Unknown(near="DRY")),
        ("werk house 4h", Unknown(near="WORK")),
        ("mote cleaned the intake", Unknown(near="NOTE")),
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
        ("OK house please", TANKS, Unknown()),
        ("OK attic", TANKS, Unknown()),
        ("OK attic", TANKS[:1], Unknown()),
        ("OK top", (("a", "Top"), ("b", "Top")), Unknown()),
        ("good morning", WITHOUT_LETTERS, Unknown()),
        ("OVER house", TANKS, Over(tank="house")),
        ("over: Spring tank.", TANKS, Over(tank="spring")),
        ("OVER house now", TANKS, Over(tank=None)),
        ("OVER", TANKS, Over(tank=None)),
        ("OVER", TANKS[:1], Over(tank="house")),
        ("YES 0417", TANKS, Yes(code="0417")),
        ("yes: 0417.", TANKS, Yes(code="0417")),
        ("YES 417", TANKS, Unknown(near="YES")),
        ("0417", TANKS, Unknown()),
        ("ASK ridge  status", TANKS, Ask(what="ridge status")),
        ("ASK", TANKS, Ask(what="")),
        ("WALK", TANKS, Walk(tank="")),
        ("Walk House  tank.", TANKS, Walk(tank="house tank")),
        ("WORK house 31d", TANKS, Work(tank="house", duration=timedelta(days=31))),
        ("WORK house 32d", TANKS, Work(tank="house", duration=None)),
        ("oks", TANKS, Unknown()),
        ("nexd", TANKS, Unknown(near="NEXT")),
        ("nott", TANKS, Unknown(near="NOTE")),
        ("nodd", TANKS, Unknown()),
        ("week of rain", TANKS, Unknown(near="WEEK")),
    ],
)
def test_the_other_orders(text, tanks, order):
    """A word with its argument and nothing else; what was nearly meant is named where it has three letters."""
    assert parse(text, WORDS, tanks, BOXES if tanks is TANKS else ()) == order


def test_of_two_words_that_were_nearly_meant_the_one_that_does_something_is_named():
    """Whoever asks in vain asks again; whoever thinks that something was done does not."""
    words = {"week": ("WEEK",), **WORDS, "note": ("WEEP",)}
    assert parse("weex of rain", words, TANKS) == Unknown(near="WEEP")


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
    """A bare word is that word however it is dressed; only DRY with a question mark asks, for it would call everybody."""
    asks = word[1] == Dry() and "?" in before + behind
    assert parse(before + case(word[0]) + behind, WORDS, TANKS) == (AskDry() if asks else word[1])


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


def test_words_of_another_language():
    """Accents aside."""
    assert parse("behalter", load_phrases("de").order_words(), TANKS) == Tanks()
    assert parse("баки", load_phrases("uk").order_words(), TANKS) == Tanks()
