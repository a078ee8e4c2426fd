"""The taps ran dry → which step of letting the air out is next, in words; from the first report until somebody says that the water is safe.

The order is common practice: no air is drawn in by closing the house valve, water comes back slowly so that no pipe hammers, and air leaves
at the lowest tap first. Whether the water may be drunk is for the local authority to say, and stands in the last step.
"""

from dataclasses import dataclass
from typing import Literal

from gateway.facts.states import TapsDry
from gateway.phrases.phrasebook import Line
from gateway.ports import Reader
from gateway.site import Site

StepKey = Literal["close-valve", "fill-slowly", "tap", "taps", "until-safe"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BleedStep:
    """What is done then; `tap`: where, if the household named its taps."""

    key: StepKey
    tap: str | None = None


def bleed_steps(site: Site) -> tuple[BleedStep, ...]:
    """Every step, in order: the valve, the filling, each tap from the lowest up, and what ends it."""
    taps = tuple(BleedStep(key="tap", tap=tap) for tap in site.settings.bleed.taps) or (BleedStep(key="taps"),)
    return (BleedStep(key="close-valve"), BleedStep(key="fill-slowly"), *taps, BleedStep(key="until-safe"))


def taps_dry(reader: Reader) -> TapsDry | None:
    """Since when the taps are dry by somebody's word, and how far the air is out; None: nobody said so, or it is over."""
    return reader.state(TapsDry)


def step_reached(site: Site, dry: TapsDry) -> int:
    """The step that is to be done now, from 0; the taps of the configuration may have become fewer."""
    return min(dry.step, len(bleed_steps(site)) - 1)


def step_said(site: Site, number: int, line: Line = "mobile") -> str:
    """`2 of 5: Open the laundry tap …`"""
    steps = bleed_steps(site)
    what = site.phrases.sentence("bleed", steps[number].key) or ""
    values = {"number": number + 1, "count": len(steps), "what": what.format(tap=steps[number].tap)}
    return site.phrases.label("step", line=line).format(**values)
