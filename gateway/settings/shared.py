"""Settings ↔ what the gateways of other sites on the same store may know of them: tanks, controllers, supply and use.

No number, no contact, no asking text (it can hold a password), no rule, no PIN: only what it takes to show this site's tanks.
"""

from typing import Any

from pydantic import ValidationError

from gateway.settings.models import Settings

SHARED: dict[str, Any] = {
    "site": True,
    "tanks": True,
    "source": True,
    "demand": True,
    "controllers": {"__all__": {"id", "name", "silence_after", "power"}},
}


def shared(settings: Settings) -> dict[str, Any]:
    """As JSON; what is at its default is left out."""
    return settings.model_dump(mode="json", include=SHARED, exclude_defaults=True)


def of_shared(data: Any) -> Settings | None:
    """The reverse, enough to look and to reckon with; None: another version wrote it, with what this one does not know."""
    try:
        controllers = [{"number": (), **one} for one in data.get("controllers", ())]
        return Settings.model_validate({"modem": {"device": "elsewhere"}, **data, "controllers": controllers})
    except (ValidationError, AttributeError, TypeError):
        return None
