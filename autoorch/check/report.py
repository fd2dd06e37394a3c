"""What the checker found: findings with place, figure, limit and source; waivers; the report as text and as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from autoorch.errors import TableError
from autoorch.toml import Schema, read

SEVERITIES = ("unplayable", "risky", "style")

WAIVERS: Schema = {"waive": [{"rule": str, "part?": str, "bars?": str, "reason": str}]}


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that a player or the conductor would stumble over.

    Attributes:
        severity: "unplayable", "risky" or "style".
        rule: name of the rule, as waivers call it.
        bar, beat: as printed ("12", "3.5").
        part: name of the stave; "" where it is the whole score's.
        figure: what was found; limit: what it is held against.
        source: where the limit comes from.
        message: all of it in words, one line.
        tick, order: place in time and place in the score, for sorting.
    """

    severity: str
    rule: str
    bar: str
    beat: str
    part: str
    figure: str
    limit: str
    source: str
    message: str
    tick: int = field(repr=False, default=0)
    order: int = field(repr=False, default=0)

    @property
    def waiver(self) -> dict[str, str]:
        """What a `[[waive]]` table of this finding says, but for the reason."""
        wanted = {"rule": self.rule, "part": self.part, "bars": self.bar}
        return {name: value for name, value in wanted.items() if value}

    @property
    def key(self) -> tuple[int, int, int, str, str]:
        return SEVERITIES.index(self.severity), self.tick, self.order, self.rule, self.message


@dataclass(frozen=True, slots=True)
class Waiver:
    """A finding that somebody accepts: `rule` ("*" for any) in `part` and `bars` (first and last as printed), with the reason."""

    rule: str
    reason: str
    part: str = ""
    bars: tuple[str, str] | None = None

    def covers(self, finding: Finding) -> bool:
        if self.rule not in ("*", finding.rule) or self.part not in ("", finding.part):
            return False
        if self.bars is None:
            return True
        if finding.bar in self.bars:
            return True
        first, last, here = (_digits(bar) for bar in (*self.bars, finding.bar))
        return first is not None and last is not None and here is not None and first <= here <= last


def _digits(bar: str) -> int | None:
    return int(bar) if bar.isdecimal() else None


def read_waivers(path: Path) -> tuple[Waiver, ...]:
    """A TOML file of `[[waive]]` tables: rule, reason, and optionally part and bars ("12" or "12-16").

    Raises:
        TableError: for an unreadable file, an unknown or missing key.
    """
    found = []
    for number, row in enumerate(read(path, WAIVERS)["waive"], 1):
        if not row["reason"].strip():
            raise TableError("a waiver wants a reason", path.name, f"waive[{number}].reason")
        bars = None
        if text := row.get("bars", "").strip():
            first, _, last = (piece.strip() for piece in text.partition("-"))
            bars = (first, last or first)
        found.append(Waiver(row["rule"], row["reason"], row.get("part", ""), bars))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class CheckReport:
    """All findings of one score.

    Attributes:
        file: name of the score's file, without its folder.
        notes: attacks in the score, ties merged.
        findings: sorted by severity, time, part and rule; waived: those that a waiver covers, with its reason.
        notices: what was assumed in reading.
    """

    file: str
    notes: int
    findings: tuple[Finding, ...]
    waived: tuple[tuple[Finding, str], ...] = ()
    notices: tuple[str, ...] = ()

    @property
    def counts(self) -> dict[str, int]:
        return {severity: sum(f.severity == severity for f in self.findings) for severity in SEVERITIES}

    @property
    def unplayable(self) -> int:
        return self.counts["unplayable"]

    def rate(self, severity: str) -> float:
        """Findings per 1,000 notes."""
        return 1000 * self.counts[severity] / max(1, self.notes)

    @property
    def last_line(self) -> str:
        figures = [self.rate(severity) for severity in SEVERITIES]
        word = "finding" if len(self.findings) == 1 else "findings"
        return (
            f"{len(self.findings)} {word}; {figures[0]:.2f} unplayable per 1,000 notes, "
            f"{figures[1]:.2f} risky, {figures[2]:.2f} style"
        )

    def text(self) -> str:
        """Lines for a terminal, grouped by severity, sources once below them; the last one holds the figures (no line break
        after it)."""
        lines = [f"note: {notice}" for notice in self.notices]
        sources = {source: n for n, source in enumerate(dict.fromkeys(finding.source for finding in self.findings), 1)}
        for severity in SEVERITIES:
            group = [finding for finding in self.findings if finding.severity == severity]
            if group:
                lines.append(f"{severity} ({len(group)})")
            for finding in group:
                place = f"bar {finding.bar}, beat {finding.beat}" + (f", {finding.part}" if finding.part else "")
                lines.append(f"  {place}: {finding.rule}: {finding.message} [{sources[finding.source]}]")
        lines += [f"[{number}] {source}" for source, number in sources.items()]
        if self.findings:
            first = " ".join(f'{name} = "{value}"' for name, value in self.findings[0].waiver.items())
            lines.append(f'to accept one, with --waive FILE: [[waive]] {first} reason = "..." (one key a line)')
        if self.waived:
            lines.append(f"waived ({len(self.waived)})")
            for finding, reason in self.waived:
                lines.append(f"  bar {finding.bar}, {finding.part}: {finding.rule}: {reason}")
        lines.append(self.last_line)
        return "\n".join(lines)

    def json(self) -> str:
        """The same as one JSON object, keys in a fixed order."""
        data = {
            "file": self.file,
            "notes": self.notes,
            "per_1000": {severity: round(self.rate(severity), 3) for severity in SEVERITIES},
            "counts": self.counts,
            "findings": [_plain(finding) for finding in self.findings],
            "waived": [{**_plain(finding), "reason": reason} for finding, reason in self.waived],
            "notices": list(self.notices),
        }
        return json.dumps(data, ensure_ascii=False, indent=1)


def _plain(finding: Finding) -> Mapping[str, Any]:
    names = ("severity", "rule", "bar", "beat", "part", "figure", "limit", "source", "message")
    return {name: getattr(finding, name) for name in names} | {"waive": finding.waiver}


def report(
    file: str, notes: int, found: Iterable[Finding], waivers: tuple[Waiver, ...], notices: Iterable[str]
) -> CheckReport:
    """Sorts the findings and takes out those that a waiver covers."""
    kept: list[Finding] = []
    waived: list[tuple[Finding, str]] = []
    for finding in sorted(set(found), key=lambda f: f.key):
        reason = next((waiver.reason for waiver in waivers if waiver.covers(finding)), None)
        if reason is None:
            kept.append(finding)
        else:
            waived.append((finding, reason))
    return CheckReport(file, notes, tuple(kept), tuple(waived), tuple(notices))
