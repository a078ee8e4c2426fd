"""Controllers are asked before they count as silent; power and battery are told once an episode; restarts repeat nothing."""

from tests.household import RIDGE, WREN, at_home


def test_a_controller_is_asked_before_it_counts_as_silent(tmp_path):
    """Its owner's own words go to its own number; the answer is read like any text and there is no silence."""
    controller = 'silence_after = "30s"\nask = { text = "REPORT 4711", before_silence = "28s" }'
    with at_home(tmp_path, controller=controller) as home:
        home.modem.network.deliver(RIDGE, "STATION WELL 1")
        home.came("alive")
        assert home.sent(1)[0] == (RIDGE, "REPORT 4711")
        assert not home.events("silent")
        home.modem.network.deliver(RIDGE, "STATION WELL 2")
        home.came("alive", 2)
        home.until(lambda: sum(number == RIDGE for number, _ in home.sent(1)) == 2, "asked again the next time")
        assert not home.events("silent")


def test_power_and_battery_are_told_once_an_episode(tmp_path):
    """Lost, said again, back; a low battery, lower still, well again: one message each."""
    with at_home(tmp_path) as home:
        for number, (text, told_so_far) in enumerate(
            (
                ("MAINS GONE", 1),
                ("MAINS GONE", 1),
                ("STATION WELL SUPPLY 11.8 V", 2),
                ("STATION WELL SUPPLY 11.7 V", 2),
                ("MAINS BACK", 3),
                ("STATION WELL 0.3 x SUPPLY 0.3 V", 3),
                ("STATION WELL SUPPLY 12.9 V", 4),
            )
        ):
            home.modem.network.deliver(RIDGE, text + " " * number)
            home.until(lambda count=number + 1: len(home.texts("in")) == count, text)
            home.sent(told_so_far)
        home.came("battery-back")
        kinds = [event.kind for event in home.events("power-lost", "power-back", "battery-low", "battery-back")]
        assert sorted(kinds) == ["battery-back", "battery-low", "power-back", "power-lost"]
        told = [text for number, text in home.sent(4) if number == WREN]
        assert len(told) == 4 and any("11.8 V" in text for text in told)


def test_a_restart_repeats_no_flag(tmp_path):
    """Silent stays flagged once, over restarts; the call-out goes on where it was."""
    with at_home(tmp_path, controller='silence_after = "1s"') as home:
        home.modem.network.deliver(RIDGE, "STATION WELL 1")
        home.came("silent")
        home.sent(1)
    for word in ("TANKS", "tanks"):
        with at_home(tmp_path, controller='silence_after = "1s"') as home:
            home.until(lambda: len(home.events("gateway-started")) >= 2, "started again")
            home.modem.network.deliver(WREN, word)
            answer = home.sent(1)[0][1]
            assert "SILENT" in answer and "unknown" in answer
            assert len(home.events("silent")) == 1
    with at_home(tmp_path, controller='silence_after = "1s"') as home:
        home.modem.network.deliver(WREN, "OK")
        assert home.came("taken")[0].detail["matters"] == ["silence:ridge"]


def test_the_weekly_message_comes_once(tmp_path):
    """On its day and hour, to who wants it; a restart sends no second one."""
    from datetime import UTC, datetime
    from zoneinfo import ZoneInfo

    now = datetime.now(UTC).astimezone(ZoneInfo("Australia/Sydney"))
    tables = f'[digest]\nday = "{now:%A}"\ntime = "00:00"\ncontacts = ["wren"]\n'.replace(
        f"{now:%A}", f"{now:%A}".lower()
    )
    with at_home(tmp_path, rest=tables) as home:
        assert home.sent(1)[0][1].startswith("NOT WELL. These seven days:")
    with at_home(tmp_path, rest=tables) as home:
        home.modem.network.deliver(RIDGE, "STATION WELL 1")
        home.came("alive")
        assert not home.modem.network.outgoing


def test_imported_texts_of_long_ago_are_no_silence(tmp_path):
    """Months of old texts, then the first start: the box has a whole limit to be heard in."""
    from gateway.__main__ import main
    from tests.household import write_config

    file = write_config(tmp_path)
    (tmp_path / "old.csv").write_text(
        "received_at,sender,text\n2026-03-01T04:11:00+11:00,0491 570 006,STATION WELL 1\n"
    )
    assert main(["import", str(tmp_path / "old.csv"), "--config", str(file)]) == 0
    with at_home(tmp_path) as home:
        home.modem.network.deliver(WREN, "TANKS")
        home.sent(1)
        assert not home.events("silent")
