"""The record → what is published by MQTT: a topic for each tank, controller and alarm that stands, one for the gateway, one for events.

Below the household's own topic (`tanks`, if it has no other):

    tanks/gateway            retained   at work, ended in order, or lost (said by the broker)
    tanks/tank/<id>          retained   as `tanks --json`
    tanks/controller/<id>    retained   as `tanks --json`
    tanks/alarm/<number>     retained   as `alarms --json`, without who was told; gone once it is over
    tanks/event                         each event, in the order of storing; `id` tells a repeat

No number, no raw text and no word of a person leaves this way: a broker is read by whatever else is in the house.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Literal

from gateway import __version__
from gateway.facts import Event
from gateway.facts.harmless import harmless
from gateway.facts.iso_time import iso_time
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.alarm_document import alarm_document
from gateway.status.alarms_listed import alarms_listed
from gateway.status.dry_taps import taps_dry
from gateway.status.event_document import event_document
from gateway.status.event_sentence import event_sentence
from gateway.status.site_standing import site_standing
from gateway.status.tank_documents import controller_document, tank_document

GatewayState = Literal["at-work", "ended", "lost"]
PEOPLES = ("text", "sender")


@dataclass(frozen=True, slots=True, kw_only=True)
class Publication:
    """One message for the broker. `retain`: it keeps it for who comes later; empty: it forgets it. `event`: the id of the event it is."""

    topic: str
    payload: bytes
    retain: bool = True
    event: int | None = None


def gateway_publication(site: Site, state: GatewayState, since: datetime | None) -> Publication:
    """Birth, farewell and last will; `since` None: only who connects last knows."""
    document = {
        "state": state,
        "since": iso_time(since, site.zone),
        "site": site.settings.site.name,
        "version": __version__,
    }
    return Publication(topic=f"{site.settings.mqtt.topic}/gateway", payload=_encoded(document))


def event_publication(site: Site, event: Event) -> Publication:
    """One event: its figures, and a sentence without what a person or a box wrote."""
    document = {key: value for key, value in event_document(event, site).items() if key not in PEOPLES}
    document["detail"] = {key: value for key, value in event.detail.items() if isinstance(value, int | float)}
    document["says"] = event_sentence(site, replace(event, text=None))
    topic = f"{site.settings.mqtt.topic}/event"
    return Publication(topic=topic, payload=_encoded(document), retain=False, event=event.id)


def state_publications(reader: Reader, site: Site, now: datetime) -> Mapping[str, Publication]:
    """What is retained of the site as it stands, by its topic."""
    top, standing, dry = site.settings.mqtt.topic, site_standing(reader, site, now), taps_dry(reader)
    documents: dict[str, dict[str, Any]] = {}
    for tank in standing.snapshot.tanks:
        documents[f"{top}/tank/{tank.tank.id}"] = tank_document(standing, tank)
    for box in standing.snapshot.controllers:
        documents[f"{top}/controller/{box.controller.id}"] = controller_document(site, box)
    for listed in alarms_listed(reader, site, now):
        document = alarm_document(site, listed, dry)
        del document["told"]  # it changes with each report of a delivery, which nobody but the household needs
        documents[f"{top}/alarm/{listed.alarm.number}"] = document
    return {topic: Publication(topic=topic, payload=_encoded(document)) for topic, document in documents.items()}


def forgotten(topic: str) -> Publication:
    """What makes a broker forget what it retains there (MQTT 3.1.1, 3.3.1.3)."""
    return Publication(topic=topic, payload=b"")


def _encoded(document: Mapping[str, Any]) -> bytes:
    return json.dumps(_harmless(document), ensure_ascii=False, separators=(",", ":")).encode()


def _harmless(value: Any) -> Any:
    if isinstance(value, str):
        return harmless(value, lines=True)
    if isinstance(value, Mapping):
        return {key: _harmless(item) for key, item in value.items()}
    return [_harmless(item) for item in value] if isinstance(value, list | tuple) else value
