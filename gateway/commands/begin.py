"""`begin`: a first configuration by ten questions at the terminal; each answer is checked at once, and what was answered stays if it is
interrupted."""

import argparse
import os
import sys
from collections.abc import Sequence
from functools import partial
from pathlib import Path

from gateway.commands.ask_labels import ask_labels
from gateway.commands.conversation import UNDO, Conversation, Left, NotSo, TakenBack
from gateway.commands.first_configuration import Answers, FirstPerson, FirstTank, first_configuration
from gateway.commands.standard_streams import text_of_file
from gateway.commands.trap_checks import CHECKS
from gateway.commands.written_answers import (
    likely_timezone,
    read_across,
    read_count,
    read_count_of_people,
    read_country,
    read_language,
    read_letter,
    read_level,
    read_litres,
    read_metres,
    read_name,
    read_number,
    read_one_of,
    read_timezone,
    zones_of,
)
from gateway.errors import ConfigurationWrong, GatewayError, ModemTrouble, UsageWrong
from gateway.facts import input_key
from gateway.modem.likely_device import likely_device
from gateway.phone_numbers import line_kind, to_e164
from gateway.phrases import languages
from gateway.settings.load import load_text
from gateway.settings.problem_locator import problem_line
from gateway.suggest.samples import SampleFile, read_samples
from gateway.suggest.suggest_rules import Suggestion, suggest_from

INSTALLED_STORE = "sqlite:////var/lib/tank-gateway/gateway.db"
BAUD = 115200
IN_THE_MODEM = "modem"
NOT_YET = ".begun"
"""What is put behind the configuration's name for the answers given so far."""


