"""Small records that several tests of the desk use."""

HEATER = """lidoff = 1
[item]
title = "Foot warmer with two heats"
kind = "appliance"
[supply]
voltage = "230 V"
frequency = "50 Hz"
resistance = 0
[[part]]
ref = "S1"
kind = "switch"
nodes = ["live", "a"]
[[part]]
ref = "D1"
kind = "diode"
nodes = { anode = "a", cathode = "b" }
[[part]]
ref = "S2"
kind = "switch"
closed = false
nodes = ["a", "b"]
[[part]]
ref = "R1"
kind = "resistor"
value = "529 R"
rating = { power = "60 W" }
nodes = ["b", "neutral"]
"""
STRIP = """lidoff = 1
[item]
title = "Strip of twelve sections"
[[part]]
ref = "BR1"
kind = "bridge"
nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" }
[[block]]
name = "section"
repeat = 12
nodes = ["p", "m"]
[[part]]
ref = "R1"
kind = "resistor"
value = "150R"
block = "section"
nodes = ["in", "x"]
[[part]]
ref = "LED1"
kind = "led"
series = 6
forward_voltage = "3 V"
block = "section"
nodes = { anode = "x", cathode = "out" }
"""
