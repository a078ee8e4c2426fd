"""Standard input and output → streams that take and give any text, whatever the terminal's encoding; a closed one is as an empty one."""

import os
import sys
from io import TextIOWrapper
from pathlib import Path
from typing import TextIO, cast

from gateway.errors import GatewayError, UsageWrong

UTF_16_MARKS = (b"\xff\xfe", b"\xfe\xff")
PATHS = frozenset({"config", "file", "folder"})


def prepare_streams() -> None:
    """Every stream is there and fails at no character: one that the terminal lacks is shown as an escape, bytes that are no text
    are read as U+FFFD."""
    sys.stdin = sys.stdin or _null_device("r")
    sys.stdout = sys.stdout or _null_device("w")
    sys.stderr = sys.stderr or _null_device("w")
    for stream, errors in ((sys.stdin, "replace"), (sys.stdout, "backslashreplace")):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors=errors)


def _null_device(mode: str) -> TextIO:
    return cast(TextIO, Path(os.devnull).open(mode, encoding="utf-8"))


def text_of_file(file: str) -> str:
    """A file a person made, `-` for standard input: UTF-8 or UTF-16, else letters of one byte each. Raises GatewayError."""
    try:
        raw = _standard_input() if file == "-" else Path(file).read_bytes()
    except OSError as error:
        raise GatewayError(f"{file} cannot be read: {error.strerror}") from None
    try:
        text = raw.decode("utf-16" if raw.startswith(UTF_16_MARKS) else "utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _standard_input() -> bytes:
    return sys.stdin.buffer.read() if isinstance(sys.stdin, TextIOWrapper) else sys.stdin.read().encode()


def discard_output() -> None:
    """Nothing more goes to a standard output that takes nothing: else the interpreter complains of it as it ends."""
    if isinstance(sys.stdout, TextIOWrapper):
        null_device = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null_device, sys.stdout.fileno())
        os.close(null_device)


def refuse_bytes(arguments: dict[str, object]) -> None:
    """Raises UsageWrong where an argument that is no path holds bytes that are no text."""
    for name, value in arguments.items():
        # Python hands on such bytes as lone surrogates (PEP 383), which no store and no message can hold.
        if name not in PATHS and isinstance(value, str) and any("\ud800" <= char <= "\udfff" for char in value):
            raise UsageWrong(
                f"{value!a} holds bytes that are no text in this terminal's encoding; right would be UTF-8"
            )


def carries_every_letter() -> bool:
    """Whether standard output can carry any character."""
    return (sys.stdout.encoding or "utf-8").lower().startswith("utf")