def run(arguments: argparse.Namespace) -> int:
    """Asks, writes the file, and says what to do next."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise UsageWrong(
            "asks at a terminal; right would be to run it there, or to edit a copy of config/one-tank.toml"
        )
    file = Path(arguments.config)
    if file.exists() or file.is_symlink():
        raise GatewayError(
            f"{file} is there already and is left as it is; right would be another name: begin --config my.toml"
        )
    if not file.parent.is_dir() or not os.access(file.parent, os.W_OK):
        raise GatewayError(f"{file} cannot be written; right would be sudo, or another name: begin --config my.toml")
    talk = Conversation(file.with_name(file.name + NOT_YET))
    try:
        text = _text_that_holds(talk, file)
    except (Left, KeyboardInterrupt):
        print(f"\nNothing is written yet. The same command goes on here:\n  tank-gateway begin --config {file}")
        return 1
    descriptor = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW, 0o640)
    with os.fdopen(descriptor, "w", encoding="utf-8") as made:
        made.write(text)
    talk.done()
    print(f"\n{file} is written and holds.")
    for note in load_text(text, str(file), CHECKS).warnings:
        print(f"  {problem_line(note)}")
    print(_next_steps(file))
    return 0


def _text_that_holds(talk: Conversation, file: Path) -> str:
    """Asked again from the last answer where that is taken back, and from the tanks on where the whole does not hold."""
    while True:
        try:
            text = configuration_by_questions(talk, _store_for(file))
            load_text(text, str(file), CHECKS)
            return text
        except TakenBack:
            print("\nThe last answer is taken back.\n")
        except ConfigurationWrong as mistakes:
            print("\nThis cannot be so; please answer again from question 8 on:")
            for problem in mistakes.problems:
                print(f"  {problem.key}: {problem.wrong}; {problem.right}")
            print()
            talk.begin_anew_at_mark()


def configuration_by_questions(talk: Conversation, store_url: str) -> str:
    """The text of the file."""
    answers = Answers()
    print(f"A few questions; Enter takes what stands in brackets, {UNDO} takes the last answer back.")
    print("Ctrl-C stops; the same command goes on.\n")
    answers.place = talk.ask("1. What is the place called", read_name)
    answers.country = talk.ask("2. In which country is it (two letters, such as AU)", read_country)
    answers.timezone = talk.ask(
        "3. Its time zone, or its city",
        partial(read_timezone, zones=zones_of(answers.country)),
        default=likely_timezone(answers.country),
    )
    answers.language = talk.ask(f"4. Language of the messages ({', '.join(languages())})", read_language, default="en")
    answers.device = talk.ask("5. The modem's device (or: simulated)", read_name, default=likely_device())
    answers.box = talk.ask("6. What do you call the box that texts", read_name, default="Pump box")
    answers.box_number = talk.ask("   Its number, as you dial it", partial(read_number, country=answers.country))
    suggestion = _samples(talk, answers)
    # without its first line, which says where to paste them
    answers.rules = suggestion.toml.partition("\n")[2] if suggestion is not None and suggestion.rules else ""
    talk.mark()
    _tanks(talk, answers, _inputs(suggestion))
    _people(talk, answers)
    answers.drinkers = talk.ask("10. How many people draw water", read_count, default="2")
    return first_configuration(answers, store_url)


def _samples(talk: Conversation, answers: Answers) -> Suggestion | None:
    """The rules made of a file of texts; what has no label is asked about here."""
    print(
        "7. Texts of the box that you have: a file with one a line, a chat copied from your phone, or what the modem has kept."
    )
    read = partial(_sample_file, answers=answers)
    sample_file = talk.ask(f"   The file's name, or: {IN_THE_MODEM} (Enter: none yet)", read)
    if sample_file is None or not sample_file.samples:
        return None
    suggestion = suggest_from(sample_file)
    if suggestion.groups:
        talk.now_about("\n".join(sample.text for sample in sample_file.samples))
        labels = {
            sample.text: sample
            for sample in ask_labels(suggestion.groups, lambda question: talk.ask(question, str, end=""))
        }
        samples = tuple(labels.get(sample.text, sample) for sample in sample_file.samples)
        suggestion = suggest_from(SampleFile(samples=samples, odd=sample_file.odd, opening=sample_file.opening))
    many = len(suggestion.rules)
    print(f"   {many} {'rule reads' if many == 1 else 'rules read'} them.\n")
    return suggestion


def _inputs(suggestion: Suggestion | None) -> list[str]:
    """The inputs that the labelled texts tell of, as their labels name them."""
    if suggestion is None:
        return []
    return sorted({sample.label.input for sample in suggestion.samples if sample.label and sample.label.input})


def _tanks(talk: Conversation, answers: Answers, inputs: Sequence[str]) -> None:
    many = talk.ask("8. How many tanks have a float on that box", read_count, default="1")
    for number in range(1, many + 1):
        default = "House tank" if number == many else ""
        names = [tank.name for tank in answers.tanks]
        name = talk.ask(f"   Tank {number}: its name", partial(_new_name, names=names), default=default)
        answers.tanks.append(_tank(talk, FirstTank(name=name), answers.tanks, inputs))


def _tank(talk: Conversation, tank: FirstTank, before: Sequence[FirstTank], inputs: Sequence[str]) -> FirstTank:
    known = f" ({', '.join(inputs)})" if inputs else " (as its texts say it)"
    tank.shape = _shape(talk)
    height = _height(tank.shape)
    level = "   Water above the outlet when it switches, in m"
    free = partial(_free_input, tanks=[*before, tank])
    tank.low_input = talk.ask(f"   Which input is its LOW float{known} (Enter: none)", free)
    _say_if_unknown(tank.low_input, inputs)
    if tank.low_input and height:
        tank.low_m = talk.ask(level, partial(read_level, height_m=height))
    tank.high_input = talk.ask("   Which input is its HIGH float (Enter: none)", free)
    _say_if_unknown(tank.high_input, inputs)
    if tank.high_input and height:
        tank.high_m = talk.ask(level, partial(read_level, height_m=height, above_m=tank.low_m or 0))
    names = [other.name for other in before]
    if names:
        question = f"   Which tank feeds it ({', '.join(names)}; Enter: none)"
        tank.fed_by = talk.ask(question, partial(read_one_of, names=names))
    return tank


def _new_name(said: str, names: Sequence[str]) -> str:
    name = read_name(said)
    for other in names:
        if name.casefold() == other.casefold():
            raise NotSo(f"there is {other} already: another name")
    return name


def _free_input(said: str, tanks: Sequence[FirstTank]) -> str:
    """As the rules read it; no other float's."""
    wanted = input_key(said)
    for tank in tanks:
        for means, taken in (("LOW", tank.low_input), ("HIGH", tank.high_input)):
            if wanted and wanted == taken:
                raise NotSo(f"{said} is the {means} float of {tank.name} already")
    return wanted


