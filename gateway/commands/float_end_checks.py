"""The floats against the rules of their controllers → notes on those whose alarm can never be heard to begin, or to be over."""

from collections.abc import Collection, Iterator

from gateway.errors import Problem
from gateway.facts import FloatState
from gateway.rules.unreachable import states_told_of
from gateway.settings.models import Settings
from gateway.settings.problem_locator import ProblemLocator
from gateway.settings.water_tables import Float, Tank


def end_checks(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Floats of which no rule can say that they are idle (their alarm's end is never heard), or that they are active (it never begins)."""
    rules = {controller.id: controller.rules for controller in settings.controllers if controller.rules}
    for index, tank in enumerate(settings.tanks):
        for place, switch in enumerate(tank.floats):
            told = states_told_of(rules.get(switch.controller, ()), switch.input)
            flaw = (
                _end_flaw(tank, switch, told) if told else None
            )  # of an input that no rule tells of, `reach_checks` says so
            if flaw is not None:
                key, wrong, right = flaw
                found = str(switch.input) if key == "input" else switch.over
                yield locator.note(("tanks", index, "floats", place, key), found=found, wrong=wrong, right=right)


def _end_flaw(tank: Tank, switch: Float, told: Collection[FloatState]) -> tuple[str, str, str] | None:
    """(key, what is wrong, what would be right)."""
    never = f"no rule of {switch.controller!r} can say that input {switch.input} is"
    if "active" not in told:
        return (
            "input",
            f"{never} active: nobody would ever be told that {tank.name!r} is {switch.means}",
            "a rule for it",
        )
    if "idle" in told or switch.over in ("said", "reckoned"):
        return None
    if switch.over == "heard":
        wrong = f"{never} idle: this alarm would stand until somebody texts OVER {tank.id}"
        return "over", wrong, 'a rule for it, or over = "reckoned"'
    wrong = f"{never} idle: the end of its alarm is reckoned by refill time, and told as that"
    return "input", wrong, 'a rule for it if the box says so; else over = "reckoned", or over = "said"'
