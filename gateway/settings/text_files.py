"""Texts that may stand in files of their own, since they can hold a box's password: a controller's asking text, an errand's text.

Settings whose texts are file names → settings with what stands in the files. Raises ConfigurationWrong with every file that says nothing.
"""

from collections.abc import Sequence
from pathlib import Path

from gateway.errors import ConfigurationWrong, Problem, why_unreadable
from gateway.settings.controller_tables import Ask, Controller, Errand
from gateway.settings.key_lines import KeyPath
from gateway.settings.models import Settings
from gateway.settings.problem_locator import ProblemLocator


def with_texts_of_files(settings: Settings, locator: ProblemLocator) -> Settings:
    """The settings with each `text_file` read into its `text`."""
    problems: list[Problem] = []
    controllers = [
        _controller_with_texts(controller, ("controllers", index), locator, problems)
        for index, controller in enumerate(settings.controllers)
    ]
    if problems:
        raise ConfigurationWrong(tuple(problems))
    return settings.model_copy(update={"controllers": tuple(controllers)})


def _controller_with_texts(
    controller: Controller, here: KeyPath, locator: ProblemLocator, problems: list[Problem]
) -> Controller:
    ask = controller.ask
    if ask.text_file:
        ask = ask.model_copy(update={"text": _text_of(ask, (*here, "ask"), locator, problems)})
    errands = tuple(
        errand.model_copy(update={"text": _text_of(errand, (*here, "errands", place), locator, problems)})
        if errand.text_file
        else errand
        for place, errand in enumerate(controller.errands)
    )
    return controller.model_copy(update={"ask": ask, "errands": errands})


def _text_of(table: Ask | Errand, here: KeyPath, locator: ProblemLocator, problems: list[Problem]) -> str:
    text, wrong = _read_text(table)
    if wrong:
        right = "a text file that the gateway can read, with the text and nothing else"
        problems.append(locator.problem((*here, "text_file"), found=table.text_file, wrong=wrong, right=right))
    return text


def _read_text(table: Ask | Errand) -> Sequence[str]:
    """(what stands in the file, what is wrong with it); one of them is empty."""
    if table.text:
        return "", "there are both text and text_file"
    try:
        text = Path(table.text_file).read_text("utf-8").strip()
    except (OSError, UnicodeDecodeError) as error:
        return "", f"cannot be read: {why_unreadable(error)}"
    return text, "" if text else "is empty"
