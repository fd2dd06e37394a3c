"""How loud a written dynamic is in MIDI.

Source: MusicXML 4.0, `sound/@dynamics` is a percentage of a forte of velocity 90; the steps between the dynamics are
those of music21's Dynamic.volumeScalar (10.5.1), on the same scale.
"""

from __future__ import annotations

VELOCITY = {"ppp": 19, "pp": 32, "p": 45, "mp": 57, "mf": 70, "f": 90, "ff": 108, "fff": 115}
"""Velocity of a note under each dynamic."""
AFTER = {"fp": "p", "sfp": "p", "sfpp": "pp"}
"""The dynamic that an accented one leaves in force."""
FORTE = VELOCITY["f"]
"""Velocity of 100 % in MusicXML."""
