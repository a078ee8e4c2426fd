"""Questions about the tanks of a first configuration: size, floats or gauge, and which feeds which."""

from collections.abc import Sequence
from functools import partial
from typing import get_args

from gateway.commands.conversation import Conversation, NotSo
from gateway.commands.first_configuration import Answers, FirstTank
from gateway.commands.written_answers import (
    read_across,
    read_count,
    read_letter,
    read_level,
    read_litres,
    read_metres,
    read_name,
    read_one_of,
)
from gateway.facts import input_key
from gateway.settings.water_tables import GaugeUnit

READS: tuple[str, ...] = get_args(GaugeUnit)
LONGEST_M = 30.0
"""Of a tank whose height nobody knows."""


def ask_tanks(talk: Conversation, answers: Answers, inputs: Sequence[str], gauges: Sequence[str]) -> None:
    """`inputs`, `gauges`: what the box's texts tell of. Raises TakenBack or Left."""
    many = talk.ask("8. How many tanks have a float or a gauge on that box", read_count, default="1")
    for number in range(1, many + 1):
        default = "House tank" if number == many else ""
        names = [tank.name for tank in answers.tanks]
        name = talk.ask(f"   Tank {number}: its name", partial(_new_name, names=names), default=default)
        answers.tanks.append(_tank(talk, FirstTank(name=name), answers.tanks, inputs, gauges))


def _tank(
    talk: Conversation, tank: FirstTank, before: Sequence[FirstTank], inputs: Sequence[str], gauges: Sequence[str]
) -> FirstTank:
    known = f" ({', '.join(inputs)})" if inputs else " (as its texts say it)"
    tank.shape = _shape(talk)
    height = _height(tank.shape)
    if gauges:
        _ask_gauge(talk, tank, [gauge for gauge in gauges if gauge not in {other.gauge for other in before}], height)
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


def _ask_gauge(talk: Conversation, tank: FirstTank, gauges: Sequence[str], height_m: float | None) -> None:
    """Which gauge reads it, in what, and when it is low."""
    question = f"   Which gauge tells how full it is ({', '.join(gauges)}; Enter: none)"
    tank.gauge = talk.ask(question, partial(read_one_of, names=gauges))
    if tank.gauge:
        words = ", ".join(READS)
        tank.reads = talk.ask(f"   What its number is ({words})", partial(read_one_of, names=READS)) or READS[0]
        height = LONGEST_M if height_m is None else height_m
        tank.gauge_low_m = talk.ask("   Below how many m of water it is low", partial(read_level, height_m=height))


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


def _height(shape: dict[str, object] | None) -> float | None:
    height = shape.get("height_m") if shape is not None else None
    return height if isinstance(height, float) else None
