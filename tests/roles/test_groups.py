"""The notes beside the tune: what waits, what comes again, what is off the beat."""

from __future__ import annotations

from autoorch.roles import read_roles
from tests.roles.support import sketch, strands

OOM_PAH = [(bar * 4, 1, "C2") for bar in range(4)] + [
    (bar * 4 + beat, 1, pitch) for bar in range(4) for beat in (1, 2, 3) for pitch in ("E3", "G3", "C4")
]
TUNE = [(k, 1, pitch) for k, pitch in enumerate(("G4", "A4", "B4", "C5", "D5", "E5", "D5", "C5") * 2)]


def test_chords_off_the_beat_stay_out_of_the_bass() -> None:
    read = sketch(*OOM_PAH, *TUNE, bars=4)
    found = {role: [str(read.by_id[n].pitch) for n in lines[0]] for role, _, lines in strands(read_roles(read))}
    assert set(found.get("bass", [])) | set(found.get("pedal", [])) == {"C2"}
    assert "off-beats" in {name for _, name, _ in strands(read_roles(read))}


def test_an_ostinato_is_one_strand() -> None:
    figure = [(bar * 4 + k, 1, pitch) for bar in range(4) for k, pitch in enumerate(("C2", "G2", "Eb2", "D2"))]
    reading = read_roles(sketch(*figure, *[(o, d, p) for o, d, p in TUNE if o % 2 == 0], bars=4))
    ostinato = [lines for _, name, lines in strands(reading) if name == "ostinato"]
    assert [len(line) for line in ostinato[0]] == [16]
