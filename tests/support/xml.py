"""Small MusicXML files, written by hand for tests."""

from __future__ import annotations

from collections.abc import Sequence

from autoorch.sketch import Limits, Sketch
from autoorch.sketch.musicxml import read_musicxml

HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
COMMON = "<time><beats>4</beats><beat-type>4</beat-type></time>"


def note(
    pitch: str,
    duration: int | str,
    value: str = "",
    *,
    chord: bool = False,
    grace: str = "",
    inside: str = "",
    tuplet: tuple[int, int] | None = None,
    dots: int = 0,
    voice: str = "1",
    staff: int = 0,
    signs: str = "",
    after: str = "",
) -> str:
    """A `<note>`: pitch "C4", "Bb3" or "" for a rest; `inside` stands before the voice (ties), `after` at the end (lyrics)."""
    head = "<rest/>"
    if pitch:
        sign = {"#": "<alter>1</alter>", "b": "<alter>-1</alter>"}.get(pitch[1:-1], "")
        head = f"<pitch><step>{pitch[0]}</step>{sign}<octave>{pitch[-1]}</octave></pitch>"
    return "".join(
        (
            f"<note>{grace}{'<chord/>' if chord else ''}{head}",
            "" if grace else f"<duration>{duration}</duration>",
            f"{inside}<voice>{voice}</voice>",
            f"<type>{value}</type>" if value else "",
            "<dot/>" * dots,
            f"<time-modification><actual-notes>{tuplet[0]}</actual-notes><normal-notes>{tuplet[1]}</normal-notes>"
            "</time-modification>"
            if tuplet
            else "",
            f"<staff>{staff}</staff>" if staff else "",
            f"<notations>{signs}</notations>" if signs else "",
            f"{after}</note>",
        )
    )


def bar(content: str, number: str = "1", attributes: str = "", more: str = "") -> str:
    inner = f"<attributes>{attributes}</attributes>" if attributes else ""
    return f'<measure number="{number}"{more}>{inner}{content}</measure>'


def score(*parts: Sequence[str], names: Sequence[str] = ("Piano",), head: str = "") -> str:
    """A score of parts, each a list of `bar`s."""
    listed = "".join(
        f'<score-part id="P{k}"><part-name>{names[k % len(names)]}</part-name></score-part>' for k in range(len(parts))
    )
    music = "".join(f'<part id="P{k}">{"".join(bars)}</part>' for k, bars in enumerate(parts))
    return f'{HEAD}<score-partwise version="4.0">{head}<part-list>{listed}</part-list>{music}</score-partwise>'


def read(text: str, limits: Limits | None = None) -> Sketch:
    return read_musicxml(text.encode(), "test.musicxml", limits or Limits())


def places(sketch: Sketch) -> list[tuple[float, float, str]]:
    """(onset, duration) in quarters and pitch of each note, in the sketch's order."""
    return [(n.onset / sketch.ticks, n.duration / sketch.ticks, str(n.pitch)) for n in sketch.notes]
