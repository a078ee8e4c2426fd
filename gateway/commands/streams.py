"""Standard input and output → streams that take and give any text, whatever the terminal's encoding; a closed one is as an empty one."""

import os
import sys
from io import TextIOWrapper
from pathlib import Path
from typing import TextIO, cast

from gateway.errors import GatewayError, UsageWrong

UTF_16_MARKS = (b"\xff\xfe", b"\xfe\xff")
PATHS = frozenset({"config", "file", "folder"})


def make_ready() -> None:
    """What the terminal has no letter for is shown as an escape; bytes that are no text are read as a replacement character."""
    sys.stdin = sys.stdin or _nowhere("r")
    sys.stdout = sys.stdout or _nowhere("w")
    sys.stderr = sys.stderr or _nowhere("w")
    for stream, errors in ((sys.stdin, "replace"), (sys.stdout, "backslashreplace")):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors=errors)


def _nowhere(mode: str) -> TextIO:
    return cast(TextIO, Path(os.devnull).open(mode, encoding="utf-8"))


def contents(file: str) -> str:
    """A file a person made, `-` for standard input: UTF-8 or UTF-16, else letters of one byte each. Raises GatewayError."""
    try:
        raw = _standard_input() if file == "-" else Path(file).read_bytes()
    except OSError as wrong:
        raise GatewayError(f"{file} cannot be read: {wrong.strerror}") from None
    try:
        text = raw.decode("utf-16" if raw.startswith(UTF_16_MARKS) else "utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _standard_input() -> bytes:
    return sys.stdin.buffer.read() if isinstance(sys.stdin, TextIOWrapper) else sys.stdin.read().encode()


def give_up_output() -> None:
    """Nothing more goes to a standard output that takes nothing: else the interpreter complains of it as it ends."""
    if isinstance(sys.stdout, TextIOWrapper):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)


def words_only(arguments: dict[str, object]) -> None:
    """Raises UsageWrong where an argument that is no path holds bytes that are no text."""
    for name, said in arguments.items():
        if name not in PATHS and isinstance(said, str) and any("\ud800" <= char <= "\udfff" for char in said):
            raise UsageWrong(f"{said!a} holds bytes that are no text in this terminal's encoding; right would be UTF-8")


def takes_every_letter() -> bool:
    """Whether standard output can carry any character."""
    return (sys.stdout.encoding or "utf-8").lower().startswith("utf")
