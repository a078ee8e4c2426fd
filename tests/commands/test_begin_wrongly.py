"""`begin`, answered wrongly: at once, in what cannot stand together, as a whole; taken back; left in the middle."""

import pytest

from gateway.commands import begin, written_answers
from gateway.commands.begin import _text_that_holds
from gateway.commands.conversation import Conversation
from gateway.commands.trap_checks import CHECKS
from gateway.errors import ConfigurationWrong, GatewayError, Problem
from gateway.settings.load import load_text
from tests.commands.test_begin import CHAT, LABELS, PEOPLE, PLACE, ROUND, asked, left_after

LEVELS = ["l", "3000", "1.5", "1", "0.4"]
"""A tank of litres with its LOW float."""


@pytest.mark.parametrize(
    ("place", "wrong", "right", "said"),
    [
        (2, "Perth of old", "sydney", "one of Australia/"),
        (11, "5,000", "5000", "thousands or a fraction"),
        (12, "180", "1.80 m", "180 m is no tank's"),
        (12, "tall", "1,8", "a number, such as 1.8"),
        (15, "1", "3", "1 is the LOW float of Spring tank already"),
        (16, "0.4", "0.41", "above the LOW float, which is at 0.4 m"),
        (17, "spring TANK", "House tank", "there is Spring tank already"),
        (19, "1", "2", "1 is the LOW float of Spring tank already"),
        (24, "0491 570 006", "0491 570 156", "the number of Ridge box"),
        (26, "+61 491 570 156", "0491 570 157", "the number of Wren"),
    ],
)
def test_what_cannot_stand_together_is_asked_again_at_once(tmp_path, capsys, place, wrong, right, said):
    """Not after the last question: then all would have to be answered again."""
    tanks = ["2", "Spring tank", *LEVELS, "9", "1.4", "House tank", "n", "2", "", "Spring tank"]
    answers = [*PLACE, "", *tanks, "2", "Wren", "0491 570 156", "Robin", "0491 570 157", "4"]
    answers[place : place + 1] = [wrong, right]
    settings = load_text(asked(tmp_path, answers), "first.toml", CHECKS).settings
    assert said in capsys.readouterr().out
    assert settings.site.timezone == "Australia/Sydney" and len(settings.tanks) == len(settings.contacts) == 2


def test_an_answer_is_taken_back(tmp_path, capsys):
    """The one before is asked again, however far back; what was answered before it is shown and not asked."""
    answers = iter([*PLACE[:-1], "UNDO", "undo", "simulated", "Spur box", *PLACE[6:], "", *ROUND, *PEOPLE])
    talk = Conversation(tmp_path / "kept", lambda question: next(answers))
    text = _text_that_holds(talk, tmp_path / "my.toml")
    assert load_text(text, "first.toml").settings.controllers[0].name == "Spur box"
    assert "1. What is the place called: Quandong Ridge" in capsys.readouterr().out
    assert (tmp_path / "kept").stat().st_mode & 0o077 == 0


def test_what_does_not_hold_as_a_whole_is_asked_again_from_the_tanks_on(tmp_path, capsys, monkeypatch):
    """What is wrong is said; the samples and their labels stay."""
    wrong = [Problem(file="my.toml", line=1, key="tanks[0]", found="", wrong="is odd", right="another")]

    def refuse_once(text, file, checks=()):
        if wrong:
            raise ConfigurationWrong([wrong.pop()])

    monkeypatch.setattr(begin, "load_text", refuse_once)
    answers = iter([*PLACE, "", *ROUND, *PEOPLE, *ROUND, *PEOPLE])
    text = _text_that_holds(Conversation(tmp_path / "kept", lambda question: next(answers)), tmp_path / "my.toml")
    assert "tanks[0]: is odd; another" in capsys.readouterr().out and next(answers, None) is None
    assert len(load_text(text, "first.toml").settings.tanks) == 1


def test_leaving_among_the_labels_leaves_the_conversation(tmp_path):
    """Else the next answers would be taken for labels when it is gone on with."""
    (tmp_path / "texts.txt").write_text(CHAT)
    left_after(tmp_path, [*PLACE, str(tmp_path / "texts.txt"), "f", "1"])
    text = asked(tmp_path, [*LABELS[2:], *ROUND, *PEOPLE])
    assert [rule.means for rule in load_text(text, "x").settings.controllers[0].rules] == ["alive", "input", "reading"]


def test_labels_of_another_file_are_not_taken_for_those_of_this_one(tmp_path, capsys):
    """The file of texts was mended between two sittings: its texts are asked about anew, and what came before stays."""
    file = tmp_path / "texts.txt"
    file.write_text(CHAT)
    left_after(tmp_path, [*PLACE, str(file), *LABELS[:6]])
    file.write_text("".join(reversed(CHAT.splitlines(keepends=True))))
    text = asked(tmp_path, ["a", "f", "1", "w", "f", "1", "l", *ROUND, *PEOPLE])
    assert "was about something else" in capsys.readouterr().out
    assert [rule.means for rule in load_text(text, "x").settings.controllers[0].rules] == ["alive", "input", "reading"]


def test_the_first_label_is_taken_back_like_any_answer(tmp_path):
    """Back to the file's name: nothing that nobody was asked lies between."""
    file = tmp_path / "texts.txt"
    file.write_text(CHAT)
    answers = iter([*PLACE, str(file), "undo", str(file), *LABELS, *ROUND, *PEOPLE])
    talk = Conversation(tmp_path / "kept", lambda question: next(answers))
    assert "[[controllers.rules]]" in _text_that_holds(talk, tmp_path / "my.toml")
    assert next(answers, None) is None


def test_answers_that_are_none_are_named(tmp_path):
    """A file that somebody else put there is left as it is."""
    (tmp_path / "kept").write_text('{"a": 1}')
    with pytest.raises(GatewayError, match="right would be to remove it"):
        Conversation(tmp_path / "kept", input)
    assert (tmp_path / "kept").read_text() == '{"a": 1}'


@pytest.mark.parametrize(("country", "zone"), [("AU", ""), ("ES", ""), ("NL", "Europe/Amsterdam")])
def test_a_board_that_was_never_told_its_zone_has_none_to_offer(monkeypatch, country, zone):
    """UTC would shift every message by hours; a country with one zone has that."""
    monkeypatch.setattr(written_answers, "get_localzone_name", lambda: "Etc/UTC")
    assert written_answers.likely_timezone(country) == zone
    monkeypatch.setattr(written_answers, "get_localzone_name", lambda: "Australia/Perth")
    assert written_answers.likely_timezone("AU") == "Australia/Perth"
