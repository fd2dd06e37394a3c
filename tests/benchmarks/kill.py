"""Writers killed at random moments: what stands in the folder's place is always whole, the old or the new.

    python -m tests.benchmarks.kill [--times 200] [--seed 1]

A process of its own writes folder after folder of three files in turn, each file filled with the number of its round; it is
killed without warning (signal 9) at a random moment. Then the folder must hold three files of one and the same round.
"""

from __future__ import annotations

import argparse
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

FILES = ("score.musicxml", "mockup.mid", "parts/Horn 1.musicxml")
SIZE = 200_000
WRITER = f"""
import itertools, sys
from pathlib import Path
from autoorch.write.files import write_folder
print("ready", flush=True)
for turn in itertools.count():
    data = b"%07d," % turn * ({SIZE} // 8)
    write_folder(Path(sys.argv[1]), {{name: (lambda file: file.write(data)) for name in {FILES!r}}}, replace=True)
"""


def broken(out: Path) -> str:
    """What is wrong with the folder; "" where it is whole or not there yet."""
    if not out.exists():
        return ""
    names = sorted(str(path.relative_to(out)) for path in out.rglob("*") if path.is_file())
    if names != sorted(FILES):
        return f"files {names}"
    contents = {(out / name).read_bytes() for name in FILES}
    if len(contents) != 1:
        return "files of different rounds"
    data = contents.pop()
    return "" if len(data) == SIZE // 8 * 8 and data == data[:8] * (SIZE // 8) else "a half-written file"


def kill(folder: Path, rng: random.Random) -> str:
    """One writer started, killed and looked after."""
    out = folder / "out"
    with subprocess.Popen([sys.executable, "-c", WRITER, str(out)], stdout=subprocess.PIPE) as writer:
        assert writer.stdout is not None
        writer.stdout.readline()
        time.sleep(rng.uniform(0, 0.2))
        writer.send_signal(signal.SIGKILL)
        writer.wait()
    return broken(out)


def gone(folder: Path) -> bool:
    """Killed between stepping aside and taking its place: the old folder stands whole in a hidden one beside it."""
    return not (folder / "out").exists() and any(broken(path) == "" for path in folder.glob(".out.old.*/out"))


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--times", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args(arguments)
    rng = random.Random(options.seed)
    faults, aside = [], 0
    for _ in range(options.times):
        with tempfile.TemporaryDirectory() as name:
            if fault := kill(Path(name), rng):
                faults.append(fault)
            aside += gone(Path(name))
    print(f"{len(faults)} of {options.times} killed writers left something broken; {aside} with the old folder aside")
    for fault in faults:
        print(f"  {fault}")
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
