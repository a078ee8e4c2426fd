"""What gateways that stand beside each other share: a folder (each under a name of its own) or a store (each shows its site there).

Settings ↔ what the gateways of other sites on the same store may know of them: tanks, controllers, supply and use. No number, no
contact, no asking text (it can hold a password), no rule, no PIN: only what it takes to show this site's tanks.
"""

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from gateway.settings.models import Settings

SHARED_KEYS: Mapping[str, Any] = {
    "site": True,
    "tanks": True,
    "source": True,
    "demand": True,
    "controllers": {"__all__": {"id", "name", "silence_after", "power"}},
}
"""As pydantic's `include` takes them."""


def shared_settings(settings: Settings) -> str:
    """The part of the settings that other sites may know, as JSON; what is at its default is left out."""
    return settings.model_dump_json(include=dict(SHARED_KEYS), exclude_defaults=True)


def settings_from_shared(configuration: str) -> Settings | None:
    """JSON that another site's gateway shared → settings, enough to show its tanks and to reckon with.

    None: another version wrote it, with what this one does not know.
    """
    try:
        shared = json.loads(configuration)
        controllers = [{"number": (), **controller} for controller in shared.get("controllers", ())]
        return Settings.model_validate({"modem": {"device": "elsewhere"}, **shared, "controllers": controllers})
    except (ValueError, AttributeError, TypeError):
        return None


def gateway_file_name(store_url: str, site: str) -> str:
    """A gateway's store and site → the name of its own files in a folder that several gateways share.

    `tank-gateway-0123456789abcdef`: the same for whoever asks on this board, and no path or password in it.
    """
    return f"tank-gateway-{hashlib.sha256(f'{store_url} {site}'.encode()).hexdigest()[:16]}"
