"""What several tests of the handlers share."""

import pytest

from tests.handlers.days import Days


@pytest.fixture
def household(tmp_path):
    """A household with other words in its file, as often as it is asked for; closed at the end."""
    made = []

    def make(**parts):
        made.append(Days(tmp_path, **parts))
        return made[-1]

    yield make
    for days in made:
        days.store.close()
