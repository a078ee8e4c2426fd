"""The words of people on the phone's whole path: real pty, AT dialogue, SQLite, the daemon; a text in, texts out."""

import re
from datetime import UTC, datetime, timedelta

from tests.household import RIDGE, ROBIN, STRANGER, WREN, at_home


def test_watch_away_and_adopt(tmp_path):
    """One household's day: who is called first, nobody there, a box from a new number; wrong, doubled and forged words beside them."""
    # noon where the household is, whenever this runs: who is not on watch is told by day
    noon = f"Etc/GMT{datetime.now(UTC).hour - 12:+d}"
    with at_home(tmp_path, rest="[limits]\nburst = 50\na_day_each = 50\n", timezone=noon) as home:

        def says(number, text, count, *, ahead_s=0):
            """The messages that follow."""
            before = len(home.modem.network.outgoing)
            # stamps have whole seconds, and all of this happens within one or two
            home.modem.network.deliver(number, text, stamp=datetime.now(UTC) + timedelta(seconds=ahead_s))
            return home.sent(before + count)[before:]

        home.modem.network.deliver(STRANGER, "WATCH robin")
        asked = says(WREN, "WATCH robin until sunday 18:00", 2)
        assert {number for number, _ in asked} == {WREN, ROBIN} and "Will you have the watch? Wren asks." in asked[1][1]
        given = says(ROBIN, "OK", 2)
        assert {(number, text.split(".")[0]) for number, text in given} == {
            (ROBIN, "You have the watch and are called first"),
            (WREN, "Robin has the watch"),
        }
        assert "Send WATCH" in says(WREN, "WATCH heron until sunday", 1)[0][1]
        assert [number for number, _ in says(WREN, "AWAY until sunday 18:00", 2)] == [WREN, ROBIN]
        assert [number for number, _ in says(WREN, "AWAY  until sunday 18:00", 1)] == [WREN]
        code = re.search(r"ADOPT (\d{4})", says(STRANGER, "LINE 1 MADE 0717", 1, ahead_s=20)[0][1])[1]
        assert home.events("low") == []
        assert "No such code now" in says(WREN, f"ADOPT {(int(code) + 1) % 10000:04d}", 1)[0][1]
        home.modem.network.deliver(WREN, f"ADOPT {code}")
        home.came("low")
        home.came("draw-while-away")
        home.modem.network.deliver(STRANGER, "LINE 1 BROKE 1120", stamp=datetime.now(UTC) + timedelta(seconds=40))
        home.came("low-over")
        home.modem.network.deliver(WREN, "back")
        home.came("draw-over")
        home.modem.network.deliver(RIDGE, "STATION WELL 1")
        home.came("alive")
        assert {text.state for text in home.texts("in") if text.number == STRANGER} == {"stranger", "read"}
