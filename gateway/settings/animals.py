"""Names of animals for which a published daily water figure is known (the figures stand in the water room)."""

KINDS = (
    "dairy cow",
    "lactating cattle",
    "lactating cow",
    "beef cow",
    "dry cow",
    "non-lactating cattle",
    "heifer",
    "steer",
    "bull",
    "calf",
    "working horse",
    "horse",
    "sheep",
    "lamb",
    "sow",
    "poultry",
    "hen",
)
