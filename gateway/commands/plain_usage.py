"""A mistyped command line → one or two lines that say what is wrong and what would be right, and exit code 2."""

import argparse
import sys
from collections.abc import Iterable, Sequence
from typing import NoReturn, TypeAlias

from gateway.commands.command_words import WORDS, described

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"
TAKE_A_TEXT = frozenset({"explain", "note", "simulate"})
"""Commands whose text is most likely given without quotes."""

BEFORE_A_COMMAND = ("-h", "--help", "--version")


class PlainParser(argparse.ArgumentParser):
    """A parser whose mistakes are told in a line, with an example of what would be right."""

    example = "tank-gateway help"

    def error(self, message: str) -> NoReturn:
        """Instead of all options there are."""
        right = "" if message.endswith("?") else f"; right would be: {self.example}"
        self.exit(2, f"{self.prog}: {message}{right}\n")


def describe_commands(commands: Commands) -> None:
    """Gives each command's help its sentence, its example, what it reads and what it writes."""
    for name, command in commands.choices.items():
        words = WORDS.get(name)
        if words is not None and isinstance(command, PlainParser):
            command.formatter_class = argparse.RawDescriptionHelpFormatter
            command.description, command.epilog, command.example = words.does, described(words), words.example


def parse_plainly(top: PlainParser, commands: Commands, argv: Sequence[str] | None) -> argparse.Namespace:
    """The arguments; ends the program with 2 where they cannot be meant."""
    words = list(sys.argv[1:] if argv is None else argv)
    if words and words[0].startswith("-") and not any(known.startswith(words[0]) for known in BEFORE_A_COMMAND):
        top.error(f"there is no option {words[0]!a} before the command{_guess(words[0], BEFORE_A_COMMAND)}")
    name = next((word for word in words if not word.startswith("-")), None)
    if name is not None and name not in commands.choices:
        top.error(f"there is no command {name!a}{_guess(name, commands.choices)}")
    arguments, extra = top.parse_known_args(words)
    if extra:
        _refuse(commands.choices[arguments.command], arguments, extra)
    return arguments


def _refuse(command: argparse.ArgumentParser, arguments: argparse.Namespace, extra: Sequence[str]) -> NoReturn:
    """What is left over: an option that there is not, or words too many."""
    unknown = next((word for word in extra if word.startswith("-")), None)
    if unknown is not None:
        # argparse keeps its options nowhere else
        options = [option for action in command._actions for option in action.option_strings]
        command.error(f"there is no option {unknown!a}{_guess(unknown.partition('=')[0], options)}")
    if arguments.command in TAKE_A_TEXT:
        command.error(f"put the text in quotes, and a number with spaces in it: {extra[0]!a} is a word too many")
    command.error(f"{extra[0]!a} is a word too many")


def _guess(word: str, known: Iterable[str]) -> str:
    # Imported here: 30 ms and 4 MB for a slip of the keys, which every other start does without.
    from gateway.settings.problem_locator import nearest_word

    meant = nearest_word(word, known)
    return f'; did you mean "{meant}"?' if meant else ""
