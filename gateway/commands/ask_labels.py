"""At a terminal: each group of texts of one shape is shown once and asked about. Nothing is guessed; Enter means that nobody knows."""

from collections.abc import Callable, Sequence

from gateway.facts import FloatState, input_key
from gateway.facts.harmless import harmless
from gateway.suggest.bare_groups import Group, with_label
from gateway.suggest.samples import Label, Sample
from gateway.suggest.trouble_words import words_of_trouble

CHOICES: dict[str, Label] = {
    "a": Label("alive"),
    "p": Label("power-lost"),
    "b": Label("power-back"),
    "r": Label("reading"),
    "i": Label("ignore"),
}
QUESTION = """  f  a float          a  a sign of life      r  only a number
  p  power is lost    b  power is back       i  of no use
  g  how full a tank is (a gauge)
Enter: I don't know (then such texts are passed on word for word)"""
STATES: dict[str, FloatState] = {"l": "active", "w": "idle"}
Ask = Callable[[str], str]


def ask_labels(groups: Sequence[Group], ask: Ask = input) -> list[Sample]:
    """The groups' texts with the labels that were given; an end of input leaves the others unlabelled."""
    samples: list[Sample] = []
    print(f"{len(groups)} shapes of text have no label. What does each mean?")
    try:
        for place, group in enumerate(groups, start=1):
            like_it = f"   ({len(group.texts)} of this shape)" if len(group.texts) > 1 else ""
            print(f"\n{place} of {len(groups)}:  {harmless(group.example)}{like_it}\n{QUESTION}")
            samples += with_label(group, _label(group, ask))
    except (EOFError, KeyboardInterrupt):
        print("\nThe others stay without a label.")
    answered = {sample.text for sample in samples}
    return samples + [Sample(text, asked=True) for group in groups for text in group.texts if text not in answered]


def _label(group: Group, ask: Ask) -> Label | None:
    while True:
        answer = ask("> ").strip().casefold()[:1]
        if not answer:
            return None
        label = _float(group, ask) if answer == "f" else _gauge(ask) if answer == "g" else CHOICES.get(answer)
        if label is None:
            print("One of the letters, or Enter.")
        elif label.means not in ("alive", "ignore") or _is_sure(group, ask):
            return label


def _float(group: Group, ask: Ask) -> Label:
    which = ""
    while not which:
        which = ask("Which float? Its number or name, as it stands in the text: ").strip()
        if which and which.casefold() not in group.example.casefold():
            answer = ask(f"{harmless(which)} does not stand in that text. Is it meant all the same? y/n: ")
            which = which if answer.strip().casefold().startswith("y") else ""
    state = None
    while state is None:
        state = STATES.get(ask("Is it low (or too full) then, or well again? l/w: ").strip().casefold()[:1])
    return Label("input", input_key(which), state)


def _gauge(ask: Ask) -> Label:
    which = ask("Which gauge? Its number or name, as it stands in the text (Enter: there is only one): ").strip()
    return Label("level", input_key(which or "1"))


def _is_sure(group: Group, ask: Ask) -> bool:
    """A text with a word of trouble in it is asked about twice: nobody would be told of it."""
    words = words_of_trouble(group.example)
    if not words:
        return True
    answer = ask(f"It says {', '.join(map(harmless, words))}. Truly nothing that anybody must be told? y/n: ")
    return answer.strip().casefold().startswith("y")
