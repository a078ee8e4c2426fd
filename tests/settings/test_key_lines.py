"""Where each key of a file stands, and how durations are written and read."""

from datetime import timedelta

import pytest

from gateway.settings.durations import duration_or_off, format_setting, silence_limit
from gateway.settings.key_lines import find_key_lines

FILE = '''# a remark = 1
a = 1 # another
"b.c" = 'x # y'
d = 1979-05-27

[t] # a table
list = [ 1, 2,
  3, # three
  [4,
   5],
]
inline = { p = 1, q = [6,
  7], r.s = "}" }
text = """one
two""" # three
quotes = """he said "yes""""
escaped = "a\\"b]"
lines = \'\'\'
\'\'\'
after = 2
[[rows]]
k = 1
[rows.sub]
s = 1

[[rows]]
k = 2
[[rows.deep]]
x.y = 3
[[rows.deep]]
z = [{ u = 1 },
  { u = 2, v = {} }]
["q r".'s']
end = true
more = ["""x"""",
  8]'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("a",), 2),
        (("b.c",), 3),
        (("d",), 4),
        (("t",), 6),
        (("t", "list"), 7),
        (("t", "list", 1), 7),
        (("t", "list", 2), 8),
        (("t", "list", 3), 9),
        (("t", "list", 3, 0), 9),
        (("t", "list", 3, 1), 10),
        (("t", "inline", "p"), 12),
        (("t", "inline", "q", 1), 13),
        (("t", "inline", "r", "s"), 13),
        (("t", "text"), 14),
        (("t", "quotes"), 16),
        (("t", "escaped"), 17),
        (("t", "lines"), 18),
        (("t", "after"), 20),
        (("rows", 0), 21),
        (("rows", 0, "k"), 22),
        (("rows", 0, "sub"), 23),
        (("rows", 0, "sub", "s"), 24),
        (("rows", 1), 26),
        (("rows", 1, "k"), 27),
        (("rows", 1, "deep", 0, "x", "y"), 29),
        (("rows", 1, "deep", 1), 30),
        (("rows", 1, "deep", 1, "z", 0, "u"), 31),
        (("rows", 1, "deep", 1, "z", 1, "v"), 32),
        (("q r", "s"), 33),
        (("q r", "s", "end"), 34),
        (("q r", "s", "more", 0), 35),
        (("q r", "s", "more", 1), 36),
        # what does not stand there: the nearest thing around it, else the first line
        (("t", "nothing", 3), 6),
        (("rows", 1, "deep", 5), 26),
        (("rows", 7), 1),
        (("nothing",), 1),
        ((), 1),
    ],
)
def test_where_a_key_stands(path, line):
    """Through remarks, strings of every kind, lists over lines, tables in braces and rows of rows."""
    assert find_key_lines(FILE).line(path) == line


@pytest.mark.parametrize(
    ("said", "means"),
    [(None, None), ("", None), (" Off ", None), ("2h", timedelta(hours=2)), (timedelta(1), timedelta(1))],
)
def test_a_duration_that_may_be_off(said, means):
    """Nothing, an empty word and "off" are none."""
    assert duration_or_off(said) == means == silence_limit(said)


def test_a_silence_that_is_found_out():
    """And what is neither."""
    assert silence_limit(" AUTO ") == "auto"
    with pytest.raises(ValueError, match="expected a duration"):
        duration_or_off(" auto ")


@pytest.mark.parametrize(
    ("value", "written"),
    [
        (None, "off"),
        ("auto", "auto"),
        (timedelta(hours=26), "1d 2h"),
        (timedelta(seconds=90), "1m 30s"),
        (timedelta(0), "0s"),
        (timedelta(seconds=0.5), "0.500000s"),
    ],
)
def test_a_setting_as_it_may_stand_in_the_file(value, written):
    """Parts of a second are kept."""
    assert format_setting(value) == written
