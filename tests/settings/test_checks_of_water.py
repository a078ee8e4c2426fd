"""What the checks say of tanks, floats and gauges, each change by itself."""

import pytest

from tests.settings.small_file import HILL, LIMITS, another_float, gauge, said_after, shape, table


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ([('fed_by = ["spring"]', 'fed_by = ["spirng"]')], ["tanks[1].fed_by: there is no tank 'spirng' → spring"]),
        ([('fed_by = ["spring"]', 'fed_by = ["house"]')], ["tanks[1].fed_by: 'house' feeds itself in a loop"]),
        (
            [('id = "spring"\nname = "Spring tank"', 'id = "spring"\nname = "Spring tank"\nfed_by = ["house"]')],
            ["tanks[0].fed_by: 'spring' feeds itself in a loop", "tanks[1].fed_by: 'house' feeds itself in a loop"],
        ),
        ([("level_m = 0.45", "level_m = 1.8")], []),
        (
            [("level_m = 0.45", "level_m = 1.81")],
            ["tanks[1].floats[0].level_m: a level of 1.81 m is above the tank's height of 1.8 m"],
        ),
        ([("level_m = 0.45", "level_m = -0.1")], ["tanks[1].floats[0].level_m: a level of -0.1 m is not possible"]),
        ([("level_m = 0.45", "")], ["note tanks[1].floats[0].level_m: without it no time left can be worked out"]),
        ([("input = 2", "input = 2\n  level_m = -1")], ["tanks[0].floats[0].level_m: a level of -1 m is not possible"]),
        ([("input = 2", "input = 2\n  level_m = 9")], []),
        (
            [shape('kind = "lying-cylinder", length_m = 2.0, diameter_m = 0.4')],
            ["tanks[1].floats[0].level_m: a level of 0.45 m is above the tank's height of 0.4 m"],
        ),
        ([shape('kind = "lying-cylinder", length_m = 2.0, diameter_m = 0.45')], []),
        ([shape('kind = "table", points = [[0, 0], [0.5, 900]]')], []),
        (
            [shape('kind = "table", points = [[0, 0], [0.4, 900]]')],
            ["tanks[1].floats[0].level_m: a level of 0.45 m is above the tank's height of 0.4 m"],
        ),
        (
            [shape('kind = "table", points = [[0, 0]]')],
            [
                "tanks[1].shape.points: the table does not rise from line to line",
                "tanks[1].floats[0].level_m: a level of 0.45 m is above the tank's height of 0 m",
            ],
        ),
        (
            [shape('kind = "table", points = [[0.5, 0], [0.5, 900]]')],
            ["tanks[1].shape.points: the table does not rise from line to line"],
        ),
        ([shape('kind = "table", points = [[0, 900], [0.5, 900]]')], []),
        (
            [shape('kind = "table", points = [[0, 901], [0.5, 900]]')],
            ["tanks[1].shape.points: the table does not rise from line to line"],
        ),
        (
            [shape('kind = "table", points = [[-0.1, 0], [0.5, 900]]')],
            ["tanks[1].shape.points: the table does not rise from line to line"],
        ),
        (
            [shape('kind = "table", points = [[0, -1], [0.5, 900]]')],
            ["tanks[1].shape.points: the table does not rise from line to line"],
        ),
        ([shape('kind = "table", points = []')], ["tanks[1].shape.points: the table does not rise from line to line"]),
        ([another_float("high", 0.46)], []),
        (
            [another_float("high", 0.45)],
            ["note tanks[1].floats[0].level_m: the low float of 'House tank' stands at or above its high one (0.45"],
        ),
        ([another_float("low", 0.4)], []),
        ([("", HILL)], ["note tanks[2].id: no text can reach this tank: it has no floats and no gauge"]),
        (
            [("", HILL + '  [[tanks.floats]]\n  controller = "rigde"\n  input = 9\n')],
            ["tanks[2].floats[0].controller: there is no controller 'rigde' → ridge"],
        ),
        (
            [("", HILL + '  [[tanks.floats]]\n  controller = "ridge"\n  input = "01"\n')],
            ["tanks[2].floats[0].input: input 01 of 'ridge' is claimed by a float of 'house' already"],
        ),
        (
            [
                (
                    "",
                    '\n[[inputs]]\ncontroller = "ridge"\ninput = 1\nname = "Lid"\nactive_says = "is open"\nidle_says = " "\n',
                )
            ],
            [
                "inputs[0].input: input 1 of 'ridge' is claimed by a float of 'house' already",
                "inputs[0].idle_says: is empty",
            ],
        ),
        (
            [
                (
                    "",
                    '\n[[inputs]]\ncontroller = "ridge"\ninput = 9\nname = ""\nactive_says = ""\nidle_says = "is shut"\n',
                )
            ],
            ["inputs[0].name: is empty", "inputs[0].active_says: is empty"],
        ),
        (
            [table('[source]\npump = { kind = "ram", drive_flow_l_min = 30, fall_m = 3, lift_m = 3 }')],
            ["source.pump.lift_m: a ram that lifts less than it falls is none"],
        ),
        ([table('[source]\npump = { kind = "ram", drive_flow_l_min = 30, fall_m = 3, lift_m = 3.1 }')], []),
        ([table('[source]\npump = { kind = "ram", drive_flow_l_min = 30, fall_m = 0.5, lift_m = 3 }')], []),
        (
            [table('[source]\npump = { kind = "ram", drive_flow_l_min = 30, fall_m = 0.49, lift_m = 3 }')],
            ["note source.pump.fall_m: a ram hardly runs on less than 0.5 m of fall"],
        ),
        ([table('[[pipes]]\nfrom = "source"\nto = "house"\ninner_mm = 25\nlength_m = 300\nfall_m = 12')], []),
        (
            [table('[[pipes]]\nfrom = "sprink"\nto = "house"\ninner_mm = 25\nlength_m = 300\nfall_m = 12')],
            ["pipes[0].from: there is no tank 'sprink'"],
        ),
        (
            [table('[[pipes]]\nfrom = "house"\nto = "house"\ninner_mm = 25\nlength_m = 300\nfall_m = 12')],
            ["pipes[0].to: 'house' is not fed by 'house'"],
        ),
        (
            [table('[[pipes]]\nfrom = "source"\nto = "house"\ninner_mm = 25\nlength_m = 11\nfall_m = 12')],
            ["pipes[0].fall_m: it falls further than it is long"],
        ),
        ([table('[demand]\nanimals = [{ kind = "hen", head = 1 }]')], []),
        (
            [table('[demand]\nanimals = [{ kind = "henn", head = 1 }]')],
            ["demand.animals[0].kind: no published figure is known for 'henn' → hen"],
        ),
        ([table('[demand]\nanimals = [{ kind = "dragon", head = 1, litres_per_head_day = 9 }]')], []),
    ],
)
def test_what_is_said_of_water(change, said):
    """Tanks, floats, inputs, shapes, what feeds what."""
    problems = said_after(*change)
    assert len(problems) == len(said) and all(map(str.startswith, problems, said)), problems


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ([gauge("m", LIMITS)], []),
        ([gauge("mA", LIMITS)], ["tanks[2].gauges[0].reads: nothing says which height a reading in mA stands for"]),
        ([gauge("mA", LIMITS, shaped=True)], []),
        (
            [gauge("mA", "", shaped=True)],
            ["note tanks[2].gauges[0].low_m: it is only looked at: it tells nobody that the tank is low"],
        ),
        ([gauge("mA", "high_m = 1.7", shaped=True)], []),
        ([gauge("mA", "low_m = 0.4", shaped=True)], []),
        ([gauge("mA", LIMITS + "\npoints = [[4, 0], [20, 1.8]]", shaped=True)], []),
        ([gauge("mA", LIMITS + "\npoints = [[4, 1.8], [20, 0]]", shaped=True)], []),
        (
            [gauge("mA", LIMITS + "\npoints = [[4, 0]]", shaped=True)],
            ["tanks[2].gauges[0].points: the points do not rise from reading to reading, with heights that all ris"],
        ),
        (
            [gauge("mA", LIMITS + "\npoints = [[4, 0], [4, 1.8]]", shaped=True)],
            ["tanks[2].gauges[0].points: the points do not rise from reading to reading, with heights that all ris"],
        ),
        (
            [gauge("mA", LIMITS + "\npoints = [[4, 0], [12, 1.0], [20, 1.0]]", shaped=True)],
            ["tanks[2].gauges[0].points: the points do not rise from reading to reading, with heights that all ris"],
        ),
        (
            [gauge("mA", LIMITS + "\npoints = [[4, -0.1], [20, 1.8]]", shaped=True)],
            ["tanks[2].gauges[0].points: a height is below 0"],
        ),
        (
            [gauge("mA", LIMITS + "\npoints = [[4, 0], [20, 1.81]]", shaped=True)],
            ["tanks[2].gauges[0].points: a height is above the tank's height of 1.8 m"],
        ),
        ([gauge("mA", LIMITS + "\npoints = [[4, 0], [20, 9]]")], []),
        ([gauge("mA", LIMITS + "\npoints = [[4, -1], [20, 9]]")], ["tanks[2].gauges[0].points: a height is below 0"]),
        (
            [gauge("mA", "low_m = 1.81\nhigh_m = 0", shaped=True)],
            ["tanks[2].gauges[0].low_m: a level of 1.81 m is above the tank's height of 1.8 m"],
        ),
        (
            [gauge("mA", "low_m = 0.4\nhigh_m = 1.81", shaped=True)],
            ["tanks[2].gauges[0].high_m: a level of 1.81 m is above the tank's height of 1.8 m"],
        ),
        (
            [gauge("mA", "low_m = 0.5\nhigh_m = 0.7\nband_m = 0.1", shaped=True)],
            ["tanks[2].gauges[0].high_m: low at 0.5 m and high at 0.7 m leave no room for a band of 0.1 m"],
        ),
        ([gauge("mA", "low_m = 0.5\nhigh_m = 0.71\nband_m = 0.1", shaped=True)], []),
    ],
)
def test_what_is_said_of_gauges(change, said):
    """Gauges with points, limits and bands."""
    problems = said_after(*change)
    assert len(problems) == len(said) and all(map(str.startswith, problems, said)), problems
