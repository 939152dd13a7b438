import csv
from decimal import Decimal
from pathlib import Path

import pytest

from voiceflow.errors import ManifestError
from voiceflow.evaluation.manifest import COLUMNS, OPTIONAL, Role, digest, load_manifest
from voiceflow.grammar.meaning import Command, NoMatch, Reading, Response, ResponseState
from voiceflow.phraseology.commands import CommandName

GOOD = {
    "file": "a.flac",
    "part": "main",
    "check": "cockpit-preparation",
    "item": "crew-oxygen",
    "text": "sixteen hundred",
    "voice": "flite slt",
    "noise": "clean",
    "snr_db": "",
    "kind": "reading",
    "value": "1600",
    "unit": "psi",
    "form": "hundreds",
    "speech_start_s": "0.3",
    "speech_end_s": "1.4",
    "how_made": "synthetic speech: flite",
    "licence": "MIT",
    "sha256": "0" * 64,
}


def write(folder: Path, *changes: dict[str, str]) -> Path:
    """Write a manifest of one row for each change of the good row, all files present."""
    path = folder / "manifest.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, COLUMNS, restval="")
        writer.writeheader()
        for number, change in enumerate(changes):
            name = f"{number}.flac"
            (folder / name).write_bytes(b"sound")
            writer.writerow({**GOOD, "file": name, **change})
    return path


def test_rows_with_their_meanings(tmp_path: Path) -> None:
    manifest = write(
        tmp_path,
        {},
        {"kind": "command", "command": "stand-by"},
        {"kind": "response", "state": "not_as_expected", "phrase": "fitted"},
        {"kind": "none", "noise": "pink", "snr_db": "15"},
    )
    rows = load_manifest(manifest)
    assert [row.meaning for row in rows] == [
        Reading(value=Decimal(1600), unit="psi"),
        Command(name=CommandName.STAND_BY),
        Response(phrase="fitted", state=ResponseState.NOT_AS_EXPECTED),
        NoMatch(),
    ]
    assert [row.kind for row in rows] == ["reading", "command", "response", "none"]
    assert [row.condition for row in rows] == ["clean", "clean", "clean", "pink 15 dB"]
    assert [row.line for row in rows] == [2, 3, 4, 5]
    assert all(row.is_synthetic for row in rows)


def test_every_problem_at_once_with_its_line(tmp_path: Path) -> None:
    manifest = write(
        tmp_path,
        {"kind": "reading", "value": "lots"},
        {},
        {"kind": "command", "command": "sing"},
        {"kind": "response", "state": "fine", "phrase": "fitted"},
        {"kind": "song"},
        {"noise": "pink"},
        {"snr_db": "15"},
        {"speech_end_s": "0.1"},
        {"file": "absent.flac"},
        {"file": "1.flac"},
        {"licence": ""},
    )
    with pytest.raises(ManifestError) as caught:
        load_manifest(manifest)
    found = [(problem.line, problem.rule) for problem in caught.value.problems]
    assert found == [
        (2, "manifest-value"),
        (4, "manifest-command"),
        (5, "manifest-state"),
        (6, "manifest-kind"),
        (7, "manifest-snr_db"),
        (8, "manifest-snr_db"),
        (9, "manifest-speech_end_s"),
        (10, "manifest-file"),
        (11, "manifest-file"),
        (12, "manifest-licence"),
    ]
    assert f"{manifest}:2:" in str(caught.value)


@pytest.mark.parametrize(
    ("content", "rule"),
    [
        (b"", "column-missing"),
        (b"file,text\n", "column-missing"),
        (",".join(COLUMNS).encode() + b"\n", "manifest-empty"),
        (b"RIFF\xff\xfe\x00WAVE", "manifest-not-text"),
    ],
)
def test_no_manifest(tmp_path: Path, content: bytes, rule: str) -> None:
    path = tmp_path / "manifest.csv"
    path.write_bytes(content)
    with pytest.raises(ManifestError) as caught:
        load_manifest(path)
    assert [problem.rule for problem in caught.value.problems] == [rule]


def test_a_missing_manifest(tmp_path: Path) -> None:
    with pytest.raises(ManifestError, match="cannot be read"):
        load_manifest(tmp_path / "manifest.csv")


def test_digest_of_a_published_example(tmp_path: Path) -> None:
    # NIST FIPS 180-4 example for SHA-256: the message "abc"
    path = tmp_path / "abc"
    path.write_bytes(b"abc")
    assert digest(path) == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_one_file_in_several_noises_and_who_may_score(tmp_path: Path) -> None:
    columns = (*COLUMNS, *OPTIONAL)
    (tmp_path / "a.flac").write_bytes(b"sound")
    path = tmp_path / "manifest.csv"
    good = {**GOOD, "file": "a.flac"}
    mixed = {**good, "noise": "pink", "snr_db": "15", "mixed": "yes"}
    changes = (
        good,
        mixed,
        {**mixed, "snr_db": "10", "role": "train"},
        {**mixed, "snr_db": "5", "role": "judge"},
        {**mixed, "noise": "song"},
        {**good, "mixed": "maybe"},
        mixed,
    )
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, restval="")
        writer.writeheader()
        writer.writerows(changes)
    with pytest.raises(ManifestError) as caught:
        load_manifest(path)
    found = [(problem.line, problem.rule) for problem in caught.value.problems]
    assert found == [
        (5, "manifest-role"),
        (6, "manifest-mixed"),
        (7, "manifest-mixed"),
        (8, "manifest-file"),
    ]
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, restval="")
        writer.writeheader()
        writer.writerows(changes[:3])
    rows = load_manifest(path)
    assert [row.key for row in rows] == ["a.flac", "a.flac + pink 15 dB", "a.flac + pink 10 dB"]
    assert [row.role for row in rows] == [Role.SCORE, Role.SCORE, Role.TRAIN]
