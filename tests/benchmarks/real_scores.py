"""The checker on real scores: findings per 1,000 notes by severity and rule, seconds, and every "unplayable" in full.

    python -m tests.benchmarks.real_scores [FOLDER ...] [--list unplayable]

Always: every score of eight parts or more in music21's corpus (without bwv 19.7, 79.3 and 130.6, whose baroque horns are
another instrument) and all its string quartets. FOLDER: further scores (.mxl, .musicxml, .xml), such as movements of the
public OpenScore Orchestra data set (github.com/MarkGotham/Hauptstimme); files whose name ends in _melody are left out.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import music21

from autoorch.check import check
from autoorch.check.report import SEVERITIES

CORPUS = Path(music21.__file__).parent / "corpus"
EIGHT_PARTS = (
    *("120.8-a", "137.5", "149.7", "171.6", "190.7-inst", "195.6", "248.23-2", "248.42-4", "248.64-6", "248.9-1"),
    *("29.8", "41.6", "69.6"),
)
QUARTETS = (
    "haydn/opus1no1",
    "haydn/opus74no1",
    *(f"mozart/{work}" for work in ("k155", "k156", "k458", "k80")),
    *(
        f"beethoven/opus{work}"
        for work in ("132", "133", "18no1", "18no3", "18no4", "18no5", "59no1", "59no2", "59no3", "74")
    ),
    "schumann_robert/opus41no1",
)


def large() -> list[Path]:
    """Scores of eight parts or more."""
    return [path for number in EIGHT_PARTS for path in sorted((CORPUS / "bach").glob(f"bwv{number}.[mx]*"))]


def quartets() -> list[Path]:
    files = []
    for work in QUARTETS:
        folder = CORPUS / work
        files += sorted(folder.glob("*.mxl")) if folder.is_dir() else [folder.with_suffix(".mxl")]
    return files


def measure(title: str, files: Sequence[Path], listed: str) -> None:
    notes, counts, rules = 0, Counter[str](), Counter[tuple[str, str]]()
    began = time.perf_counter()
    print(f"\n{title}: {len(files)} scores")
    for path in files:
        report = check(path)
        notes += report.notes
        counts.update(finding.severity for finding in report.findings)
        rules.update((finding.severity, finding.rule) for finding in report.findings)
        for finding in report.findings:
            if finding.severity == listed:
                print(
                    f"  {path.parent.name}/{path.name} bar {finding.bar}, {finding.part}: {finding.rule}: {finding.message}"
                )
    seconds = time.perf_counter() - began
    rates = ", ".join(f"{1000 * counts[severity] / max(1, notes):.2f} {severity}" for severity in SEVERITIES)
    print(f"  {notes} notes in {seconds:.1f} s; per 1,000 notes: {rates}")
    for (severity, rule), count in sorted(rules.items(), key=lambda item: (SEVERITIES.index(item[0][0]), item[0][1])):
        print(f"    {severity:10} {rule:20} {count:5}  {1000 * count / notes:.2f}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", nargs="*", type=Path, help="folders of further scores")
    parser.add_argument("--list", default="unplayable", choices=SEVERITIES, help="findings to print in full")
    arguments = parser.parse_args()
    measure("eight parts and more", large(), arguments.list)
    measure("string quartets", quartets(), arguments.list)
    for folder in arguments.folders:
        files = sorted(path for path in folder.iterdir() if path.suffix in (".mxl", ".musicxml", ".xml"))
        measure(str(folder.name), [path for path in files if not path.stem.endswith("_melody")], arguments.list)


if __name__ == "__main__":
    main()
