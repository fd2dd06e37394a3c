"""The bass under broken chords."""

from __future__ import annotations

from autoorch.roles.read import read_roles
from tests.support.hand import make_sketch


def test_a_bass_that_broken_chords_have_bar_by_bar_is_theirs_where_it_lies_close_under_them_too() -> None:
    """In the second bar the figure begins a fourth above its lowest note, in the others a fifth and more."""
    bars = (
        "C3 G3 C4 E4 E4 C4 G3 C4",
        "D3 G3 B3 C4 C4 B3 G3 B3",
        "C3 G3 C4 E4 E4 C4 G3 C4",
        "G2 D3 G3 B3 B3 G3 D3 G3",
    )
    left = " ".join(f"{pitch}:0.5" for bar in bars for pitch in bar.split())
    sketch = make_sketch(["E5:2 G5:2 F5:2 D5:2 C5:2 E5:2 D5:4", left])
    bass = {n for s in read_roles(sketch).strands if s.role == "bass" for line in s.lines for n in line.notes}
    assert [str(n.pitch) for n in sketch.notes if n.id in bass] == ["C3", "D3", "C3", "G2"]
