"""What is measured of a movement is its first bars, with nothing left sounding."""

from __future__ import annotations

from pathlib import Path

import mido

from tests.benchmarks.pieces import opening

QUARTER = 480


def test_opening_ends_at_the_bar_line_whatever_the_metre(tmp_path: Path) -> None:
    """One bar in three, then bars in two: three bars are seven quarters; the last note is cut, the one after it is not there."""
    file = mido.MidiFile(type=1, ticks_per_beat=QUARTER)
    file.tracks.append(
        mido.MidiTrack(
            [
                mido.MetaMessage("time_signature", numerator=3, denominator=4),
                mido.MetaMessage("time_signature", numerator=2, denominator=4, time=3 * QUARTER),
            ]
        )
    )
    track = mido.MidiTrack()
    for pitch, quarters in ((60, 6), (62, 4), (64, 1)):
        track.append(mido.Message("note_on", note=pitch, velocity=64))
        track.append(mido.Message("note_off", note=pitch, time=quarters * QUARTER))
    file.tracks.append(track)
    path = tmp_path / "movement.mid"
    file.save(path)
    (tmp_path / "cut").mkdir()

    found = mido.MidiFile(opening(path, tmp_path / "cut", 3)).tracks[1]

    assert sum(message.time for message in found) == 7 * QUARTER
    assert [message.note for message in found if message.type == "note_on"] == [60, 62]
    assert [message.note for message in found if message.type == "note_off"] == [60, 62]
