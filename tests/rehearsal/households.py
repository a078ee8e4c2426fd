"""Invented households, as unlike each other as the configuration allows: each as the TOML file that its people would write."""

SITE = """
[site]
name = "Quandong Ridge"
timezone = "Australia/Sydney"
country = "AU"
[modem]
device = "/dev/gateway-modem"
"""
BOX = """
[[controllers]]
id = "ridge"
name = "Ridge box"
number = "0491 570 006"
rules = [
  { text = "LINE {input} {state} *", means = "input", active = ["MADE"], idle = ["BROKE"] },
  { text = "CALM *", means = "alive" },
]
"""
WREN = """
[[contacts]]
id = "wren"
name = "Wren"
number = "0491 570 156"
"""
ROBIN = """
[[contacts]]
id = "robin"
name = "Robin"
number = "0491 570 157"
turn = 2
"""

HOUSEHOLDS = {
    "one tank, one float": SITE
    + BOX
    + """
[[tanks]]
id = "house"
name = "House tank"
shape = { kind = "upright-cylinder", diameter_m = 1.6, height_m = 1.5 }
floats = [ { controller = "ridge", input = 1, level_m = 0.5 } ]
[source]
pump = { kind = "steady", flow_l_min = 1 }
[demand]
people = 3
[limits]
price_per_segment = 0.12
currency = "AUD"
"""
    + WREN
    + 'quiet = "22:00-06:30"\n',
    "no float, no figures": SITE
    + BOX
    + """
[[tanks]]
id = "house"
name = "House tank"
"""
    + WREN,
    "no demand, no source, no latitude, floats without levels": SITE
    + BOX
    + """
[[tanks]]
id = "house"
name = "House tank"
floats = [ { controller = "ridge", input = 1 }, { controller = "ridge", input = 2, means = "high" } ]
"""
    + WREN
    + ROBIN,
    "two boxes, one with expressions": SITE.replace("[modem]", "latitude = -35.2\n[modem]")
    + BOX
    + """
[[controllers]]
id = "creek"
name = "Creek box"
number = ["0491 570 110", "0491 570 159"]
silence_after = "30h"
ask = { text = "REPORT", every = "12h" }
rules = [
  { regex = '^creek\\s+(?P<input>\\w+)\\s+is\\s+(?P<state>dry|wet)$', means = "input", active = ["dry"], idle = ["wet"] },
  { regex = '^creek here at (?P<volts>\\d+\\.\\d) V$', means = "reading" },
  { text = "creek mains lost", means = "power-lost" },
  { text = "creek mains back", means = "power-back" },
]
[controllers.power]
battery = { capacity_ah = 7, volts = 12, chemistry = "lead-acid" }
panel = { watts = 5, tilt_deg = 60, facing_deg = 0, horizon_deg = 15 }
load = { standby_ma = 40, text_ma = 300, texts_per_day = 4 }
[[tanks]]
id = "hill"
name = "Hill tank"
shape = { kind = "litres", litres = 1500, height_m = 1.6 }
floats = [ { controller = "creek", input = "hill", level_m = 0.7 } ]
[[tanks]]
id = "house"
name = "House tank"
shape = { kind = "lying-cylinder", diameter_m = 1.2, length_m = 1.9 }
fed_by = ["hill"]
floats = [ { controller = "ridge", input = 1, level_m = 0.5 }, { controller = "ridge", input = 2, means = "high", level_m = 1.15 } ]
[source]
pump = { kind = "ram", drive_flow_l_min = 30, fall_m = 3, lift_m = 25, efficiency = 0.5 }
[demand]
people = 4
[call_out]
take_within = "20m"
remind_every = "1h"
[limits]
price_per_segment = 0.1
segments = 2
"""
    + WREN
    + ROBIN,
    "a farm with animals, a landline, settle and quiet hours": SITE
    + BOX
    + """
[[tanks]]
id = "settling"
name = "Settling tank"
shape = { kind = "box", length_m = 1.0, width_m = 1.0, height_m = 0.9 }
[[tanks]]
id = "stock"
name = "Stock tank"
shape = { kind = "tapered", bottom_diameter_m = 1.5, top_diameter_m = 1.8, height_m = 1.8 }
fed_by = ["settling"]
floats = [ { controller = "ridge", input = 3, level_m = 0.6, settle = "10m" } ]
[source]
pump = { kind = "steady", flow_l_min = 2 }
[demand]
people = 2
animals = [ { kind = "dairy cow", head = 12 }, { kind = "emu", head = 3, litres_per_head_day = 5 } ]
other_litres_day = 100
[call_out]
urgent = ["ran-dry", "low-over"]
[digest]
day = "sunday"
contacts = ["office"]
[[contacts]]
id = "office"
name = "Dairy office"
number = "02 5550 0110"
line = "landline"
[[contacts]]
id = "wren"
name = "Wren"
number = "0491 570 156"
about = ["tanks"]
quiet = "21:00-07:00"
may_ask = false
""",
    "in Spanish, in the north, with a balance": """
[site]
name = "Quandong Ridge"
timezone = "Europe/Madrid"
country = "ES"
language = "es"
latitude = 42.1
[modem]
device = "simulated"
[balance]
ussd = "*100#"
pattern = 'Credit (?P<amount>\\d+\\.\\d\\d)'
every = "7d"
low = 15.0
[limits]
price_per_segment = 0.09
chatter = false
[[controllers]]
id = "caja"
name = "Caja"
number = "+61 491 570 006"
silence_after = "auto"
rules = [
  { text = "Alarma {input} {state}", means = "input", active = ["ABIERTA"] },
  { text = "OK {volts} V", means = "reading" },
]
[[tanks]]
id = "casa"
name = "Depósito"
shape = { kind = "table", points = [[0.0, 0.0], [0.5, 700.0], [1.2, 2100.0]] }
floats = [ { controller = "caja", input = 1, level_m = 0.4 } ]
[source]
pump = { kind = "steady", flow_l_min = 1.2 }
[demand]
people = 5
[[contacts]]
id = "ana"
name = "Ana"
number = "+61 491 570 157"
""",
    "in Ukrainian, a landline alone, day's limit of three": SITE.replace("[modem]", 'language = "uk"\n[modem]')
    + BOX
    + """
[[tanks]]
id = "house"
name = "House tank"
shape = { kind = "litres", litres = 1200, height_m = 1.2 }
floats = [ { controller = "ridge", input = 1, level_m = 0.4 } ]
[source]
pump = { kind = "steady", flow_l_min = 0.6 }
[demand]
people = 4
[limits]
texts_per_day = 3
burst = 2
price_per_segment = 1
[[contacts]]
id = "office"
name = "Office"
number = "02 5550 0110"
line = "landline"
quiet = "20:00-08:00"
""",
    "nobody to tell": SITE
    + BOX
    + """
[[tanks]]
id = "house"
name = "House tank"
shape = { kind = "litres", litres = 1200, height_m = 1.2 }
floats = [ { controller = "ridge", input = 1, level_m = 0.4 } ]
[demand]
people = 4
""",
    "nothing but a box": SITE + BOX + WREN,
    "a box whose texts no rule reads": SITE
    + """
[[controllers]]
id = "ridge"
name = "Ridge box"
number = "0491 570 006"
[[tanks]]
id = "house"
name = "House tank"
shape = { kind = "litres", litres = 1200, height_m = 1.2 }
floats = [ { controller = "ridge", input = 1, level_m = 0.4 } ]
"""
    + WREN,
}
