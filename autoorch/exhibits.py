"""What shows a draft besides its files: the page to look at, PDF of score and parts, the mock-up as sound."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

from autoorch.check import check
from autoorch.delivery import told_of
from autoorch.lineup import level_of
from autoorch.pipeline import Result
from autoorch.tables import Tables
from autoorch.write.audio import render, soundfont
from autoorch.write.engrave import Engraving, engrave
from autoorch.write.midi import midi_file
from autoorch.write.page.balance import balance
from autoorch.write.page.grid import grid_data
from autoorch.write.page.report import Heard, report_page
from autoorch.write.page.texture import texture
from autoorch.write.pdf import pdf, ready
from autoorch.write.performance import Performance, perform

SCORE = "score.musicxml"


@dataclass(frozen=True)
class Extras:
    """What is asked for.

    Attributes:
        page: report.html; pdf: of the score and of what stands in parts/; sound: WAV, Opus and stems.
        font: soundfont; the one that comes with the extra where None.
        seed: of uneven timing in the mock-up, exactly on the grid where None.
        modulation: expression curves as controller 1 too.
    """

    page: bool = False
    pdf: bool = False
    sound: bool = False
    font: Path | None = None
    seed: int | None = None
    modulation: bool = False

    def check(self) -> None:
        """Nothing, where all that it takes is installed.

        Raises:
            OutputError: what to install, or what is wrong with the soundfont.
        """
        if self.pdf:
            ready()
        if self.sound:
            soundfont(self.font)


def exhibits(result: Result, files: Mapping[str, bytes], extras: Extras) -> dict[str, bytes]:
    """The files asked for, by name inside the draft's folder.

    Args:
        files: those that the draft has already, as `delivery.outputs` writes them.

    Raises:
        OutputError: as `Extras.check`.
    """
    extras.check()
    found: dict[str, bytes] = {}
    tables = result.problem.tables
    heard = None
    if extras.sound or extras.seed is not None or extras.modulation:
        played = perform(result.score, tables, seed=extras.seed, modulation=extras.modulation)
        file = BytesIO()
        midi_file(played).save(file=file)
        found["mockup.mid"] = file.getvalue()
        if extras.sound:
            audio = render(played, result.material, soundfont(extras.font), tables)
            found |= {"mockup.wav": audio.wav, "mockup.opus": audio.opus}
            found |= {f"stems/{name}.flac": data for name, data in audio.stems.items()}
            heard = Heard(audio.opus, bar_seconds(played))
    if extras.pdf or extras.page:
        house = result.score.house
        score = engrave(files[SCORE], house)
        if extras.pdf:
            found["score.pdf"] = pdf(score, result.sketch.title)
            for name in sorted(files):
                if name.startswith("parts/") and name.endswith(".musicxml"):
                    found[name.removesuffix(".musicxml") + ".pdf"] = pdf(engrave(files[name], house), Path(name).stem)
        if extras.page:
            found["report.html"] = _report(result, files[SCORE], score, heard)
    return found


def bar_seconds(played: Performance) -> list[tuple[int, float]]:
    """(index of a played bar, second at which it begins)."""
    starts = [played.tempo.seconds(played.clock.midi(start)) for start in played.clock.starts]
    return list(zip(played.order, starts, strict=True))


def _report(result: Result, musicxml: bytes, score: Engraving, heard: Heard | None) -> bytes:
    grid = grid_data(
        result.lineup.name,
        result.sketch,
        result.reading,
        result.lineup,
        result.material,
        result.draft,
        result.score,
        result.reasons,
        balance(result.problem, result.draft.choices),
    )
    return report_page(
        result.sketch,
        result.draft,
        grid,
        texture(result.sketch, result.lineup, result.material, result.draft.choices, result.problem.tables),
        findings(musicxml, result.problem.tables, level_of(result.lineup)),
        score.pages,
        dict(told_of(result)),
        heard,
    )


def findings(musicxml: bytes, tables: Tables, level: str) -> list[dict[str, str]]:
    """What the check finds in a score as it is written, for players of that level."""
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / SCORE
        path.write_bytes(musicxml)
        found = json.loads(check(path, tables=tables, level=level).json())["findings"]
    return [dict(row) for row in found]
