"""What every table of the file has in common, and the values that stand in several of them: durations, an alarm's priority."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, PlainSerializer, ValidationInfo, field_validator

from gateway.settings.durations import duration_or_off, format_setting, parse_duration, silence_limit

LARGEST_FIGURE = 1e9
"""No figure of a household is larger; beyond it what is reckoned from several would have no end."""
NAME_OF_DIGITS = "input"
"""The key whose number is a name, not a figure."""


class Table(BaseModel):
    """Any table of the file."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=False, defer_build=True, allow_inf_nan=False)

    @field_validator("*")
    @classmethod
    def _refuse_endless_figures(cls, value: Any, info: ValidationInfo) -> Any:
        if info.field_name != NAME_OF_DIGITS and any(abs(figure) > LARGEST_FIGURE for figure in _figures_in(value)):
            raise ValueError(f"expected a figure of at most {LARGEST_FIGURE:,.0f}")
        return value


def _figures_in(value: object) -> Iterator[float]:
    if isinstance(value, int | float):
        yield value
    elif isinstance(value, tuple):
        for item in value:
            yield from _figures_in(item)


_AsWritten = PlainSerializer(format_setting, return_type=str, when_used="json")
Duration = Annotated[timedelta, BeforeValidator(parse_duration), _AsWritten]
OptionalDuration = Annotated[timedelta | None, BeforeValidator(duration_or_off), _AsWritten]
"""`""` and `"off"` are None."""
SilenceLimit = Annotated[timedelta | Literal["auto"] | None, BeforeValidator(silence_limit), _AsWritten]

AlarmPriority = Literal["", "urgent", "soon", "record"]
"""How urgent an alarm is; `""`: as its kind has it."""
