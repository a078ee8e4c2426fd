"""Which device is proposed as the modem's to who sets up: the only one there is, by its lasting name; else what the installation calls it."""

from types import SimpleNamespace

import pytest

from gateway.modem import likely_device as asked


@pytest.mark.parametrize(
    ("lasting", "ports", "proposed"),
    [
        (["usb-modem"], [], "usb-modem"),
        (["usb-modem", "usb-meter"], [], asked.INSTALLED),
        ([], [("/dev/ttyS0", None), ("/dev/ttyUSB0", 0x1234)], "/dev/ttyUSB0"),
        ([], [("/dev/ttyUSB0", 1), ("/dev/ttyUSB1", 1)], asked.INSTALLED),
        ([], [("/dev/ttyS0", None)], asked.INSTALLED),
    ],
)
def test_the_only_one_there_is(tmp_path, monkeypatch, lasting, ports, proposed):
    """Of a board's own serial lines none is taken for a modem."""
    for name in lasting:
        (tmp_path / name).touch()
    monkeypatch.setattr(asked, "BY_ID", tmp_path)
    found = [SimpleNamespace(device=device, vid=vid) for device, vid in ports]
    monkeypatch.setattr(asked.list_ports, "comports", lambda: found)
    assert asked.likely_device().removeprefix(f"{tmp_path}/") == proposed


def test_a_board_without_the_folder_of_lasting_names(tmp_path, monkeypatch):
    """None is made while nothing is plugged in."""
    monkeypatch.setattr(asked, "BY_ID", tmp_path / "by-id")
    monkeypatch.setattr(asked.list_ports, "comports", list)
    assert asked.likely_device() == asked.INSTALLED
