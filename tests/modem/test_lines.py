"""Octets → lines: ends of every kind, quotes over several lines, prompts, and what kind of line each is; shapes of unknown ones."""

import pytest

from gateway.modem.lines import LONGEST_LINE_OCTETS, MOST_QUOTED_LINES, Lines, is_news, is_result
from gateway.modem.unknown_lines import MOST_SHAPES, UnknownLines, shape_of

HEX = "0791" * 5


def lines_of(*reads: bytes) -> list[str]:
    """All whole lines after these reads."""
    lines = Lines()
    for octets in reads:
        lines.feed(octets)
    whole = []
    while lines:
        whole.append(lines.pop())
    return whole


@pytest.mark.parametrize(
    ("reads", "whole"),
    [
        ([b"OK\r\n"], ["OK"]),
        ([b"A\rB\n\r\nC"], ["A", "B"]),
        ([b"O", b"K", b"\r", b"\n"], ["OK"]),
        ([b"\x00 OK \x00\r\n"], ["OK"]),
        ([b"\r\n  \r\n"], []),
        ([b"\xff\r\n"], ["\xff"]),
        ([f"+CMGR: 1,,20 {HEX}\r\n".encode()], ["+CMGR: 1,,20", HEX]),
        ([b"+CMGR: 1,,20 0791\r\n"], ["+CMGR: 1,,20 0791"]),
        ([b"x" * 3000, b"\r\n"], ["x" * LONGEST_LINE_OCTETS]),
        # a quote of the network's answer runs over lines
        ([b'+CUSD: 1,"a\r\nb\r\nc",15\r\nOK\r\n'], ['+CUSD: 1,"a\nb\nc",15', "OK"]),
        ([b'+CUSD: 1,"a",15\r\nOK\r\n'], ['+CUSD: 1,"a",15', "OK"]),
        ([b'+CUSD: 1,"a\r\nOK\r\n'], ['+CUSD: 1,"a', "OK"]),
        ([b'+CUSD: 1,"a\r\nb\r\n+CMTI: "SM",1\r\n'], ['+CUSD: 1,"a\nb', '+CMTI: "SM",1']),
        ([b'+CMTI: "SM\r\nx\r\n'], ['+CMTI: "SM', "x"]),
    ],
)
def test_lines_out_of_reads(reads, whole):
    """However the reads were cut, whatever ends a line."""
    assert lines_of(*reads) == whole


def test_a_quote_whose_end_was_lost_is_given_up():
    """After so many lines."""
    octets = b'+CUSD: 1,"0\r\n' + b"".join(b"%d\r\n" % number for number in range(1, MOST_QUOTED_LINES + 1))
    assert lines_of(octets) == ['+CUSD: 1,"' + "\n".join(map(str, range(MOST_QUOTED_LINES))), str(MOST_QUOTED_LINES)]


@pytest.mark.parametrize(
    ("octets", "prompt", "whole", "left"),
    [
        (b"> ", True, [], ""),
        (b">", True, [], ""),
        (b"\x00 > x", True, [], "x"),
        (b"x>", False, [], "x>"),
        (b'+CMTI: "SM",1> ', True, ['+CMTI: "SM",1'], ""),
        (b'+CMTI: "SM",1', False, [], '+CMTI: "SM",1'),
        (b"", False, [], ""),
    ],
)
def test_a_prompt(octets, prompt, whole, left):
    """At the end and without a line's end; news may share its line. What stands behind it begins the next line."""
    lines = Lines()
    lines.feed(octets)
    assert lines.take_prompt() is prompt
    lines.feed(b"\r\n")
    assert [lines.pop() for _ in range(len(whole) + bool(left))] == [*whole, *([left] if left else [])]
    assert not lines


def test_a_line_that_is_put_back_is_the_next():
    """Before those that came after it."""
    lines = Lines()
    lines.feed(b"A\r\nB\r\n")
    lines.put_back(lines.pop())
    assert (lines.pop(), lines.pop()) == ("A", "B")
    with pytest.raises(IndexError):
        lines.pop()


@pytest.mark.parametrize(
    ("line", "result", "news"),
    [
        ("OK", True, False),
        ("ERROR", True, False),
        ("NA", True, False),
        ("+CMS ERROR: 500", True, False),
        ("+CME ERROR: SIM busy", True, False),
        ("MODEM ERROR: 4", True, False),
        ("OKAY", False, False),
        ('+CMTI: "SM",1', False, True),
        ("^RSSI: 17", False, True),
        ("+XYZ: 1", False, True),
        ("RDY", False, True),
        ("RING", False, True),
        ("hello", False, False),
    ],
)
def test_what_kind_of_line_it_is(line, result, news):
    """A result ends an answer; news comes unasked."""
    assert is_result(line) is result
    assert (is_news(line) and not result) is news


@pytest.mark.parametrize(
    ("line", "shape"),
    [
        ('+XYZ: "Ridge",491570006', '+XYZ: "...",...'),
        ("+XYZ: 123,1234", "+XYZ: 123,..."),
        ("0123456789AB", "(hex)"),
        ("0123456789A", "...A"),
        ("é\x07x", "??x"),
        ('"open', '"..."'),
        ("x" * 100, "x" * 60),
    ],
)
def test_the_shape_of_a_line(line, shape):
    """Without what may be somebody's."""
    assert shape_of(line) == shape


def test_unknown_lines_are_counted():
    """Told once where there is a new shape; the newest twenty are kept."""
    unknown = UnknownLines()
    assert unknown.take_changed() is None
    for line in ("A 1", "B", "A 1"):
        unknown.note(line)
    assert unknown.take_changed() == (("B", 1), ("A 1", 2))
    unknown.note("B")
    assert unknown.take_changed() is None
    for number in range(MOST_SHAPES - 1):
        unknown.note(f"C{number}")
    changed = unknown.take_changed()
    assert changed is not None and len(changed) == MOST_SHAPES and changed[0] == ("B", 2)
