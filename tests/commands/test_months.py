"""`history --figures`: alarms month by month, as the record has them."""

import json
from datetime import UTC, datetime, timedelta

from gateway.__main__ import main
from gateway.facts import Report
from gateway.handlers.report import take_report
from tests.handlers.days import Days
from tests.household import WREN

NOW, MIN = datetime(2026, 6, 1, 2, 0, tzinfo=UTC), timedelta(minutes=1)


def test_a_month_of_the_record(tmp_path, capsys):
    """One alarm, taken after twenty minutes; a message that left at once and took three minutes; in words and in JSON."""
    days = Days(tmp_path)
    days.comes(NOW, "LINE 1 MADE 0717")
    (first, _) = [number for number, _ in days.leaves(NOW)]
    report = Report(reference=1, number=first, outcome="delivered", status=0, stamp=NOW, discharged=NOW + 3 * MIN)
    days.at(NOW + 3 * MIN, lambda unit: take_report(unit, report))
    days.comes(NOW + 20 * MIN, "OK", number=WREN)
    days.store.close()
    config = ["--config", str(tmp_path / "gateway.toml")]
    assert main(["history", "--figures", "--json", *config]) == 0
    (month,) = json.loads(capsys.readouterr().out)["months"]
    assert (month["month"], month["alarms"], month["urgent"], month["unanswered"]) == ("2026-06", 1, 1, 0)
    assert month["ok_min"] == 20.0 and month["ringing"] == [["low:house", 1]]
    assert month["delivered_min"] == {"wren": 3.0}
    assert main(["history", "--figures", *config]) == 0
    shown = capsys.readouterr().out
    assert "Month by month" in shown and "2026-06" in shown and "20 min" in " ".join(shown.split())
