"""What the checks say of the gateway's own tables, of people and their numbers, each change by itself."""

import pytest

from tests.settings.small_file import said_after, table


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ([], []),
        (
            [('"Australia/Sydney"', '"Australia/Sidney"')],
            ["site.timezone: 'Australia/Sidney' is no IANA time zone → Australia/Sydney"],
        ),
        ([('"Australia/Sydney"', '""')], ["site.timezone: '' is no IANA time zone"]),
        ([('"Australia/Sydney"', '"../x"')], ["site.timezone: '../x' is no IANA time zone"]),
        ([('"AU"', '"au"')], ["site.country: 'au' is no ISO 3166 country code → AU"]),
        ([('"AU"', '"ZZ"')], ["site.country: 'ZZ' is no ISO 3166 country code"]),
        ([('country = "AU"', 'country = "AU"\nlanguage = "xx"')], ["site.language: there is no phrase file for 'xx'"]),
        ([('country = "AU"', 'country = "AU"\nlanguage = "de"')], []),
        ([('"simulated"', '"Simulated"')], ["modem.device: is no device → simulated"]),
        ([('"simulated"', '"simulat"')], ["modem.device: is no device → simulated"]),
        ([('"simulated"', '"/dev/simulated"')], []),
        ([('"simulated"', '"simul/x"')], []),
        ([('"simulated"', '" "')], ["modem.device: is empty"]),
        ([('"simulated"', '" simulated"')], ["modem.device: is no device → simulated"]),
        (
            [('"simulated"', '"simulated"\npin_file = "1234"')],
            ["note modem.pin_file: looks like the PIN itself, which must not stand here"],
        ),
        ([('"simulated"', '"simulated"\npin_file = "sim-pin"')], []),
        ([('"simulated"', '"simulated"\nsweep_every = "0.9s"')], ["modem.sweep_every: asks the modem without rest"]),
        ([('"simulated"', '"simulated"\nsweep_every = "1s"')], []),
        (
            [("sqlite:////var/lib/tank-gateway/gateway.db", "sqlite://")],
            ["store.url: names no file: nothing would be kept"],
        ),
        (
            [("sqlite:////var/lib/tank-gateway/gateway.db", "sqlite:///:memory:")],
            ["store.url: names no file: nothing would be kept"],
        ),
        (
            [("sqlite:////var/lib/tank-gateway/gateway.db", "sqlite://x")],
            ["store.url: names no file: nothing would be kept"],
        ),
        ([("sqlite:////var/lib/tank-gateway/gateway.db", "/var/x")], ["store.url: is no store url"]),
        ([('gateway.db"', 'gateway.db"\nbackup_folder = "/mnt"')], []),
        ([('sqlite:////var/lib/tank-gateway/gateway.db"', 'postgresql://u@s/d"')], []),
        (
            [('sqlite:////var/lib/tank-gateway/gateway.db"', 'postgresql://u@s/d"\nbackup_folder = "/mnt"')],
            ["note store.backup_folder: the store is a server's: the gateway makes no backup of it"],
        ),
        (
            [table('[metrics]\nfile = "x.prom"')],
            ["metrics.file: is no whole path: it would lie wherever the gateway was started"],
        ),
        ([table('[metrics]\nfile = "/x.prom"')], []),
    ],
)
def test_what_is_said_of_gateway(change, said):
    """Site, modem, store and metrics against lists from outside."""
    problems = said_after(*change)
    assert len(problems) == len(said) and all(map(str.startswith, problems, said)), problems


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ([('id = "hall"', 'id = "wren"')], ["contacts[1].id: the id 'wren' is not unique"]),
        ([('id = "hall"', 'id = " "')], ["contacts[1].id: the id ' ' is not unique"]),
        ([('"Hall"', '" wren "')], ["note contacts[1].name: 'wren' has this name too: a message would not say which"]),
        ([('"Hall"', '" "')], ["contacts[1].name: is empty"]),
        ([('"Hall"', '"Ha\\u0007ll"')], ["contacts[1].name: 'Ha\\\\x07ll' has characters in it that cannot be seen"]),
        ([('"Hall"', '"Ha\\u009fll"')], ["contacts[1].name: 'Ha\\\\x9fll' has characters in it that cannot be seen"]),
        ([('"Hall"', '"Ha\\u00a0ll"')], []),
        ([('"Hall"', '"Ha\\u007fll"')], ["contacts[1].name: 'Ha\\\\x7fll' has characters in it that cannot be seen"]),
        ([('"Quandong Ridge"', '""')], ["site.name: is empty"]),
        ([('name = "Wren"', 'name = "Wren"\nquiet = "22:00-06:30"')], []),
        ([('name = "Wren"', 'name = "Wren"\nquiet = "22-6"')], ["contacts[0].quiet: '22-6' are no quiet hours"]),
        ([('name = "Wren"', 'name = "Wren"\nabout = []')], ["note contacts[0].about: hears of nothing"]),
        (
            [table('[digest]\ntime = "24:00"\ncontacts = ["wren", "hal"]')],
            ["digest.time: is no time of day", "digest.contacts: there is no contact 'hal' → hall"],
        ),
        ([table('[digest]\ntime = "8:30"\ncontacts = ["wren"]')], []),
    ],
)
def test_what_is_said_of_people(change, said):
    """Names, ids, quiet hours and the digest."""
    problems = said_after(*change)
    assert len(problems) == len(said) and all(map(str.startswith, problems, said)), problems


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            [table('[call_out]\nurgent = ["silent", "sillent"]')],
            ["call_out.urgent[1]: there is no kind of event 'sillent' → silent"],
        ),
        (
            [table('[alarms]\nlow.priority = "soon"\nsilent.priority = "soon"\nhigh.priority = "record"')],
            ["note alarms.low.priority: nobody would be called before the taps run dry"],
        ),
        (
            [table('[alarms]\nsilent.priority = "record"\nlow.priority = "urgent"\nran-dry.priority = "record"')],
            [
                "note alarms.silent.priority: nobody would learn that a box died, and a dead box tells of no low tank",
                "note alarms.ran-dry.priority: nobody would be called when the taps run dry",
            ],
        ),
        ([table('[alarms]\nlwo.priority = "soon"')], ["alarms.lwo: there is no kind of event 'lwo'"]),
        (
            [("level_m = 0.45", 'level_m = 0.45\n  priority = "soon"')],
            ["note tanks[1].floats[0].priority: nobody would be called when 'House tank' is low, and the taps may "],
        ),
        (
            [("level_m = 0.45", 'level_m = 0.45\n  priority = "record"')],
            ["note tanks[1].floats[0].priority: nobody would be called when 'House tank' is low, and the taps may "],
        ),
        ([("level_m = 0.45", 'level_m = 0.45\n  priority = "urgent"')], []),
        ([("level_m = 0.45", 'level_m = 0.45\n  means = "high"\n  priority = "soon"')], []),
        ([("input = 2", 'input = 2\n  priority = "soon"')], []),
        (
            [("level_m = 0.45", 'level_m = 0.45\n  means = "high"'), ("input = 2", 'input = 2\n  priority = "soon"')],
            ["note tanks[0].floats[0].priority: nobody would be called when 'Spring tank' is low, and the taps may"],
        ),
        ([table('[bleed]\ntaps = ["laundry", "bath", "laundry"]')], ["note bleed.taps[2]: 'laundry' is named twice"]),
        ([table('[bleed]\ntaps = ["laundry", " ", "laundry"]')], ["bleed.taps[1]: is empty"]),
    ],
)
def test_what_is_said_of_priority(change, said):
    """Kinds, priorities that hide a dry tap, and taps."""
    problems = said_after(*change)
    assert len(problems) == len(said) and all(map(str.startswith, problems, said)), problems


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ([('"0491 570 006"', "[]")], ["controllers[0].number: has no number"]),
        (
            [('"0491 570 006"', '["0491 570 006", "0491 570 006"]')],
            ["controllers[0].number: +61491570006 is the number of 'ridge' too"],
        ),
        (
            [('"0491 570 156"', '"0491 570 006"')],
            ["note contacts[0].number: the controller 'Ridge box' has this number too: its texts would be taken fo"],
        ),
        (
            [('"02 5550 0100"', '"0491 570 156"')],
            [
                "note contacts[1].number: 'wren' has this number too",
                "note contacts[1].line: 0491 570 156 is a mobile number",
            ],
        ),
        (
            [('"0491 570 156"', '"02 5550 0101"')],
            ["note contacts[0].line: (02) 5550 0101 is a landline: a text is read out there, if it arrives at all"],
        ),
        (
            [('"0491 570 156"', '"0412 345 67"')],
            ["note contacts[0].number: 41234567 is a number that nobody has been given"],
        ),
        (
            [('"0491 570 156"', '"000"')],
            ["contacts[0].number: '000' calls an emergency service: no machine may text it"],
        ),
        ([('"0491 570 156"', '"Wren"')], ["contacts[0].number: 'Wren' cannot be a phone number of AU"]),
        ([('"0491 570 156"', "5")], ["contacts[0].number: input should be a valid string (found 5)"]),
        (
            [('"0491 570 006"', '"Ridge"')],
            ["note controllers[0].number: is a short code or a name, not a phone number"],
        ),
        ([('"0491 570 006"', '"12345"')], ["controllers[0].number: '12345' cannot be a phone number of AU"]),
        ([('"0491 570 006"', '"1234567"')], ["controllers[0].number: '1234567' cannot be a phone number of AU"]),
        ([('"0491 570 006"', '"+12"')], ["controllers[0].number: '+12' cannot be a phone number of AU"]),
        ([('"0491 570 006"', '"A1234567"')], ["controllers[0].number: 'A1234567' cannot be a phone number of AU"]),
        (
            [('"0491 570 006"', '"A123456"')],
            ["note controllers[0].number: is a short code or a name, not a phone number"],
        ),
        ([('"0491 570 006"', '"+A"')], ["note controllers[0].number: +A is no ordinary mobile or landline"]),
        ([('"0491 570 006"', '" "')], ["controllers[0].number: ' ' cannot be a phone number of AU"]),
        (
            [('"0491 570 006"', '["0491 570 006", "0900"]')],
            ["controllers[0].number: '0900' cannot be a phone number of AU"],
        ),
        (
            [('"0491 570 006"', '"1900 123 456"')],
            ["controllers[0].number: '1900 123 456' cannot be a phone number of AU"],
        ),
        (
            [('"0491 570 006"', '"0999 570 999"')],
            ["note controllers[0].number: 999570999 is a number that nobody has been given"],
        ),
        (
            [('"0491 570 006"', '"+88161234567"')],
            ["note controllers[0].number: +881 61234567 is a number that nobody has been given"],
        ),
        (
            [('device = "simulated"', 'device = "simulated"\nnumber = "049"')],
            ["modem.number: '049' cannot be a phone number of AU"],
        ),
        ([('device = "simulated"', 'device = "simulated"\nnumber = ""')], []),
    ],
)
def test_what_is_said_of_numbers(change, said):
    """Numbers of controllers, contacts and the modem."""
    problems = said_after(*change)
    assert len(problems) == len(said) and all(map(str.startswith, problems, said)), problems


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ([table('[[watch]]\ncontact = "wren"\nfrom = "18:00"\nuntil = "06:00"')], []),
        (
            [table('[[watch]]\ncontact = "wern"\nfrom = "18:00"\nuntil = "06:00"')],
            ["watch[0].contact: there is no contact 'wern' → wren"],
        ),
        (
            [table('[[watch]]\ncontact = "hall"\nfrom = "18:00"\nuntil = "06:00"')],
            ["watch[0].contact: Hall cannot answer OK by text, so that the others would only be told later"],
        ),
        ([table('[[watch]]\ncontact = "wren"\nfrom = "24:00"\nuntil = "06:00"')], ["watch[0].from: is no time of day"]),
        ([table('[[watch]]\ncontact = "wren"\nfrom = "00:00"\nuntil = "24:00"')], []),
        ([table('[[watch]]\ncontact = "wren"\nfrom = "25:00"\nuntil = "24:00"')], ["watch[0].from: is no time of day"]),
        ([table('[[watch]]\ncontact = "wren"\nfrom = "06:00"\nuntil = "6"')], ["watch[0].until: is no time of day"]),
        (
            [table('[[watch]]\ncontact = "wren"\nfrom = "06:00"\nuntil = "06:00"')],
            ["watch[0].until: ends as it begins"],
        ),
    ],
)
def test_what_is_said_of_watch(change, said):
    """Who has the watch, and when."""
    problems = said_after(*change)
    assert len(problems) == len(said) and all(map(str.startswith, problems, said)), problems
