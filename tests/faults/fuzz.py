"""`python -m tests.faults.fuzz`: octets from a coverage-guided fuzzer → the PDU decoder, the rule engine and an order.

Whatever comes is a text, a report, or said to be undecodable; a rule reads it or not; nothing raises. Needs atheris.
"""

import sys

import atheris

with atheris.instrument_imports(include=["gateway"]):
    from gateway.facts import Delivered, Report, Undecodable
    from gateway.facts.harmless import harmless
    from gateway.modem.pdu import decode
    from gateway.orders import parse
    from gateway.phrases import load_phrases
    from gateway.rules.rulebook import compile_rulebook
    from gateway.settings.controller_tables import RuleTable

BOOK = compile_rulebook(
    [
        RuleTable(text="LINE {input} {state} *", means="input", active=["MADE"], idle=["BROKE"]),
        RuleTable(text="SUPPLY {volts} V", means="reading", scope="anywhere"),
        RuleTable(regex=r"(?P<word>\w+) (?P<celsius>-?\d+)C", means="reading"),
    ]
)
WORDS = load_phrases("en").order_words()


def one(octets: bytes) -> None:
    """One input."""
    content = decode(octets.hex().upper())
    assert isinstance(content, Delivered | Report | Undecodable)
    text = content.text if isinstance(content, Delivered) else octets.decode("utf-8", "replace")
    BOOK.read(text)
    parse(text, WORDS, [("house", "House tank")])
    assert not any(ord(char) < 32 and char not in "\n" for char in harmless(text))


if __name__ == "__main__":
    atheris.Setup(sys.argv, one)
    atheris.Fuzz()
