"""A text from another program gets into the simulated network of one that runs."""

import socket

import pytest

from gateway.simulator import control_path, inject, serve_control
from tests.simulator.line import Line


def test_injected_text_is_delivered(start, tmp_path):
    """Odd datagrams are passed over; a text is delivered and announced."""
    modem, line = start()
    line.ask("AT+CNMI=2,1,0,1,0")
    path = control_path(f"sqlite:///{tmp_path}/gateway.db")
    control = serve_control(path, modem)
    try:
        inject(path, "+61491570006", "x" * 50_000)
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as stranger:
            for odd in (b"no json", b"[1]", b'{"text": "no sender"}', b"\xff\xfe"):
                stranger.sendto(odd, path)
        inject(path, "+61491570006", "LINE 1 ÖPEN")
        assert line.read_line() == '+CMTI: "SM",1'
    finally:
        control.stop()
    with pytest.raises(OSError):
        inject(path, "+61491570006", "LINE 1 MADE")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "url", ["sqlite:///" + "/deep" * 40 + "/gateway.db", "postgresql://gateway@db/water", "sqlite://"]
)
def test_path_always_fits_a_socket(url):
    """Whatever the store, the path is short enough and always the same."""
    assert len(control_path(url)) <= 100
    assert control_path(url) == control_path(url)


def test_nothing_is_left_behind(nothing_left, start, tmp_path):
    """Stopping twice is once."""
    modem, line = start()
    control = serve_control(str(tmp_path / "control"), modem)
    control.stop()
    control.stop()
    line.port.close()
    assert isinstance(line, Line)
    modem.stop()
