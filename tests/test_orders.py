"""Options become jobs in their folders; what does not go together is told on one line."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from autoorch.cli import main
from autoorch.errors import AutoorchError
from autoorch.jobs import put, run
from autoorch.orders import Order, folder_names, jobs_of

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
CUES = (EXAMPLES / "harbour-snow-cue" / "sketch.musicxml", EXAMPLES / "stone-chapel-chorale" / "sketch.musicxml")


def test_each_sketch_line_up_and_variant_has_its_folder() -> None:
    jobs, told = jobs_of(
        Order(sketches=CUES[:1], lineups=("chamber", "string quartet"), intents=("lean", "full"), output=Path("out"))
    )
    assert told == ()
    assert [job.folder.as_posix() for job in jobs] == [
        "out/chamber/lean", "out/chamber/full", "out/string-quartet/lean", "out/string-quartet/full",
    ]  # fmt: skip
    assert [job.brief.intent for job in jobs] == ["lean", "full"] * 2
    assert [len(job.lineup.players) for job in jobs][::2] == [len(jobs[0].lineup.players), 4]


@pytest.mark.parametrize(
    ("files", "names"),
    [
        (("a/ferry.musicxml",), ["ferry"]),
        (("a/ferry.musicxml", "a/tram.mid"), ["ferry", "tram"]),
        (("a/ferry.musicxml", "a/ferry.mid"), ["ferry-musicxml", "ferry-mid"]),
        (("a/sketch.mid", "b/sketch.mid"), ["a-sketch", "b-sketch"]),
        (("a/sketch.mid", "a/sketch.xml", "b/sketch.xml"), ["a-sketch-mid", "a-sketch-xml", "b-sketch-xml"]),
        (("x/a/s.mid", "y/a/s.mid"), ["1-s", "2-s"]),
    ],
)
def test_sketches_of_one_name_have_folders_of_their_own(files: tuple[str, ...], names: list[str]) -> None:
    assert folder_names([Path(file) for file in files]) == names


def test_a_line_up_s_signs_make_no_folders() -> None:
    jobs, _ = jobs_of(
        Order(sketches=CUES[:1], lineups=("2.2.2.2 / 2.2.0.0 / str", "3(III=picc).2.2.2 - str"), output=Path("o"))
    )
    assert [job.folder.as_posix() for job in jobs] == ["o/2.2.2.2-2.2.0.0-str", "o/3(III=picc).2.2.2-str"]


def test_options_stand_over_the_brief() -> None:
    brief = EXAMPLES / "harbour-snow-cue" / "brief.toml"
    ((before, *_), _) = jobs_of(Order(sketches=CUES[:1], brief_file=brief))
    ((after, *_), _) = jobs_of(
        Order(
            sketches=CUES[:1],
            brief_file=brief,
            direct=("1-4 melody avoid Harp",),
            intents=("lean",),
            under="dialogue",
            level="student",
            without=("finish",),
        )
    )
    assert after.brief.directions[: len(before.brief.directions)] == before.brief.directions
    assert str(after.brief.directions[-1]) == "bars 1-4, melody: avoid Harp"
    assert (after.brief.intent, after.brief.under, after.brief.without) == ("lean", "dialogue", ("finish",))
    assert (
        {player.level for player in after.lineup.players}
        == {"student"}
        != {player.level for player in before.lineup.players}
    )


def test_a_record_is_made_again_byte_for_byte(tmp_path: Path) -> None:
    order = Order(sketches=CUES[1:], lineups=("string quartet",), seconds=2.0, output=tmp_path / "first")
    ((job,), _) = jobs_of(order)
    first = run(job)
    put(job, first)
    ((again,), told) = jobs_of(Order(sketches=(tmp_path / "first" / "draft.json",), output=tmp_path / "again"))
    assert told == ()
    assert dict(run(again).files) == dict(first.files)


@pytest.mark.parametrize(
    ("order", "said"),
    [
        ({}, "name a sketch"),
        ({"sketches": CUES, "reading_file": Path("r.toml")}, "--reading goes with one sketch"),
        ({"sketches": CUES, "bars": "1-4"}, "--bars, --hold and --edited go with --from"),
        ({"origin": Path("d"), "sketches": CUES}, "leave SKETCH"),
        ({"origin": Path("d"), "lineups": ("chamber", "classical")}, "give --for once"),
        ({"origin": Path("d"), "intents": ("lean", "full")}, "once"),
        ({"keeps": ("d:1-4",), "bars": "1-4"}, "--bars, --hold and --edited go with --from"),
        ({"origin": Path("d"), "edited": Path("e.xml"), "lineups": ("chamber",)}, "for its own players"),
        ({"sketches": (Path("draft.json"),), "lineups": ("chamber",)}, "made again as it was"),
        ({"sketches": (Path("nowhere.json"),)}, "can't be read"),
        ({"sketches": CUES[:1], "direct": ("melody sing",)}, "no wish"),
        ({"sketches": CUES[:1], "intents": ("lean", "lean")}, "would be written twice"),
        ({"origin": Path("d"), "level": "student"}, "--level with --from or --keep goes with --for"),
    ],
)
def test_what_does_not_go_together_is_told(order: dict[str, Any], said: str) -> None:
    with pytest.raises(AutoorchError) as caught:
        jobs_of(Order(**order))
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


def test_check_takes_a_draft_s_folder_and_a_folder_of_none_is_told(tmp_path: Path) -> None:
    order = Order(sketches=CUES[1:], lineups=("string quartet",), seconds=2.0, output=tmp_path / "first")
    ((job,), _) = jobs_of(order)
    put(job, run(job))
    by_folder, by_file, none = (
        CliRunner().invoke(main, ["check", str(path)])
        for path in (tmp_path / "first", tmp_path / "first" / "score.musicxml", tmp_path)
    )
    assert by_folder.output == by_file.output and "unplayable per 1,000 notes" in by_file.output
    assert none.exit_code == 1 and none.output.endswith("is a folder; name a file in it\n")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["draft", "--count", "0"], "'--count': 0 is not in the range"),
        (["drft"], "No such command 'drft'"),
        (["drft"], "did you mean draft? See autoorch --help"),
        (["--lineup", "draft"], "No such option '--lineup'. See autoorch --help"),
        (["draft", "x", "--seconds"], "See autoorch draft --help"),
        (["why", "one"], "Missing option '--bar'"),
        (["compare", "one", "two", "-o", "side.html"], "-o names a folder, compare.html is written inside it"),
        (["draft", "x", "--frm", "one"], "draft --help"),
    ],
)
def test_wrong_usage_is_one_line_that_says_where_to_look(words: list[str], said: str) -> None:
    made = CliRunner().invoke(main, words, prog_name="autoorch")
    assert made.exit_code == 2
    assert made.output.startswith("autoorch: ")
    assert made.output.count("\n") == 1
    assert said in made.output


def test_read_is_told_what_a_midi_file_is_and_which_tables_count(tmp_path: Path) -> None:
    midi, own = EXAMPLES / "harbour-snow-cue" / "sketch.mid", tmp_path / "own"
    own.mkdir()
    own.joinpath("beats.toml").write_text("gone = 1\n")

    def said(*more: str) -> str:
        return CliRunner().invoke(main, ["read", str(midi), "-o", str(tmp_path / "out"), "--replace", *more]).output

    assert "read as" not in said() and f"autoorch draft {midi} --reading" in said()
    assert "read as played in (as told)" in said("--played")
    assert f"autoorch draft {midi} --notated --reading" in said("--notated")
    assert "read as" not in said("--constraints", str(own)), "of a notated file nothing is played"
    assert said("--played", "--constraints", str(own)).startswith("autoorch: beats.toml, ")
