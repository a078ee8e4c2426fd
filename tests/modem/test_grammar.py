"""Every form that the grammar allows, made by chance, is read as what it is; and whatever else comes is never an error."""

from contextlib import suppress

from hypothesis import given
from hypothesis import strategies as st

from gateway.errors import ModemTrouble
from gateway.modem.dialogue import Dialogue
from gateway.modem.grammar import FORMS, fields_in, figures, is_answer, is_known_news, lists_in, name_and_fields
from gateway.modem.lines import Lines
from tests.modem.test_dialogue import Script

GAPS = st.sampled_from(["", " ", "  "])
WORDS = st.text(st.characters(codec="latin-1", exclude_characters='"\r\n\x00', exclude_categories=["Cc"]), max_size=12)
BARE = st.text("0123456789ABCDEFabcdef", min_size=1, max_size=8)
FIELDS = st.lists(
    st.one_of(WORDS.map(lambda word: (word, True)), BARE.map(lambda word: (word, False)), st.just(("", False))),
    min_size=1,
)
REGISTRATIONS = ("+CREG", "+CGREG", "+CEREG", "+C5GREG")


@given(FIELDS, st.data())
def test_fields_are_what_stands_between_commas(fields, data):
    """In quotes or bare, empty or not, with spaces or none."""
    pieces = [data.draw(GAPS) + (f'"{word}"' if quoted else word) + data.draw(GAPS) for word, quoted in fields]
    if len(pieces) == 1 and not pieces[0].strip():
        return
    assert [(field.value, field.quoted) for field in fields_in(",".join(pieces))] == fields


@given(st.sampled_from(REGISTRATIONS), st.integers(0, 5), st.integers(0, 11), st.booleans(), st.data())
def test_a_registration_is_answer_or_news(name, mode, stat, quoted, data):
    """With or without an area and a technology."""
    quote = '"{}"' if quoted else "{}"
    area = data.draw(st.sampled_from([[], [quote.format("84CD")], [quote.format("00C3"), quote.format("0083F7CD")]]))
    gap = data.draw(GAPS)
    answer, news = (
        f"{name}:{gap}{f',{gap}'.join(pieces)}" for pieces in ([str(mode), str(stat), *area], [str(stat), *area])
    )
    assert is_answer(name, answer) and not is_answer(name, news)
    assert is_known_news(news)
    assert figures(name_and_fields(answer)[1])[1] == figures(name_and_fields(news)[1])[0] == stat


@given(st.lists(st.lists(st.sampled_from(["SM", "ME", "MT", "SR", "BM"]), min_size=1), min_size=1, max_size=3), GAPS)
def test_lists_of_memories(lists, gap):
    """In brackets; one alone may stand without."""
    shown = [f"({gap}{f'{gap},{gap}'.join(f'{chr(34)}{name}{chr(34)}' for name in names)}{gap})" for names in lists]
    assert lists_in(f"{gap},{gap}".join(shown)) == lists
    assert lists_in(",".join(f'"{names[0]}"' for names in lists)) == [[names[0]] for names in lists]


@given(st.integers(0, 5), st.integers(0, 4))
def test_lists_of_figures(low, more):
    """One by one or as a span."""
    values = [str(value) for value in range(low, low + more + 1)]
    assert lists_in(f"({','.join(values)}),(0)") == lists_in(f"({low}-{low + more}),(0)") == [values, ["0"]]


@given(st.binary(max_size=300), st.sampled_from(sorted(FORMS)))
def test_whatever_comes_is_never_an_error(octets, name):
    """Any octets before an answer: read or refused, and nothing else."""
    wire = Script([(0.01, octets.decode("latin-1")), (0.01, f"{name}: 1"), (0.01, "OK")], *[[(0.01, "OK")]] * 9)
    dialogue = Dialogue(wire, lambda: wire.now, lambda news: None)
    with suppress(ModemTrouble):
        dialogue.command(f"AT{name}?")
    lines = Lines()
    lines.feed(octets + b"\r\n")
    while lines:
        line = lines.pop()
        is_known_news(line), is_answer(name, line), name_and_fields(line)
