"""What the core remembers, as it comes back out of the store between two texts or two starts."""

from gateway.facts.states.declared import STATES
from gateway.storage.stored_states import read_state, written


def kept(state):
    """Written and read."""
    return read_state(type(state), "somebody", STATES[type(state)].version, written(state))
