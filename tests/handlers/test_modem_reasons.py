"""Why nothing could leave is told in the household's own language, whatever English words the modem's line brought."""

from datetime import UTC, datetime
from typing import get_args

import pytest

from gateway.errors import SimReason
from gateway.handlers import gateway_life
from gateway.ports import ModemLost
from gateway.status.event_wording import text_for, told_of
from tests.handlers.days import Days

NOW = datetime(2026, 6, 1, 2, 0, tzinfo=UTC)
LINE = "no answer (+CME ERROR: 10)"
LOST = [
    *(ModemLost(why=LINE, kind=kind) for kind in ("gone", "held", "silent", "refused")),
    *(ModemLost(why=LINE, kind="sim", sim=reason) for reason in get_args(SimReason)),
]


@pytest.mark.parametrize("language", ["en", "de", "es", "uk"])
def test_each_reason_has_its_own_words(tmp_path, language):
    """The words of the line stay on record."""
    texts = set()
    for number, news in enumerate(LOST):
        folder = tmp_path / str(number)
        folder.mkdir()
        days = Days(folder, language=language)
        days.at(NOW, lambda unit, news=news: gateway_life.modem_news(unit, news))
        (event,) = days.events("modem-lost", "sim-trouble")
        with days.store.read() as reader:
            told = told_of(reader, days.site, NOW, event)
        texts.add(text_for(days.site, told, days.site.contacts["wren"], urgent=False))
        days.store.close()
        assert event.detail["why"] == LINE
    assert len(texts) == len(LOST) and not any("CME" in text for text in texts), texts
