"""The wheel holds all that a user needs, and works away from the checkout."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    done = subprocess.run(
        [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation",
         "--disable-pip-version-check", "--wheel-dir", str(folder), str(ROOT)],
        capture_output=True,
        text=True,
        check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    (built,) = folder.glob("*.whl")
    return built


def test_holds_checks_demo_licence_and_types(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    assert {
        "voiceflow/_grammars/northmark/cockpit-preparation.yaml",
        "voiceflow/_grammars/northmark/before-start.yaml",
        "voiceflow/_grammars/northmark/walk-round.yaml",
        "voiceflow/_grammars/northmark/x-skr7.yaml",
        "voiceflow/_grammars/northmark/x-skr9.yaml",
        "voiceflow/_grammars/check.schema.json",
        "voiceflow/_grammars/own-words.schema.json",
        "voiceflow/_demo/cockpit-preparation.flac",
        "voiceflow/reports/templates/report.html.j2",
        "voiceflow/languages/english/lexicon.dict",
        "voiceflow/LICENSE",
        "voiceflow/py.typed",
    } <= names
    assert not [name for name in names if name.startswith(("tests/", "audio_fixtures/"))]


def test_works_away_from_the_checkout(wheel: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(wheel) as packed:
        packed.extractall(tmp_path / "site")
    code = (
        "import voiceflow, voiceflow.checks.shipped as shipped, voiceflow.cli.demo as demo;"
        "print(voiceflow.__file__);"
        "print(shipped.find_check('before-start'));"
        "print(demo.demo_recording())"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(tmp_path / "site")},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert len(lines) == 3
    assert all(line.startswith(str(tmp_path / "site")) for line in lines), lines
