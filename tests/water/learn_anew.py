"""Learning from events that nobody has learnt from before."""

from gateway.water.learning import Learner


def learn(events, settings, zone):
    """What they teach."""
    return Learner().learn(events, settings, zone)
