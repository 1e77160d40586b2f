"""Class letters of reference designators.

Source: IEEE Std 315-1975 (ANSI Y32.2), clause 22.4, in our own words; rules of formation in ASME
Y14.44-2008. The standards were not seen: the letters were read in secondary lists, those of
EQ, HP, HR, HS, HT, MG, MT, PU, RE, SQ, SR, TR, WT, LED, SW, IC, VDR come from memory.
The list may miss rare classes.
"""

from __future__ import annotations

__all__ = ["CLASSES", "OUTSIDE"]

#: Class letters of the standard → what they stand for.
CLASSES: dict[str, str] = {
    "A": "assembly or subassembly, separable",
    "AR": "amplifier (other than rotating), repeater",
    "AT": "attenuator, isolator, pad, termination",
    "B": "fan, blower, motor, synchro",
    "BT": "battery, cell, solar cell",
    "C": "capacitor, fixed or variable, any number of elements",
    "CB": "circuit breaker",
    "CP": "connector adapter, coupling, junction of coaxial line or waveguide",
    "CR": "diode (alternative to D)",
    "D": "diode, rectifier, bridge, varactor, two-terminal thyristor",
    "DC": "directional coupler",
    "DL": "delay line or function",
    "DS": "lamp, indicator, light-emitting diode, display, annunciator",
    "E": "miscellaneous electrical part: antenna, terminal, ferrite bead ring, shield, insulator, spark gap, splice",
    "EQ": "equalizer",
    "F": "fuse",
    "FL": "filter",
    "G": "generator, oscillator, chopper, magneto",
    "H": "hardware, common fasteners",
    "HP": "hydraulic part",
    "HR": "heater, heating lamp or resistor",
    "HS": "handset",
    "HT": "earphone, headset receiver",
    "HY": "circulator, hybrid circuit",
    "J": "connector, least movable of a pair, jack, receptacle",
    "K": "relay, contactor, electrically operated",
    "L": "inductor, coil, winding, reactor",
    "LS": "loudspeaker, buzzer, bell, horn",
    "M": "meter, instrument, clock, counter, recorder",
    "MG": "motor-generator",
    "MK": "microphone",
    "MP": "mechanical part",
    "MT": "transducer, measuring or mode",
    "P": "connector, most movable of a pair, plug",
    "PS": "power supply, complete",
    "PU": "pickup, recording or reading head",
    "Q": "transistor, three-terminal thyristor",
    "R": "resistor, potentiometer, rheostat, shunt",
    "RE": "radio receiver",
    "RT": "thermistor, ballast lamp, current-regulating resistor",
    "RV": "voltage-dependent resistor (symmetrical varistor)",
    "S": "switch, key, thermostat, thermal cutout",
    "SQ": "electric squib",
    "SR": "slip ring, rotating contact",
    "T": "transformer",
    "TB": "terminal board or strip",
    "TC": "thermocouple",
    "TR": "radio transmitter",
    "U": "integrated circuit, microcircuit, inseparable assembly, optical isolator",
    "V": "electron tube, photoelectric cell",
    "VR": "voltage regulator diode (breakdown diode), regulator",
    "W": "cable, wire, bus bar, waveguide, jumper wire",
    "WT": "wiring tie point",
    "X": "socket, fuse holder, lamp holder; followed by the class letter of the part held, as XF, XDS, XU",
    "Y": "crystal unit, resonator, tuning fork",
    "Z": "general network, tuned cavity, phase-changing network",
}

#: Letters common outside the standard → the standard class to use, or "" where it is no part at all.
OUTSIDE: dict[str, str] = {
    "TP": "E",
    "BR": "D",
    "CN": "C",
    "FB": "E",
    "FD": "",
    "GN": "Z",
    "HW": "H",
    "JP": "W",
    "LED": "DS",
    "MH": "",
    "RN": "R",
    "SW": "S",
    "TUN": "A",
    "XTAL": "Y",
    "IC": "U",
    "VDR": "RV",
}
