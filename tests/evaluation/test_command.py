"""``voiceflow evaluate`` on small manifests of real recordings."""

import csv
import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from voiceflow.cli.main import cli

FOLDER = Path(__file__).parents[2] / "audio_fixtures"
SPOILT = {"item": "no-such-item", "sha256": "0" * 64}


def small_manifest(
    folder: Path, change: dict[str, str] | None = None, voice: str = "flite rms"
) -> Path:
    """Write a manifest of one recording of each kind of the main part."""
    with (FOLDER / "manifest.csv").open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        columns = reader.fieldnames or []
        first: dict[str, dict[str, str]] = {}
        for row in reader:
            if row["voice"] == voice and row["part"] == "main":
                first.setdefault(row["kind"], row)
    path = folder / "manifest.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns)
        writer.writeheader()
        for row in first.values():
            writer.writerow(row | {"file": str(FOLDER / row["file"])} | (change or {}))
    return path


def evaluate(*arguments: str) -> Result:
    return CliRunner().invoke(cli, ["evaluate", *arguments])


@pytest.mark.speech
def test_json_has_a_line_a_recording_and_a_line_a_criterion(tmp_path: Path) -> None:
    manifest = small_manifest(tmp_path)
    result = evaluate(
        str(manifest), "--engine", "pocketsphinx", "--workers", "1", "--hours", "0.001", "--json"
    )
    assert result.exit_code == 0
    lines = [json.loads(line) for line in result.stdout.splitlines()]
    heard = [line for line in lines if "recording" in line]
    criteria = [line for line in lines if "criterion" in line]
    assert {line["kind"] for line in heard} == {"reading", "response", "command", "none"}
    assert all(line["result"] == "right" for line in heard if line["kind"] != "none")
    assert all(line["engine"] == "pocketsphinx" for line in heard)
    assert all(line["speech"] == "synthetic speech" for line in criteria)
    # no demo beside this manifest: start and memory are not measured
    assert len(criteria) == 4


@pytest.mark.speech
def test_two_processes_find_what_one_finds(tmp_path: Path) -> None:
    manifest = small_manifest(tmp_path)

    def found(workers: str) -> list[tuple[str, list[str], str]]:
        options = ("--engine", "pocketsphinx", "--workers", workers, "--hours", "0", "--json")
        lines = map(json.loads, evaluate(str(manifest), *options).stdout.splitlines())
        return [
            (one["recording"], one["heard"], one["result"]) for one in lines if "recording" in one
        ]

    assert found("2") == found("1") != []


@pytest.mark.speech
def test_the_heading_says_synthetic_speech(tmp_path: Path) -> None:
    manifest = small_manifest(tmp_path)
    result = evaluate(str(manifest), "--engine", "pocketsphinx", "--workers", "1", "--hours", "0")
    assert result.exit_code == 0
    assert "4 recordings, synthetic speech" in result.stdout
    assert "95 % interval" in result.stdout
    assert "readings right" in result.stdout


def test_rows_that_do_not_fit_are_all_named(tmp_path: Path) -> None:
    result = evaluate(str(small_manifest(tmp_path, SPOILT)))
    assert result.exit_code == 2
    assert result.stderr.count("manifest-item") == 4
    assert result.stderr.count("manifest-sha256") == 4


def test_a_voice_that_is_not_there(tmp_path: Path) -> None:
    result = evaluate(str(small_manifest(tmp_path)), "--voice", "flite kal")
    assert result.exit_code == 2
    assert "flite rms" in result.stderr


def test_no_manifest(tmp_path: Path) -> None:
    result = evaluate(str(tmp_path / "manifest.csv"))
    assert result.exit_code == 2
    assert "cannot be read" in result.stderr


@pytest.mark.speech
def test_noise_page_and_comparison(tmp_path: Path) -> None:
    manifest = small_manifest(tmp_path, voice="flite awb")
    page, run = tmp_path / "page.html", tmp_path / "run.json"
    options = ("--engine", "pocketsphinx", "--workers", "1", "--hours", "0")
    noise = ("--noise", "pink", "--snr", "20")
    first = evaluate(str(manifest), *options, *noise, "--save", str(run))
    assert first.exit_code == 0, first.output
    assert "8 recordings" in first.stdout
    assert "8 of 8 recordings score" in first.stdout
    second = evaluate(str(manifest), *options, *noise, "--compare", str(run), "--html", str(page))
    assert second.exit_code == 0, second.output
    assert "Against the run that was kept" in second.stdout
    assert page.read_text(encoding="utf-8").count("<svg") == 2


@pytest.mark.parametrize(
    ("options", "names"),
    [
        (("--noise", "pink,song"), "babble"),
        (("--snr", "loud"), "20,15,10"),
        (("--snr", "99"), "decibels"),
        (("--training-voice", "flite kal"), "flite rms"),
        (("--compare", "absent.json"), "--save"),
    ],
)
def test_options_that_cannot_be(tmp_path: Path, options: tuple[str, ...], names: str) -> None:
    result = evaluate(str(small_manifest(tmp_path)), *options)
    assert result.exit_code == 2
    assert names in result.stderr


def test_noise_where_nothing_may_score(tmp_path: Path) -> None:
    # flite rms is a voice that weights were set with
    result = evaluate(str(small_manifest(tmp_path)), "--noise", "pink")
    assert result.exit_code == 2
    assert "training" in result.stderr
