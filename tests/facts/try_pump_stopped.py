"""Run in a program that has the kind `pump-stopped` (`test_recipes.py`): it happens, and is told to who looks after controllers."""

import json
import sys
from datetime import UTC, datetime
from pathlib import Path

from gateway.facts import KINDS, Event
from gateway.handlers.event_followers import record_event
from tests.facts.kinds_complete import lacks
from tests.facts.try_pressure import printed
from tests.handlers.days import Days
from tests.household import WREN, at_home

NOW = datetime.now(UTC)
HEARERS = {"wren": 'about = ["controllers"]', "robin": 'about = ["tanks", "gateway"]'}


def run(folder: Path) -> None:
    """The entry is whole; one event, one message to the one contact of its subject, a line in the record and on the page."""
    assert list(lacks(KINDS["pump-stopped"])) == []
    days = Days(folder, **HEARERS)
    event = Event(kind="pump-stopped", at=NOW, heard_at=NOW, known_at=NOW, controller="ridge")
    days.at(NOW, lambda unit: record_event(unit, event))
    days.store.close()
    with at_home(folder, **HEARERS) as home:
        ((number, text),) = home.sent(1)
        assert number == WREN and text.startswith("Ridge box: pump stopped "), (number, text)
        home.until(lambda: {text.state for text in home.texts("out")} == {"delivered"}, "its delivery report")
        assert len(home.texts("out")) == 1
    config = ("--config", str(folder / "gateway.toml"))
    kinds = [event["kind"] for event in json.loads(printed("history", "--json", *config))["events"]]
    assert kinds.count("pump-stopped") == 1
    page = folder / "page.html"
    printed("page", str(page), *config)
    assert "Ridge box: its pump stopped." in page.read_text("utf-8")


if __name__ == "__main__":
    run(Path(sys.argv[1]))
