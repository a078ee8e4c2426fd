"""What was learnt is gone on with as events come, and is what learning from all of them anew would give."""

import random
from datetime import timedelta

from gateway.settings.load import load_text
from gateway.water.learning import EPISODES, Learner
from tests.water.learn_anew import learn
from tests.water.test_balance import CONFIGURATION, DAY, NOW, Happened


def test_learning_on_is_learning_anew():
    """Event by event, as a gateway lives: the same at each as if all of them were seen for the first time, and what was learnt stays."""
    settings = load_text(CONFIGURATION, "gateway.toml").settings
    rng = random.Random(7)
    learner, told, before = Learner(), [], []
    at = NOW - 400 * DAY
    for _ in range(12 * EPISODES):
        at += timedelta(hours=rng.uniform(1, 60))
        kind = rng.choice(
            ["low", "low-over", "low", "low-over", "high", "high-over", "ran-dry", "low-over-said", "float-fault"]
        )
        told.append(Happened(kind, rng.choice(["spring", "house"]), at))
        learnt = learner.learn(told, settings, NOW.tzinfo)
        assert learnt == learn(told, settings, NOW.tzinfo)
        before.append((learnt, repr(learnt)))
    assert all(repr(learnt) == was for learnt, was in before)
    assert learner.learn(told[40:], settings, NOW.tzinfo) == learn(told[40:], settings, NOW.tzinfo), (
        "the oldest are forgotten"
    )


def test_the_oldest_low_spells_are_forgotten_as_new_ones_come():
    """More of them than are weighed, one every ten days: from the thirteenth on each drops the oldest, and so it is anew."""
    settings = load_text(CONFIGURATION, "gateway.toml").settings
    learner, told = Learner(), []
    for spell in range(EPISODES + 4):
        began = NOW + 10 * spell * DAY
        for kind, at in (("low", began), ("low-over", began + (1 + spell % 3) * DAY)):
            told.append(Happened(kind, "house", at))
            learnt = learner.learn(told, settings, NOW.tzinfo)
            assert learnt == learn(told, settings, NOW.tzinfo)
    past = [*told]
    other = [Happened(event.kind, event.tank, event.at + DAY / 2) for event in past]
    assert learner.learn(other, settings, NOW.tzinfo) == learn(other, settings, NOW.tzinfo), "another household's past"
