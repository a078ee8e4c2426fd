"""Every message and answer there is, each with what really stands in it: for the tests, and for the table in MESSAGES.md.

`python -m tests.phrases.messages` writes that table anew.
"""

from pathlib import Path
from zoneinfo import ZoneInfo

from gateway.commands.sample_messages import NOW, SPECIAL, message_names, sample_values
from gateway.commands.sample_messages import sample_message as message
from gateway.phrases import load_phrases

__all__ = ["DOCUMENT", "NOW", "SPECIAL", "ZONE", "message", "message_names", "messages_table", "sample_values"]
ZONE = ZoneInfo("Australia/Sydney")
VOICES_SHOWN = (
    "said.low", "said.silent", "said.battery-low", "said.taken", "said.digest", "said.well", "said.not-well", "answer.week",
)  # fmt: skip
DOCUMENT = Path(__file__).with_name("MESSAGES.md")
HEAD = "# Every message, as it leaves\n\nWritten by `python -m tests.phrases.messages`, and held to the phrases by a test.\n\n"


def messages_table() -> str:
    """The whole of MESSAGES.md."""
    book = load_phrases("en")
    rows = [f"| `{name}` | {message(book, name)} |" for name in message_names(book)]
    spoken = [f"| `{name}`, by voice | {message(book, name, 'landline')} |" for name in VOICES_SHOWN]
    return HEAD + "\n".join(["| phrase | as it leaves |", "| --- | --- |", *rows, *spoken]) + "\n"


if __name__ == "__main__":
    DOCUMENT.write_text(messages_table(), "utf-8")
