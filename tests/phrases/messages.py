"""Every message and answer there is, each with what really stands in it: for the tests, and for the tables of MESSAGES.md.

`python -m tests.phrases.messages` writes them anew.
"""

from collections.abc import Iterator
from pathlib import Path
from zoneinfo import ZoneInfo

from gateway.commands.sample_messages import NOW, SPECIAL, message_names, sample_values
from gateway.commands.sample_messages import sample_message as message
from gateway.gsm.segments import measure_text
from gateway.phrases import Phrasebook, languages, load_phrases
from gateway.phrases.put_together import spoken_s

__all__ = ["DOCUMENT", "NOW", "SPECIAL", "ZONE", "message", "message_names", "messages_table", "sample_values"]
ZONE = ZoneInfo("Australia/Sydney")
DOCUMENT = Path(__file__).with_name("MESSAGES.md")
HEAD = """# Every message, as it leaves

Written by `python -m tests.phrases.messages`, and held to the phrases by a test. Each phrase by its key, on a screen with its segments and by a
voice with its seconds as the gateway reckons them. With (?): a native reader has still to judge it.
"""


def messages_table() -> str:
    """The whole of MESSAGES.md."""
    return HEAD + "".join(f"\n## {language}\n\n" + "\n".join(_rows(language)) + "\n" for language in languages())


def _rows(language: str) -> Iterator[str]:
    book = load_phrases(language)
    yield from ("| phrase | on a screen | | by a voice | s |", "| --- | --- | --- | --- | --- |")
    for name in message_names(book):
        shown = message(book, name, segments=allowed(book))
        spoken = message(book, name, "landline", segments=allowed(book))
        mark = " (?)" if name in book.unsure else ""
        segments = measure_text(shown).segments
        yield f"| `{name}`{mark} | {shown} | {segments} | {spoken} | {spoken_s(spoken):.0f} |"


def allowed(book: Phrasebook) -> int:
    """The segments that a household gets in that language without asking."""
    return 2 if book.has_own_alphabet else 1


if __name__ == "__main__":
    DOCUMENT.write_text(messages_table(), "utf-8")
