"""Nothing is made or overwritten by looking: not a store for a mistyped path, not a file that is no page or no backup of ours."""

import json
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from gateway.__main__ import main
from tests.household import write_config


@pytest.fixture
def run(tmp_path, monkeypatch, capsys):
    """run("tanks", …) → (exit code, output, what was said on standard error), in a household that has no store yet."""
    monkeypatch.chdir(tmp_path)
    config = str(write_config(tmp_path))

    def go(*words):
        code = main([*words, "--config", config])
        shown = capsys.readouterr()
        return code, shown.out, shown.err

    return go


@pytest.mark.parametrize(
    "words", [("tanks",), ("history",), ("history", "--figures"), ("texts",), ("page", "new.html"), ("tanks", "--json")]
)
def test_a_store_that_is_not_there_is_named_and_not_made(run, tmp_path, words):
    """Most likely its path is mistyped; that nothing has happened would be believed."""
    before = set(tmp_path.iterdir())
    code, out, err = run(*words)
    assert (code, out) == (1, "") and f"there is no store at {tmp_path}/gateway.db" in err and "store.url" in err
    assert set(tmp_path.iterdir()) == before


def test_a_text_is_explained_without_a_store(run, tmp_path):
    """As is done before the first start; what it was explained without is said."""
    code, out, err = run("explain", "LINE 1 MADE 0717", "--from", "0491 570 006", "--json")
    assert code == 0 and json.loads(out)["messages"] and f"no store at {tmp_path}/gateway.db" in err
    assert not (tmp_path / "gateway.db").exists()


def test_doctor_makes_no_store(run, tmp_path):
    """It says where one would be, and that no daemon runs."""
    findings = {row["what"]: row for row in json.loads(run("doctor", "--json", "--text", "wren")[1])["findings"]}
    assert findings["store"]["right"] is None and f"{tmp_path}/gateway.db" in findings["store"]["said"]
    assert findings["daemon"]["right"] is False and findings["test message"]["right"] is False
    assert not (tmp_path / "gateway.db").exists()


def test_a_backup_makes_no_folder(run, tmp_path):
    """A stick that is not mounted: the backup would lie on the card it should outlive."""
    run("note", "cleaned the intake")
    code, _, err = run("backup", str(tmp_path / "stick" / "gateway.db"))
    assert code == 1 and f"there is no folder {tmp_path}/stick" in err and not (tmp_path / "stick").exists()


def test_a_backup_on_the_stores_own_device_says_so(run):
    """On which device it lies, and that both are lost with it."""
    run("note", "cleaned the intake")
    code, out, err = run("backup", "copy.db")
    assert code == 0 and out.startswith("Backed up and verified: copy.db (on ") and "own device" in err
    written = json.loads(run("backup", "copy.db", "--json")[1])
    assert written["own_device"] is False and written["device"] in out


def test_a_backup_on_another_device_is_not_warned_of(run, tmp_path):
    """As on a stick: the memory's file system beside the disk's, whichever of them the test has not."""
    places = (Path(place) for place in ("/dev/shm", "/var/tmp", "/tmp") if Path(place).is_dir())
    other = next((place for place in places if place.stat().st_dev != tmp_path.stat().st_dev), None)
    if other is None:
        pytest.skip("this machine has one file system for all")
    run("note", "cleaned the intake")
    with TemporaryDirectory(dir=other) as stick:
        code, out, err = run("backup", f"{stick}/copy.db", "--json")
    assert (code, err) == (0, "") and json.loads(out)["own_device"] is True


@pytest.mark.parametrize("words", [("page", "link"), ("page", "link", "--force"), ("backup", "link")])
def test_a_link_is_never_followed(run, tmp_path, words):
    """For root it may have been laid by anybody who can write there; also where it leads nowhere."""
    run("note", "cleaned the intake")
    for leads_to in (tmp_path / "of-another", tmp_path / "nowhere"):
        (tmp_path / "of-another").write_text("of another")
        (tmp_path / "link").symlink_to(leads_to)
        code, _, err = run(*words)
        assert code == 1 and "is a link" in err and (tmp_path / "link").is_symlink()
        assert (tmp_path / "of-another").read_text() == "of another" and not (tmp_path / "nowhere").exists()
        (tmp_path / "link").unlink()


def test_a_link_in_the_place_of_a_half_written_page_is_not_followed(run, tmp_path):
    """The name under which a page is written before it is whole can be guessed."""
    run("note", "cleaned the intake")
    (tmp_path / "of-another").write_text("of another")
    (tmp_path / ".page.html.making").symlink_to(tmp_path / "of-another")
    assert run("page", "page.html")[0] == 0 and (tmp_path / "of-another").read_text() == "of another"
    assert not (tmp_path / "page.html").is_symlink()


def test_a_page_replaces_a_page_and_with_force_another_file(run, tmp_path):
    """A letter of the same name is no page."""
    run("note", "cleaned the intake")
    (tmp_path / "page.html").write_text("a letter")
    code, _, err = run("page", "page.html")
    assert code == 1 and "--force" in err and (tmp_path / "page.html").read_text() == "a letter"
    assert run("page", "page.html", "--force")[0] == run("page", "page.html")[0] == 0


def test_a_house_book_takes_no_page_s_place(run, tmp_path):
    """A page may be served to anybody, and a house book holds phone numbers; nor does a page take a book's."""
    assert run("note", "cleaned the intake")[0] == run("page", "page.html")[0] == run("house-book", "book.html")[0] == 0
    kept = [(tmp_path / name).read_text() for name in ("page.html", "book.html")]
    assert run("house-book", "page.html")[0] == run("page", "book.html")[0] == 1
    assert [(tmp_path / name).read_text() for name in ("page.html", "book.html")] == kept
    assert run("house-book", "book.html")[0] == run("page", "page.html")[0] == 0


def test_what_no_gateway_listened_to_is_not_known(run):
    """That nothing stands would be believed of a box that has been silent for a year."""
    assert run("note", "cleaned the intake")[0] == 0
    code, out, err = run("alarms")
    assert (code, out) == (0, "Nothing stands.\n") and "The gateway does not run" in err


def test_nothing_is_known_of_a_time_to_come(run):
    """Tanks in four years would be shown as they are today."""
    assert run("note", "cleaned the intake")[0] == 0
    code, out, err = run("tanks", "--at", "2099-01-01")
    assert (code, out) == (2, "") and "'2099-01-01' is still to come" in err


def test_a_figure_is_told_in_words_and_units(run, monkeypatch):
    """Not by the names that its inputs have in the program."""
    monkeypatch.setenv("COLUMNS", "200")
    code, out, _ = run("water")
    assert code == 0 and "level 0.45 m; shape upright-cylinder" in out and "below 1,413.72 l" in out
    assert "_l" not in out and "_m" not in out


def test_a_page_makes_no_folder(run, tmp_path):
    """As a backup does not."""
    run("note", "cleaned the intake")
    assert run("page", "stick/page.html")[0] == 1 and not (tmp_path / "stick").exists()
