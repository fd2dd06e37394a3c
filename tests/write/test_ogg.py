"""Pages of an Ogg file: checksums, one serial number for the same sound."""

from __future__ import annotations

import io

import numpy as np
import pytest
import soundfile

from autoorch.write.ogg import checksum, pages, same_serial


def opus(seconds: float) -> bytes:
    tone = 0.3 * np.sin(2 * np.pi * 440 * np.arange(int(48_000 * seconds)) / 48_000)
    file = io.BytesIO()
    soundfile.write(file, np.stack([tone, tone], axis=1), 48_000, format="OGG", subtype="OPUS")
    return file.getvalue()


def test_checksums_are_those_that_the_encoder_wrote() -> None:
    for page in pages(opus(1.5)):
        assert checksum(page[:22] + bytes(4) + page[26:]) == int.from_bytes(page[22:26], "little")


def test_two_encodings_become_the_same_bytes_and_sound_as_before() -> None:
    first, second = opus(2), opus(2)
    made = same_serial(first)
    assert made == same_serial(second)
    before, _ = soundfile.read(io.BytesIO(first))
    after, rate = soundfile.read(io.BytesIO(made))
    assert rate == 48_000 and np.array_equal(before, after)


def test_other_bytes_are_refused() -> None:
    with pytest.raises(ValueError, match="Ogg"):
        pages(b"RIFF" + bytes(40))
