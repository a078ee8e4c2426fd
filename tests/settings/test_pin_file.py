"""Where the SIM's PIN comes from."""

import json

import pytest

from gateway.__main__ import main
from gateway.errors import ConfigurationWrong
from gateway.settings import credentials as credentials_read
from gateway.settings import pin_file
from gateway.settings.load import load
from tests.household import write_config


def pin_of(folder, named):
    """The PIN of a household that names this file."""
    return pin_file.pin(load(str(write_config(folder, pin=f'pin_file = "{named}"'))).settings)


@pytest.fixture
def credentials(tmp_path, monkeypatch):
    """A folder of credentials, and what systemd makes of it: (folder, handed over)."""
    folder, handed = tmp_path / "credentials", tmp_path / "handed"
    folder.mkdir()
    handed.mkdir()
    monkeypatch.setattr(credentials_read, "FOLDER", folder)
    return folder, handed


def test_a_bare_name_is_a_file_of_the_credentials(tmp_path, credentials):
    """Without systemd the file itself is read."""
    (credentials[0] / "sim-pin").write_text("1234\n")
    assert pin_of(tmp_path, "sim-pin") == "1234" == pin_of(tmp_path, credentials[0] / "sim-pin")


def test_under_systemd_it_is_what_was_handed_over(tmp_path, credentials, monkeypatch):
    """By its name alone or in full; a file elsewhere is read where it is."""
    monkeypatch.setenv("CREDENTIALS_DIRECTORY", str(credentials[1]))
    (credentials[1] / "tank-gateway_sim-pin").write_text("4321\n")
    assert pin_of(tmp_path, "sim-pin") == "4321" == pin_of(tmp_path, credentials[0] / "sim-pin")
    (tmp_path / "sim-pin").write_text("1111")
    assert pin_of(tmp_path, tmp_path / "sim-pin") == "1111"


def test_a_file_that_is_not_there_is_said_with_what_would_be_right(tmp_path, credentials):
    """No traceback, and where it belongs."""
    with pytest.raises(ConfigurationWrong) as wrong:
        pin_of(tmp_path, "none")
    assert "credentials" in wrong.value.problems[0].right and "cannot be read" in wrong.value.problems[0].wrong


def test_a_pin_where_its_files_name_belongs_is_not_repeated(tmp_path, credentials):
    """What `serve` says of it goes into a log."""
    with pytest.raises(ConfigurationWrong) as wrong:
        pin_of(tmp_path, "8642")
    assert "8642" not in repr(wrong.value.problems)


@pytest.mark.parametrize(
    ("held", "code", "said"),
    [(None, 1, "cannot be read: No such file"), ("none at all", 0, "note: modem.pin_file"), ("1234", 0, "")],
)
def test_check_and_doctor_name_what_keeps_serve_from_starting(tmp_path, credentials, capsys, held, code, said):
    """With its line; a file without a PIN in it is remarked on, for the SIM may want none."""
    config = write_config(tmp_path, pin='pin_file = "sim-pin"')
    if held is not None:
        (credentials[0] / "sim-pin").write_text(held)
    assert main(["check", "--config", str(config)]) == code
    told = capsys.readouterr().err
    line = 1 + config.read_text().splitlines().index('pin_file = "sim-pin"')
    assert said in told and (not said or f"{config}:{line}: " in told)
    main(["doctor", "--json", "--config", str(config)])
    finding = json.loads(capsys.readouterr().out)["findings"][0]
    assert finding["right"] is (code == 0) and (code == 0 or said in finding["said"])
    if code:
        assert main(["serve", "--config", str(config)]) == 1 and said in capsys.readouterr().err
