"""Where the key lies with which it is marked that a PIN was tried."""

from pathlib import Path

import pytest

from gateway.service.pin_mark import key_file
from gateway.settings.load import load
from tests.household import write_config


@pytest.mark.parametrize(
    ("given", "folder"),
    [("/var/lib/tank-gateway:/var/lib/other", "/var/lib/tank-gateway"), ("", "{home}/.local/state/tank-gateway")],
)
def test_the_key_of_a_store_on_a_server_is_kept_on_the_board(tmp_path, monkeypatch, given, folder):
    """In the folder that systemd gives, else the user's own; never in the store, whose backup would tell the PIN."""
    monkeypatch.setenv("STATE_DIRECTORY", given)
    monkeypatch.setenv("HOME", str(tmp_path))
    settings = load(str(write_config(tmp_path))).settings
    on_a_server = settings.model_copy(
        update={"store": settings.store.model_copy(update={"url": "postgresql://gateway@db/water"})}
    )
    file = key_file(on_a_server)
    assert file.parent == Path(folder.format(home=tmp_path)) and file.name.endswith(".pin-key")
    assert key_file(settings).parent == Path(settings.store.url.removeprefix("sqlite:///")).parent
