"""The rendered mock-up: length, loudness and true peak, stems that add up, seats, the same bytes, refusals."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
import soundfile

from autoorch.errors import OutputError
from autoorch.layers.assigned import assigned
from autoorch.layers.model import Material
from autoorch.sketch.model import Mark
from autoorch.tables import load_tables
from autoorch.write import audio
from autoorch.write.audio import Audio, render, soundfont, true_peak
from autoorch.write.manner import read_manner
from autoorch.write.performance import perform
from tests.support.hand import make_score, make_sketch, read_hand, whole
from tests.support.tiny import players

LOUDNESS = read_manner()["loudness"]


def made(dynamic: str = "mf") -> tuple[Audio, float]:
    sketch = make_sketch(["C5:2 D5:2 E5:4", "C3:4 G3:4", "E4:8"], marks=[Mark("dynamic", 0, 0, 0, dynamic)])
    lineup = players("flute", "violin", "cello")
    score = make_score(sketch, lineup, [whole(sketch, p.name, k) for k, p in enumerate(lineup.players, 1)])
    reading = read_hand(sketch, ("melody", "bass", "inner"))
    performance = perform(score)
    return render(performance, Material(assigned(sketch, reading, load_tables()), ()), soundfont()), performance.seconds


@pytest.fixture(scope="module")
def rendered() -> tuple[Audio, float]:
    return made()


def samples(data: bytes) -> audio.Samples:
    found, rate = soundfile.read(io.BytesIO(data), dtype="float32", always_2d=True)
    assert rate == 48_000
    return found


def test_the_mix_is_as_long_as_the_music_and_as_loud_as_the_table_says(rendered: tuple[Audio, float]) -> None:
    sound, seconds = rendered
    mix = samples(sound.wav)
    assert seconds <= len(mix) / 48_000 <= seconds + 10, "and dies away"
    assert sound.loudness == pytest.approx(LOUDNESS["target"], abs=0.5) or true_peak(mix) == pytest.approx(
        LOUDNESS["peak"], abs=0.1
    )
    assert true_peak(mix) <= LOUDNESS["peak"] + 0.05
    assert abs(len(samples(sound.opus)) - len(mix)) < 4_800


def test_stems_by_family_and_by_role_add_up_to_the_mix(rendered: tuple[Audio, float]) -> None:
    sound, _ = rendered
    mix = samples(sound.wav)
    assert set(sound.stems) == {"family-woodwind", "family-strings", "role-melody", "role-bass", "role-inner"}
    for kind in ("family", "role"):
        stems = [samples(data) for name, data in sound.stems.items() if name.startswith(kind)]
        total = np.zeros_like(mix)
        for stem in stems:
            total[: len(stem)] += stem
        assert np.abs(total - mix).max() < 1e-5
        assert all(np.abs(stem).max() > 0.001 for stem in stems), "none is silent"


def test_players_sit_where_the_table_puts_them() -> None:
    sketch = make_sketch(["C4:4"])
    for name, side in (("trombone", 1), ("harp", 0)):
        score = make_score(sketch, players(name), [whole(sketch, name, 1)])
        sound = render(
            perform(score), Material(assigned(sketch, read_hand(sketch), load_tables()), ()), soundfont(), stems=False
        )
        energy = np.sum(samples(sound.wav) ** 2, axis=0)
        assert energy[side] > 1.3 * energy[1 - side], name
        assert sound.stems == {}


def test_the_same_music_gives_the_same_bytes(rendered: tuple[Audio, float]) -> None:
    assert made()[0] == rendered[0]


def test_a_true_peak_lies_between_the_samples() -> None:
    """A sine at a quarter of the rate, 45 degrees off, is sampled at 0.707 of its height (ITU-R BS.1770-4, annex 2)."""
    wave = np.sin(np.pi / 2 * np.arange(48_000) + np.pi / 4).astype(np.float32)
    mix = np.stack([wave, wave], axis=1)
    assert 20 * np.log10(np.abs(mix).max()) == pytest.approx(-3.01, abs=0.01)
    assert true_peak(mix[1000:-1000] * 0.5) == pytest.approx(-6.02, abs=0.3)


def test_silence_stays_silence() -> None:
    assert true_peak(np.zeros((100, 2), np.float32)) == float("-inf")


def test_a_wrong_soundfont_is_told(tmp_path: Path) -> None:
    wrong = tmp_path / "font.sf2"
    with pytest.raises(OutputError, match="can't be read"):
        soundfont(wrong)
    wrong.write_bytes(b"not a soundfont")
    with pytest.raises(OutputError, match="no soundfont"):
        soundfont(wrong)


def test_a_missing_extra_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(audio, "PACKAGES", ("no_such_package",))
    with pytest.raises(OutputError, match=r"pip install 'autoorch\[sound\]'"):
        soundfont()
