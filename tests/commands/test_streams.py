"""The program at its edges: closed, full and early-ended streams, terminals with few letters, bytes that are no text."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from gateway.__main__ import main
from gateway.storage import open_store
from tests.household import write_config

FULL = Path("/dev/full")


@pytest.fixture
def run(tmp_path):
    """run("tanks", …) → the finished process, in an environment with nothing in it but what is given; there is a store."""
    config = str(write_config(tmp_path))
    open_store(f"sqlite:///{tmp_path}/gateway.db", "Quandong Ridge").close()

    def go(*words, shell="", encoding="utf-8", stdin=b""):
        command = [sys.executable, "-m", "gateway", *words, "--config", config]
        if shell:
            command = ["sh", "-c", f'exec "$0" "$@" {shell}', *command]
        environment = {"PYTHONPATH": os.pathsep.join(sys.path), "PYTHONIOENCODING": f"{encoding}:strict"}
        return subprocess.run(command, input=stdin, capture_output=True, env=environment, check=False)

    return go


@pytest.mark.parametrize("closed", [">&-", "2>&-", "<&-", ">&- 2>&- <&-"])
@pytest.mark.parametrize("words", [("tanks", "--json"), ("history", "--csv"), ("schema",), ("explain",)])
def test_a_closed_stream_is_as_an_empty_one(run, closed, words):
    """It is done, and what would have gone there goes nowhere else."""
    done = run(*words, shell=closed)
    assert (done.returncode, done.stderr) == (0, b"")


def test_what_is_wrong_does_not_go_to_standard_output(run):
    """With `--json` there is one document there and nothing else, also where standard error is closed."""
    done = run("note", "", "--json", shell="2>&-")
    assert (done.returncode, done.stdout) == (2, b"")


@pytest.mark.skipif(not FULL.exists(), reason="this system has no device that is always full")
@pytest.mark.parametrize("words", [("tanks",), ("tanks", "--json"), ("schema",), ("history", "--csv")])
def test_output_to_a_full_disk_is_said_in_one_line(run, words):
    """And the exit code says that it went wrong."""
    done = run(*words, shell=f">{FULL}")
    assert done.returncode == 1
    assert done.stderr.decode().splitlines() == ["tank-gateway: No space left on device"]


@pytest.mark.parametrize("words", [("history",), ("texts",), ("history", "--jsonl"), ("texts", "--json")])
def test_who_reads_no_more_is_no_fault_of_the_store(run, words):
    """A list that is longer than a buffer: its reader goes after a line, or the disk that it goes to is full."""
    old = "received_at,sender,text\n" + "\n".join(
        f"2026-01-01 {number // 60:02}:{number % 60:02},0491 570 006,LINE 1 MADE {number:04}" for number in range(600)
    )
    assert run("import", "-", stdin=old.encode()).returncode == 0
    assert run(*words, shell="| head -n 1").stderr == b""
    if FULL.exists():
        assert run(*words, shell=f">{FULL}").stderr == b"tank-gateway: No space left on device\n"


def test_a_terminal_with_few_letters(run):
    """What it cannot show is shown as an escape; JSON stays JSON."""
    assert run("note", "Überlauf gesäubert", encoding="ascii").returncode == 0
    shown = run("history", encoding="ascii")
    assert (shown.returncode, shown.stderr) == (0, b"") and b"\\xdc" in shown.stdout
    (event,) = json.loads(run("history", "--json", encoding="ascii").stdout)["events"]
    assert event["text"] == "Überlauf gesäubert"


@pytest.mark.parametrize(
    "words", [(b"note", b"\xe9"), (b"forget", b"\xff"), (b"explain", b"\xe9"), (b"tanks", b"--at", b"\xe9")]
)
def test_bytes_that_are_no_text_are_refused(run, words):
    """Nothing is stored, and it is said what would be right."""
    done = run(*words)
    assert done.returncode == 2 and len(done.stderr.splitlines()) == 1 and b"right would be UTF-8" in done.stderr


@pytest.mark.parametrize("raw", [b"LINE 1 MADE \xe4\n", b"\xef\xbb\xbfLINE 1 MADE a\r\n"])
def test_explain_reads_what_an_old_program_saved(run, raw):
    """One byte a letter, or with the mark that some editors put in front."""
    done = run("explain", "--json", stdin=raw)
    assert (done.returncode, done.stderr) == (0, b"")
    assert json.loads(done.stdout)["texts"][0]["rule"] == 1


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
@pytest.mark.parametrize("way", ["file", "stdin"])
def test_import_and_suggest_read_what_programs_save(run, tmp_path, encoding, way):
    """As a file or through a pipe, the letters are the same."""
    raw = "received_at,sender,text\n2026-01-01,0491 570 006,Überlauf\n".encode(encoding)
    (tmp_path / "old.csv").write_bytes(raw)
    name = str(tmp_path / "old.csv") if way == "file" else "-"
    done = run("import", name, stdin=raw)
    assert (done.returncode, done.stderr) == (0, b"")
    (text,) = json.loads(run("texts", "--json").stdout)["texts"]
    assert text["text"] == "Überlauf"
    assert "Überlauf" in run("suggest", name, stdin=raw).stdout.decode()


def test_a_folder_that_cannot_be_made_is_said(run, tmp_path):
    """In one line, with its name."""
    (tmp_path / "file").write_text("")
    done = run("rehearse", "--folder", str(tmp_path / "file" / "inside"))
    assert done.returncode == 1
    assert done.stderr.decode().endswith(f"tank-gateway: {tmp_path / 'file' / 'inside'}: Not a directory\n")


def test_ctrl_c_while_a_command_is_loaded(monkeypatch):
    """Most of a short command's time is that; it ends quietly."""

    def interrupted(_):
        raise KeyboardInterrupt

    monkeypatch.setattr("importlib.import_module", interrupted)
    assert main(["schema"]) == 130