def _say_if_unknown(wanted: str, inputs: Sequence[str]) -> None:
    if wanted and inputs and wanted not in inputs:
        print(f"  (none of the texts above tells of {wanted}: until a rule reads one that does, nobody hears of it)")


def _shape(talk: Conversation) -> dict[str, object] | None:
    """Litres, a tape measure, or nobody knows."""
    print(
        "   Its size: l litres are known, r round and upright, b a box, n nobody knows (then no hours can be reckoned)"
    )
    kind = talk.ask("   l, r, b or n", partial(read_letter, letters="lrbn"))
    if kind == "n":
        return None
    if kind == "l":
        litres = talk.ask("   Litres", read_litres)
        return {
            "kind": "litres",
            "litres": litres,
            "height_m": talk.ask("   Height of the water when full, in m", read_metres),
        }
    if kind == "r":
        across = talk.ask("   Across (1.8), or around with a tape (around 5.65), in m", read_across)
        return {"kind": "upright-cylinder", "diameter_m": across, "height_m": talk.ask("   Height, in m", read_metres)}
    sides = {
        f"{side}_m": talk.ask(f"   {side.capitalize()}, in m", read_metres) for side in ("length", "width", "height")
    }
    return {"kind": "box", **sides}


def _people(talk: Conversation, answers: Answers) -> None:
    many = talk.ask("9. How many people are to be told", read_count_of_people, default="1")
    for place in range(1, many + 1):
        first = " (told first)" if place == 1 else ""
        name = talk.ask(f"   Person {place}{first}: name", read_name)
        number = talk.ask("   Number, as you dial it", partial(_new_number, answers=answers))
        answers.people.append(FirstPerson(name=name, number=number, landline=line_kind(number) == "landline"))


def _new_number(said: str, answers: Answers) -> str:
    """Nobody else's, and not the box's."""
    number = read_number(said, answers.country)
    whose = {answers.box_number: answers.box} | {person.number: person.name for person in answers.people}
    if number in whose:
        raise NotSo(f"that is the number of {whose[number]}")
    return number


def _height(shape: dict[str, object] | None) -> float | None:
    height = shape.get("height_m") if shape is not None else None
    return height if isinstance(height, float) else None


def _sample_file(said: str, *, answers: Answers) -> SampleFile | None:
    if not said:
        return None
    if said.casefold() == IN_THE_MODEM and not Path(said).exists():
        return _texts_in_modem(answers)
    try:
        return read_samples(text_of_file(said).splitlines())
    except GatewayError as error:
        raise NotSo(str(error)) from None


def _texts_in_modem(answers: Answers) -> SampleFile:
    """What the box has sent and nobody has deleted; it stays where it is."""
    # only where it is asked for: the dialogue with the modem, which the other questions do without
    from gateway.modem.one_look import stored_texts

    try:
        kept = stored_texts(answers.device, BAUD)
    except ModemTrouble as trouble:
        raise NotSo(f"the modem cannot be read: {trouble.said}; Enter goes on without") from None
    texts = [text.text for text in kept if to_e164(text.sender, answers.country) == answers.box_number]
    if not texts:
        others = f", only {len(kept)} of others" if kept else ""
        raise NotSo(
            f"the modem keeps no text of {answers.box}{others}; let the box send some, or Enter goes on without"
        )
    return read_samples(texts)


def _store_for(file: Path) -> str:
    """Where the installation keeps it; beside a trial's own file else."""
    return INSTALLED_STORE if str(file).startswith("/etc/") else f"sqlite:///{file.parent.resolve()}/gateway.db"


def _next_steps(file: Path) -> str:
    given = "" if str(file) == "/etc/tank-gateway/gateway.toml" else f" --config {file}"
    return f"""Next:
  tank-gateway explain "a text of the box"{given}    how it would be read, and who would be told what
  tank-gateway serve{given}                          (installed: sudo systemctl restart tank-gateway)
  tank-gateway doctor{given}                         what is right and what is not"""
