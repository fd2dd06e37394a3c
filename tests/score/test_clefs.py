from __future__ import annotations

from collections.abc import Sequence

from autoorch.score.transpose import at_concert_pitch
from tests.support.hand import make_score, make_sketch, whole
from tests.support.tiny import players


def clefs(
    music: str, instrument: str, concert: bool = False, slurs: Sequence[tuple[str, str]] = ()
) -> list[tuple[tuple[int, str], ...]]:
    sketch = make_sketch([music], slurs=slurs)
    score = make_score(sketch, players(instrument), [whole(sketch, instrument, 1)])
    return [m.clefs for m in (at_concert_pitch(score) if concert else score).parts[0].measures]


def bars(*names: str) -> str:
    return " ".join(f"{name}:1 {name}:1 {name}:1 {name}:1" for name in names)


def test_a_high_cello_passage_leaves_the_bass_clef_and_comes_back() -> None:
    assert clefs(bars("C3", "C3", "C5", "B4", "D5", "C3", "C3", "G2"), "cello") == [
        ((1, "bass"),), (), ((1, "tenor"),), (), (), ((1, "bass"),), (), (),
    ]  # fmt: skip
    assert clefs(bars("C3", "E5", "F5", "G5", "C3"), "cello")[1] == ((1, "treble"),)


def test_a_clef_changes_back_at_a_rest_and_not_under_a_slur() -> None:
    """A bar of middling height may go with either clef: the change waits for the rest, or for the end of the slur."""

    def changes(music: str, *slurs: tuple[str, str]) -> list[int]:
        return [bar for bar, found in enumerate(clefs(music, "cello", slurs=slurs)) if found]

    high, low = bars("C5", "D5", "B4"), bars("C3", "G2", "C3")
    assert changes(f"{bars('C3')} {high} F3:4 -:1 F3:3 {low}") == [0, 1, 5]
    assert changes(f"{bars('C3')} {high} F3:4 F3:4 {low}") == [0, 1, 4]
    falling = f"{bars('C3')} {high} C4:1 B3:1 A3:1 G3:1 {low}"
    assert changes(falling) == [0, 1, 4]
    assert changes(falling, ("a12", "a19")) == [0, 1, 5]


def test_single_high_notes_change_nothing() -> None:
    assert clefs(bars("C3") + " C3:1 B4:1 C3:2 " + bars("C3"), "cello") == [((1, "bass"),), (), ()]
    assert clefs(bars("C4", "E5", "C4"), "viola") == [((1, "alto"),), (), ()]
    assert clefs(bars("C6", "A6", "B3"), "violin") == [((1, "treble"),), (), ()]


def test_a_viola_goes_to_the_treble_clef_and_a_bassoon_to_the_tenor_clef() -> None:
    assert clefs(bars("C4", "B5", "C6", "A5", "C4"), "viola")[1] == ((1, "treble"),)
    assert clefs(bars("C3", "B4", "A4", "B4", "C3"), "bassoon")[1] == ((1, "tenor"),)


def test_a_low_transposing_instrument_reads_bass_clef_at_concert_pitch() -> None:
    assert clefs(bars("D2", "E2"), "bass_clarinet") == [((1, "treble"),), ()]
    assert clefs(bars("D2", "E2"), "bass_clarinet", concert=True) == [((1, "bass"),), ()]


def test_both_staves_of_a_harp_have_clefs() -> None:
    assert clefs(bars("C5"), "harp") == [((1, "treble"), (2, "bass"))]
