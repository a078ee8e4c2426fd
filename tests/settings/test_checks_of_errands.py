"""What the checks say of a box's errands and power, each change by itself."""

import pytest

from tests.settings.small_file import errand, power, said_after, table


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            [('silence_after = "26h"', 'silence_after = "off"')],
            ["note controllers[0].silence_after: if this box dies nobody is told"],
        ),
        (
            [('silence_after = "26h"', 'silence_after = "26h"\nask = { text = "STATUS", every = "0s" }')],
            ["controllers[0].ask.every: asks without end"],
        ),
        ([('silence_after = "26h"', 'silence_after = "26h"\nask = { text = "STATUS", every = "1d" }')], []),
        ([errand("status", 'text = "STATUS"')], []),
        (
            [errand("two words", 'text = "STATUS"')],
            ["controllers[0].errands[0].id: 'two words' cannot be said in a text: ASK ridge two words"],
        ),
        ([errand("status", "")], ["controllers[0].errands[0].text: is needed"]),
        ([errand("status", 'text = " "')], ["controllers[0].errands[0].text: is needed"]),
        (
            [errand("status", 'text = "T {time} {x}"')],
            ["note controllers[0].errands[0].text: {x} is nothing that is filled in: it leaves as it stands"],
        ),
        (
            [errand("status", 'text = "N {gateway}"')],
            ["note controllers[0].errands[0].text: the gateway knows its own number only if its SIM tells it; if n"],
        ),
        (
            [
                errand("status", 'text = "N {gateway}"'),
                ('device = "simulated"', 'device = "simulated"\nnumber = "0491 570 110"'),
            ],
            [],
        ),
        (
            [errand("status", 'text = "S"\n[[controllers.errands]]\nid = "STATUS"\ntext = "S"')],
            ["controllers[0].errands[1].id: 'ridge' has another errand 'STATUS'"],
        ),
        ([errand("ask", 'text = "S"')], []),
        (
            [
                errand("ask", 'text = "S"'),
                ('silence_after = "26h"', 'silence_after = "26h"\nask = { text = "STATUS" }'),
            ],
            ["controllers[0].errands[0].id: the asking text of 'ridge' is its errand 'ask' already"],
        ),
        (
            [errand("status", 'text = "S"\nwithin = "0s"')],
            ["controllers[0].errands[0].within: leaves no time for an answer"],
        ),
        ([errand("status", 'text = "S"\nwithin = "1s"')], []),
        (
            [errand("start", 'text = "S"\nrisk = "sets"\nlongest = "30m"')],
            ["controllers[0].errands[0].longest: only an errand that switches ends by itself, and this one sets"],
        ),
        (
            [errand("start", 'text = "S"\nrisk = "looks"\nstop_text = "X"')],
            ["controllers[0].errands[0].stop_text: only an errand that switches ends by itself, and this one looks"],
        ),
        (
            [errand("start", 'text = "S"\nrisk = "switches"')],
            ["note controllers[0].errands[0].risk: what it switches stays so until somebody ends it"],
        ),
        (
            [errand("start", 'text = "S"\nrisk = "switches"\nlongest = "30m"')],
            ["controllers[0].errands[0].longest: nothing is said that would end it"],
        ),
        (
            [errand("start", 'text = "S"\nrisk = "switches"\nstop_text = "X"')],
            ["controllers[0].errands[0].stop_text: it never leaves: nothing says after how long"],
        ),
        (
            [errand("start", 'text = "S"\nrisk = "switches"\nlongest = "30m"\nstop_text = "X {y}"')],
            ["note controllers[0].errands[0].stop_text: {y} is nothing that is filled in: it leaves as it stands"],
        ),
        ([errand("start", 'text = "S"\nrisk = "switches"\nlongest = "30m"\nstop_text = "X"')], []),
        (
            [errand("status", 'text = "S"\nmay = ["wren", "wern"]')],
            ["controllers[0].errands[0].may[1]: there is no contact 'wern' → wren"],
        ),
        ([errand("status", 'text = "S"\nmay = ["hall"]')], []),
        (
            [errand("start", 'text = "S"\nrisk = "sets"\nmay = ["hall", "wren"]')],
            ["note controllers[0].errands[0].may[0]: 'hall' is a landline, and none may order what sets"],
        ),
        (
            [errand("status", 'text = "S"\nmay = ["wren"]'), ('name = "Wren"', 'name = "Wren"\nmay_ask = false')],
            ["note controllers[0].errands[0].may[0]: 'wren' may not ask (may_ask = false), so that no text orders "],
        ),
        ([table('[drill]\nevery = "0s"')], ["drill.every: tests without end"]),
        ([table('[drill]\nevery = "366d"')], []),
        ([table('[drill]\nevery = "367d"')], ["note drill.every: is rarer than once a year"]),
    ],
)
def test_what_is_said_of_errands(change, said):
    """Errands, asking texts and the drill."""
    problems = said_after(*change)
    assert len(problems) == len(said) and all(map(str.startswith, problems, said)), problems


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ([power("", "")], []),
        (
            [power(', chemistry = "lead-acdi"', "")],
            ["controllers[0].power.battery.chemistry: unknown chemistry 'lead-acdi' → lead-acid"],
        ),
        ([power(", low_volts = 7.2", "")], []),
        (
            [power(", low_volts = 7.1", "")],
            ["controllers[0].power.battery.low_volts: a battery of 12 V never shows 7.1 V"],
        ),
        ([power(", low_volts = 18", "")], []),
        (
            [power(", low_volts = 18.1", "")],
            ["controllers[0].power.battery.low_volts: a battery of 12 V never shows 18.1 V"],
        ),
        (
            [power(", volts = 24, low_volts = 12", "")],
            ["controllers[0].power.battery.low_volts: a battery of 24 V never shows 12 V"],
        ),
        (
            [power("", "monthly_celsius = [20, 20, 18, 15, 11, 8]")],
            ["controllers[0].power.monthly_celsius: has 6 figures"],
        ),
        ([power("", "monthly_celsius = [20, 20, 18, 15, 11, 8, -60, 8, 12, 15, 17, 60]")], []),
        (
            [power("", "monthly_celsius = [20, 20, 18, 15, 11, 8, -61, 8, 12, 15, 17, 19]")],
            ["controllers[0].power.monthly_celsius: no month on earth has such a mean"],
        ),
        (
            [power("", "monthly_celsius = [20, 20, 18, 15, 11, 8, 1, 8, 12, 15, 17, 61]")],
            ["controllers[0].power.monthly_celsius: no month on earth has such a mean"],
        ),
        (
            [power("", "monthly_kwh_m2_day = [6, 5, 5, 4, 3, 0, -1, 3, 4, 5, 6, 6]")],
            ["controllers[0].power.monthly_kwh_m2_day: sun cannot be negative"],
        ),
        ([power("", "monthly_kwh_m2_day = [6]")], ["controllers[0].power.monthly_kwh_m2_day: has 1 figures"]),
    ],
)
def test_what_is_said_of_power(change, said):
    """A battery and its place as they can be."""
    problems = said_after(*change)
    assert len(problems) == len(said) and all(map(str.startswith, problems, said)), problems
