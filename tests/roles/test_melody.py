"""What a tune is given besides its likeliest notes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from autoorch.roles.melody import find_melody, melody_table, with_upbeats
from autoorch.roles.parameters import parameters
from autoorch.roles.read import read_roles
from autoorch.roles.strands import one_line
from autoorch.roles.texture import Texture
from autoorch.sketch import read_sketch
from autoorch.tables import load_tables
from tests.roles.support import piece, sketch
from tests.support.hand import make_sketch

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
ROWS = [(0.0, 2.0, "D5"), (0.0, 2.0, "D3"), (3.0, 1.0, "D4"), (4.0, 2.0, "B4"), (4.0, 4.0, "G2")]


def tune(*extra: tuple[float, float, str], voices: int = 2) -> list[str]:
    """Pitches of D5, a rest and B4 with what leads to B4; notes under C4 stand on a staff of their own where there are two."""
    read = sketch(*ROWS, *extra)
    if voices == 2:
        read = replace(read, notes=tuple(replace(n, staff=int(n.pitch.midi < 60)) for n in read.notes))
    texture = Texture(read)
    own = [tone for tone in texture.tones if tone.pitch in (71, 74)]
    return [str(read.by_id[tone.id].pitch) for tone in with_upbeats(texture, own)]


def test_a_lone_note_that_leads_to_the_tune_is_its_upbeat() -> None:
    assert tune() == ["D5", "D4", "B4"]


def test_a_note_with_company_or_without_voices_written_is_none() -> None:
    assert tune((3.0, 1.0, "F#4")) == ["D5", "B4"], "a chord leads there"
    assert tune((3.0, 1.0, "F#3")) == ["D5", "D4", "B4"], "the other hand plays with it"
    assert tune(voices=1) == ["D5", "B4"], "nothing says whose note it is"


def test_the_waltz_comes_home_with_its_upbeat() -> None:
    read = read_sketch(EXAMPLES / "lighthouse-waltz" / "sketch.musicxml")
    last = next(bar for bar in read.bars if bar.number == "48")
    upbeat = next(n for n in read.notes if n.onset == last.onset + 2 * read.ticks)
    reading = read_roles(read)
    strand = next(s for s in reading.strands if s.id == reading.strand_of[upbeat.id])
    assert strand.role == "melody"
    assert upbeat.onset in {phrase.start for phrase in reading.phrases}


def test_what_two_hands_play_is_no_song_for_its_octaves() -> None:
    texture = Texture(piece("joplin/maple_leaf_rag"))
    tables = load_tables()
    found = {tone.index for tone in find_melody(texture, melody_table(tables), parameters(tables)["figure"])}
    right = [[tone for tone in group if tone.staff == 0] for group in texture.attacks.values()]
    tops = {group[0].index for group in right if group}
    assert len(tops) > 400
    assert len(found & tops) >= 0.98 * len(tops), "a rag's tune is what the right hand has on top"


def test_a_note_held_into_the_next_does_not_part_the_tune() -> None:
    texture = Texture(sketch((0, 1.05, "C5"), (1, 1, "D5"), (2, 1, "E5"), (3, 1, "D5"), (4, 1, "B4"), bars=2))
    names = [[str(texture.sketch.by_id[tone.id].pitch) for tone in line] for line in one_line(texture.tones)]
    assert names == [["C5", "E5", "D5", "B4"], ["D5"]]


def test_while_a_voice_with_words_sings_the_tune_is_its_own() -> None:
    voice = "E4:2 G4:1 -:1 A4:2 G4:1 -:1 F4:2 E4:2 -:4 -:4 E4:2 D4:2 C4:4"
    piano = "C4:1 E4:1 C5:1 E5:1 C4:1 F4:1 C5:1 A5:1 D4:1 A4:1 C4:1 A4:1 G5:2 E5:2 A5:2 F5:2 G4:1 C4:1 B3:1 F4:1 E4:4"
    sung = {f"a{k}": {"lyric": "la"} for k in range(12)}
    for words in (sung, {}):
        read = make_sketch([voice, piano, "C3:4 F3:4 D3:4 C3:4 F3:4 G2:4 C3:4"], notes=words)
        tables = load_tables()
        own = find_melody(Texture(read), melody_table(tables), parameters(tables)["figure"])
        found = {tone.id for tone in own}
        singing = {note.id for note in read.notes if note.staff == 0}
        beside = {note.id for note in read.notes if note.staff == 1 and note.onset < read.bars[3].onset}
        assert not words or (singing <= found and not beside & found)
    assert beside & found, "without the words the piano is taken for the tune too"
