"""Every message by voice, spoken by a speech synthesiser → SPOKEN.md: how long it takes, beside what the gateway reckons, and its phonemes.

`python -m tests.phrases.spoken` measures anew; it needs espeak-ng of Debian's packages, which no test does.
"""

import io
import re
import subprocess
import wave
from collections.abc import Iterator
from pathlib import Path
from statistics import mean

from gateway.phrases import languages, load_phrases
from gateway.phrases.put_together import spoken_s
from tests.phrases.messages import allowed, message, message_names

DOCUMENT = Path(__file__).with_name("SPOKEN.md")
WORDS_A_MINUTE = 150
"""The usual rate of text-to-speech (published/speech.csv)."""
PHONEMES_OF = (
    "said.low",
    "said.ran-dry",
    "said.silent",
    "said.battery-low",
    "said.gateway-started",
    "said.second-call",
)
HEAD = f"""# Every message by voice, measured

Written by `python -m tests.phrases.spoken`: spoken by espeak-ng at {WORDS_A_MINUTE} words a minute; the seconds that it takes, and those
that the gateway reckons. A row of the first table has them over all messages of a language. The phonemes beneath are what that
voice makes of the words.
"""


def main() -> None:
    """Measures all and writes the document."""
    tables = {language: list(measured(language)) for language in languages()}
    rows = [
        f"| {language} | {len(table)} | {mean(ours / theirs for _, theirs, ours in table):.2f} | "
        f"{min(ours / theirs for _, theirs, ours in table):.2f} | {max(ours / theirs for _, theirs, ours in table):.2f} | "
        f"{max(theirs for _, theirs, _ in table):.1f} |"
        for language, table in tables.items()
    ]
    head = "| language | messages | ours to measured, mean | least | most | longest, s |\n| --- | --- | --- | --- | --- | --- |"
    parts = [HEAD, head, *rows]
    for language, table in tables.items():
        parts += [f"\n## {language}\n", "| phrase | measured, s | ours, s |", "| --- | --- | --- |"]
        parts += [f"| `{name}` | {theirs:.1f} | {ours:.1f} |" for name, theirs, ours in table]
        parts += ["", *(f"- `{name}`: {phonemes(language, name)}" for name in PHONEMES_OF)]
    DOCUMENT.write_text("\n".join(parts) + "\n", "utf-8")


def measured(language: str) -> Iterator[tuple[str, float, float]]:
    """(phrase, seconds it takes, seconds reckoned) of each message that may go to a landline."""
    book = load_phrases(language)
    for name in message_names(book):
        if name.startswith("said."):
            words = message(book, name, "landline", segments=allowed(book))
            yield name, seconds(language, words), spoken_s(words)


def seconds(language: str, words: str) -> float:
    """How long the synthesiser takes for the words."""
    sound = _espeak(language, words, "--stdout")
    with wave.open(io.BytesIO(sound)) as file:
        # to a pipe its header names no length: the octets behind it are the sound, two a sample
        return (len(sound) - 44) / 2 / file.getframerate()


def phonemes(language: str, name: str) -> str:
    """What the synthesiser makes of the message, as sounds (IPA)."""
    words = message(load_phrases(language), name, "landline", segments=allowed(load_phrases(language)))
    return re.sub(r"\s+", " ", _espeak(language, words, "-q", "--ipa").decode("utf-8")).strip()


def figures(document: str) -> dict[str, list[tuple[float, float]]]:
    """SPOKEN.md → by language (measured, ours) of each message."""
    found: dict[str, list[tuple[float, float]]] = {}
    language = ""
    for line in document.splitlines():
        if line.startswith("## "):
            language = line[3:]
        row = re.fullmatch(r"\| `[^`]+` \| ([\d.]+) \| ([\d.]+) \|", line)
        if row:
            found.setdefault(language, []).append((float(row[1]), float(row[2])))
    return found


def _espeak(language: str, words: str, *options: str) -> bytes:
    command = ["espeak-ng", "-v", language, "-s", str(WORDS_A_MINUTE), *options, words]
    return subprocess.run(command, check=True, capture_output=True).stdout


if __name__ == "__main__":
    main()
