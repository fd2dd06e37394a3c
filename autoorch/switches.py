"""What the commands can be told: the command line's options that several commands share, and all of `draft`."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import click

METRES = ("2/4", "3/4", "4/4", "6/8", "9/8", "12/8")
MIDI = click.option("--played/--notated", "played", default=None, help="What a MIDI file is (found out, and said).")
TEMPO = click.option(
    "--tempo", type=click.FloatRange(10, 400), metavar="N", help="Quarters a minute of played MIDI, about (found out)."
)
METRE = click.option("--metre", type=click.Choice(METRES), help="Bars of played MIDI (found out).")
CONSTRAINTS = click.option("--constraints", type=click.Path(path_type=Path), help="Own tables, file by file.")
REPLACE = click.option("--replace", is_flag=True, help="Replace a folder that is there.")
KEYS = click.option(
    "--key-signatures/--no-key-signatures", "keys", default=True, help="Without them all accidentals are written."
)
LAYERS = ("plan", "melody", "bass", "harmony", "accompaniment", "counterline", "finish")
"""As in autoorch.brief, which is read only where a command needs it."""

_DRAFTING = (
    click.argument("sketches", nargs=-1, type=click.Path(path_type=Path), metavar="[SKETCH...]"),
    click.option(
        "--for", "lineups", multiple=True, metavar="LINEUP", help="Preset or shorthand, repeatable (romantic)."
    ),
    click.option("--brief", "brief_file", type=click.Path(path_type=Path), help="Directions and line-up (TOML)."),
    click.option("--direct", multiple=True, metavar="TEXT", help='One direction, such as "9-16 melody must Oboe 1".'),
    click.option("--reading", "reading_file", type=click.Path(path_type=Path), help="An edited reading.toml."),
    click.option(
        "--intent",
        "intents",
        multiple=True,
        type=click.Choice(["faithful", "lean", "full"]),
        help="How much may be added, repeatable (full).",
    ),
    click.option(
        "--leading",
        "leads",
        multiple=True,
        type=click.Choice(["strings", "winds", "brass"]),
        help="Who leads, repeatable.",
    ),
    click.option("--under", type=click.Choice(["dialogue"]), help="Thin, no high solos, no accents."),
    click.option("--level", type=click.Choice(["professional", "student"]), help="Narrower limits for students."),
    click.option("--until", type=click.Choice(LAYERS), help="The last layer that adds anything (all)."),
    click.option("--without", multiple=True, type=click.Choice(LAYERS), help="A layer that is left out, repeatable."),
    click.option("--count", type=click.IntRange(1, 20), default=1, show_default=True, help="Drafts that truly differ."),
    click.option("--from", "origin", type=click.Path(path_type=Path), metavar="DIR", help="A draft to start from."),
    click.option(
        "--hold",
        "holds",
        multiple=True,
        metavar="TEXT",
        help='With --from: who plays stays, such as "9-16 melody" or "1-8", repeatable.',
    ),
    click.option("--bars", metavar="A-B", help="With --from: only these bars anew, the rest untouched."),
    click.option(
        "--keep", "keeps", multiple=True, metavar="DIR:A-B", help="These bars as that draft has them, repeatable."
    ),
    click.option(
        "--seconds", type=click.FloatRange(1, 3600), default=40.0, show_default=True, help="Effort of the solver."
    ),
    click.option(
        "--edited", type=click.Path(path_type=Path), metavar="SCORE", help="With --from: its score, edited elsewhere."
    ),
    MIDI,
    TEMPO,
    METRE,
    CONSTRAINTS,
    click.option("--workers", type=click.IntRange(1, 256), help="Processes for many cues (one a core)."),
    click.option("--scheduler", default="", metavar="ADDRESS", help="Dask scheduler for many cues (extra: cluster)."),
    click.option("--resume", is_flag=True, help="Leave out what stands finished in its folder."),
    click.option("--page/--no-page", default=True, show_default=True, help="report.html, to look at and listen to."),
    click.option("--parts", is_flag=True, help="A file a player or section too."),
    click.option("--pairs", is_flag=True, help="Like winds two on a stave, with 1. 2. a2."),
    KEYS,
    click.option("--pdf", is_flag=True, help="PDF of the score and parts (extra: pdf)."),
    click.option("--sound", is_flag=True, help="The mock-up as WAV and Opus, with stems (extra: sound)."),
    click.option("--soundfont", type=click.Path(path_type=Path), help="With --sound: a General MIDI soundfont (.sf2)."),
    click.option(
        "--humanise", type=int, is_flag=False, flag_value=1, metavar="[SEED]", help="A mock-up a little off the grid."
    ),
    click.option("--modulation", is_flag=True, help="The mock-up's curves as controller 1 too."),
    click.option("-o", "--output", type=click.Path(path_type=Path), help="Folder to write (named after the sketch)."),
    REPLACE,
)


def drafting(command: Callable[..., None]) -> Callable[..., None]:
    """The command with sketches and every option of a draft, in the order in which its help lists them."""
    for switch in reversed(_DRAFTING):
        command = switch(command)
    return command
