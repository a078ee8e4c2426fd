"""What a life takes for granted because nobody can know it, or because the file does not say it: a sentence each."""

from collections.abc import Iterator

from gateway.rehearsal.lived_through import Lived
from gateway.simulator.household.contacts_at_home import TAKES_IT
from gateway.simulator.household.household import LATE, LOST, PASSES_BY_EVERY_DAYS, VERY_LATE
from gateway.simulator.household.supply import DAYS_OF_USE_WHERE_NO_SIZE
from gateway.simulator.household.troubles import CLOGS_EVERY_DAYS
from gateway.simulator.household.use import PEOPLE_WHERE_NOBODY_SAYS
from gateway.simulator.household.weather import MEAN_CELSIUS
from gateway.water.demand import monthly_celsius


def assumptions(lived: Lived) -> Iterator[str]:
    """The file's gaps first, then what is the same for everybody."""
    settings = lived.site.settings
    for tank in settings.tanks:
        if tank.shape is None:
            yield f"{tank.name} holds {DAYS_OF_USE_WHERE_NO_SIZE:.0f} days of use (its shape is not in your file)."
    demand = settings.demand
    if not (demand.people or demand.animals or demand.other_litres_day):
        yield f"{PEOPLE_WHERE_NOBODY_SAYS:.0f} people draw water (your file says of nobody)."
    if settings.source.pump is None:
        yield "The source gives about twice what is used (your file does not say)."
    if not monthly_celsius(settings):
        yield f"A temperate place, {MEAN_CELSIUS:.0f} °C in the mean of a year."
    yield (
        "Your figures are as far off as such figures are: the use by a fifth, the source by a seventh. "
        "Hours, days and animals are by published figures."
    )
    if not lived.stories:
        yield f"The intake clogs about every {CLOGS_EVERY_DAYS:.0f} days; nothing else goes wrong."
    yield (
        f"{TAKES_IT * 100:.0f} of a hundred times people take what they are asked to take, within minutes if awake, and then "
        f"they mend it by daylight. A message wakes one sleeper in three. Somebody passes the box every {PASSES_BY_EVERY_DAYS:.0f} days."
    )
    yield f"Of a hundred texts {LATE * 100:.0f} come late; hours late, or never: {(VERY_LATE + LOST) * 100:.0f}."
