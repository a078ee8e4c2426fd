"""Whatever arrives is shown without anything that moves a cursor, turns a line or starts a formula."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gateway.facts.harmless import harmless, spreadsheet_cell


@given(st.text())
def test_nothing_hidden_is_left(text):
    """No control, format, surrogate or private character survives; ordinary text is unchanged."""
    shown = harmless(text)
    assert all(unicodedata.category(char) not in {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"} for char in shown)
    if text.isascii() and text.isprintable():
        assert shown == text


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("LINE 1 MADE", "LINE 1 MADE"),
        ("a\x1b[31mred", "a\\x1b[31mred"),
        ("left\u202eright", "left\\u202eright"),
        ("two\nlines", "two lines"),
        ("null\x00byte", "null\\x00byte"),
        ("Brücke à 5 €", "Brücke à 5 €"),
    ],
)
def test_escapes_are_visible(text, shown):
    """What was hidden can be seen and told apart."""
    assert harmless(text) == shown


@pytest.mark.parametrize("text", ["=1+1", "+61", "-2", "@SUM(A1)", " =1", "\t=1"])
def test_no_formula_starts_a_cell(text):
    """A spreadsheet shows it and runs nothing."""
    assert spreadsheet_cell(text).startswith("'")
