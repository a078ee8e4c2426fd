"""Boxes that text by a rhythm and lose some of it: false alarms in a year, and hours until a dead one is noticed.

`python -m tests.heartbeats.boxes` prints the table of RESULTS.md.
"""

import random
from datetime import UTC, datetime, timedelta
from itertools import pairwise

from gateway.heartbeats import learn_rhythm, silence_limit

T0 = datetime(2026, 1, 1, 7, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)
PERIOD_H = {"hourly": 1, "each 6 h": 6, "daily": 24, "weekly": 168}
KINDS = (*PERIOD_H, "daily and floats", "daily, ±3 h", "irregular")
RECORD = 200
SEEDS = range(1, 9)
NUMBER = {"hourly": 9000}
LEARNT_EACH = 20
"""So many texts further it is learnt anew: by each text would say the same and take twenty times as long."""


def texts_of(kind, loss, number, rng):
    """Times of about so many texts, those that were lost left out."""
    match kind:
        case "irregular":
            hours = [0.0]
            while len(hours) < number:
                hours.append(hours[-1] + rng.expovariate(1 / 24))
        case "daily, ±3 h":
            hours = sorted(24 * day + rng.gauss(0, 1.5) for day in range(number))
        case "daily and floats":
            # every third day or so up to a dozen float texts between midnight and ten
            hours = [24 * day + rng.random() * 0.05 for day in range(number // 3)]
            days = [day for day in range(number // 3) if rng.random() < 0.3]
            hours = sorted(hours + [24 * day + rng.random() * 10 for day in days for _ in range(rng.randint(1, 12))])
        case _:
            hours = [PERIOD_H[kind] * count + rng.random() * 0.05 for count in range(number)]
    return [T0 + hour * HOUR for hour in hours if rng.random() >= loss]


def live(kind, loss, *, number, seed=1, asks=False, limit_of=None):
    """False alarms once 60 texts are known, in how many years, and the middle limit in hours: when a dead box is noticed.

    A box that answers is asked twice, each time lost with `loss` either way.
    """
    rng = random.Random(seed)
    times = texts_of(kind, loss, number, rng)
    limit_of = limit_of or (lambda known: silence_limit(learn_rhythm(tuple(known)), asks=asks))
    limits, alarms = [], 0
    for index in range(60, len(times) - 1, LEARNT_EACH):
        limit = limit_of(times[max(0, index - RECORD) : index])
        limits.append(limit / HOUR)
        ahead = times[index - 1 : index + LEARNT_EACH]
        over = sum(later - earlier > limit for earlier, later in pairwise(ahead))
        alarms += sum(not asks or rng.random() < (1 - (1 - loss) ** 2) ** 2 for _ in range(over))
    years = (times[-1] - times[59]).total_seconds() / 86_400 / 365.25
    return alarms, years, sorted(limits)[len(limits) // 2]


def lived(kind, loss, asks):
    """`0.37 (0.05)`: false alarms a year with their standard error, over eight such boxes; and the middle limit."""
    boxes = [live(kind, loss, number=NUMBER.get(kind, 3000), seed=seed, asks=asks) for seed in SEEDS]
    alarms, years = sum(box[0] for box in boxes), sum(box[1] for box in boxes)
    middle = sorted(box[2] for box in boxes)[len(boxes) // 2]
    return f"{alarms / years:.2f} ({alarms**0.5 / years:.2f}) | {middle:.1f}"


def main():
    """The table."""
    print("| box | lost | false alarms a year | noticed after, h | asked: false alarms | asked: noticed after, h |")
    print("| --- | ---: | ---: | ---: | ---: | ---: |")
    for kind in KINDS:
        for loss in (0, 0.02, 0.05, 0.2):
            print(f"| {kind} | {loss:.0%} | {lived(kind, loss, False)} | {lived(kind, loss, True)} |", flush=True)


if __name__ == "__main__":
    main()
