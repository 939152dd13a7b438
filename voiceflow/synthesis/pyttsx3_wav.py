"""The voice of the machine, by pyttsx3, through a WAV file into memory.

pyttsx3 speaks with what the platform has: SAPI on Windows, the system voices on
macOS, eSpeak NG elsewhere. There the library that comes with ``espeakng-loader``
is used first, so that the voice is the same on every machine and needs nothing
but pip; the system's own is the second choice.

Nothing here knows when to speak or plays a sound.
"""

import ctypes
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Event, Lock
from types import ModuleType
from typing import Any, Final

import numpy as np
import soundfile

from voiceflow.audio.frames import Samples
from voiceflow.audio.wav import resample
from voiceflow.errors import SynthesisError
from voiceflow.phraseology.language import Language
from voiceflow.synthesis.trim import trim

# eSpeak and pyttsx3 keep their state in the process, one voice for all: so there is
# one engine, and one caller at a time.
_ONE_AT_A_TIME: Final = Lock()
_WITHOUT_VOICE: Final = "Use --voice none to go without a voice"
# pyttsx3 waits for ever if it cannot write its file
_ROOM_NEEDED_BYTES: Final = 20_000_000
_LONGEST_S: Final = 30.0
_VOICES_NAMED: Final = 6


class Pyttsx3Synthesiser:
    """A voice for one language."""

    def __init__(self, language: Language, name: str | None = None) -> None:
        """Find the voice.

        Args:
            language: Its ``voice_id`` names the voice.
            name: Another voice, as the machine names it, whatever its language.

        Raises:
            SynthesisError: If no speech library is on this machine, or it has no
                voice for the language.
        """
        with _ONE_AT_A_TIME:
            self._engine = _engine()
            if name is None:
                self._voice = _voice(self._engine, language)
            else:
                self._voice = _named(self._engine, name, language)

    def synthesise(self, words: str, rate_wpm: int) -> Samples:
        """Speak into memory.

        Args:
            words: What to say.
            rate_wpm: Words a minute.

        Returns:
            int16 mono samples at 16 kHz, silence at both ends at most 50 ms; none
            for words that hold nothing to say.

        Raises:
            SynthesisError: If the voice cannot speak.
        """
        if not any(character.isalnum() for character in words):
            return np.zeros(0, dtype=np.int16)
        with _ONE_AT_A_TIME:
            try:
                with TemporaryDirectory(prefix="voiceflow-") as folder:
                    return self._speak(words, rate_wpm, Path(folder) / "speech.wav")
            except OSError as error:
                what = f"no temporary file can be written ({error.strerror or error})"
                raise SynthesisError(what, "Make room on the disk") from error

    def _speak(self, words: str, rate_wpm: int, path: Path) -> Samples:
        if shutil.disk_usage(path.parent).free < _ROOM_NEEDED_BYTES:
            what = f"the disk of {path.parent.parent} is full"
            raise SynthesisError(what, "Make room on it")
        faults: list[Exception] = []

        def note(exception: Exception, **_: object) -> None:
            faults.append(exception)

        finished = Event()

        def finish(**_: object) -> None:
            finished.set()

        tokens = [
            self._engine.connect("error", note),
            self._engine.connect("finished-utterance", finish),
        ]
        try:
            self._engine.setProperty("voice", self._voice)
            self._engine.setProperty("rate", rate_wpm)
            _settle()
            self._engine.save_to_file(words, str(path))
            self._engine.runAndWait()
            if _is_espeak():
                # its loop may end before the library's own thread has written the file
                finished.wait(_LONGEST_S)
            if faults:
                raise faults[0]
            samples, rate_hz = soundfile.read(path, dtype="int16", always_2d=True)
        except (soundfile.LibsndfileError, RuntimeError, ValueError, KeyError) as error:
            what = f"the speech library failed ({error})"
            raise SynthesisError(what, _WITHOUT_VOICE) from error
        finally:
            for token in tokens:
                self._engine.disconnect(token)
        return trim(resample(np.ascontiguousarray(samples[:, 0]), rate_hz))


def speaks_from_any_thread() -> bool:
    """Tell whether speech may be made on another thread than the voice was found on.

    eSpeak does; the system voices of Windows (COM) and macOS belong to one thread.
    """
    return _is_espeak()


def _is_espeak() -> bool:
    return sys.platform not in ("win32", "darwin")


@cache
def _engine() -> Any:
    # kept: pyttsx3 forgets an engine that nobody holds, and what a new one sets in eSpeak
    # comes late, into the words after it: 4 of 30 first ones were too fast, or silent after
    try:
        with _bundled_espeak():
            import pyttsx3

            driver = "espeak" if _is_espeak() else None
            engine = pyttsx3.init(driver)
    except (ImportError, RuntimeError, OSError) as error:
        what = "no speech library can be loaded (eSpeak NG, or the system's own voices)"
        remedy = f"Install it with: pip install espeakng-loader. {_WITHOUT_VOICE}"
        raise SynthesisError(what, remedy) from error
    _hush(sys.modules.get("pyttsx3.drivers.espeak"))
    return engine


def _hush(driver: ModuleType | None) -> None:
    # The driver prints "Audio saved to ..." to standard output, where --json prints
    # events. Its own name for print is replaced, for redirecting standard output
    # would also swallow what other threads print meanwhile.
    if driver is not None:
        vars(driver)["print"] = _say_nothing


def _settle() -> None:
    # eSpeak takes voice and rate in a thread of its own. pyttsx3 cancels what is under
    # way when it begins, and would cancel these too: speech at the old rate, or cut off.
    espeak = sys.modules.get("pyttsx3.drivers._espeak")
    if espeak is not None:
        espeak.Synchronize()


def _say_nothing(*_: object, **__: object) -> None:
    pass


@contextmanager
def _bundled_espeak() -> Iterator[None]:
    """Let pyttsx3 find the library of espeakng-loader while it is imported.

    pyttsx3 looks for eSpeak under fixed names only, by ``cdll.LoadLibrary``; within
    this block those names lead to the bundled library.
    """
    path = _bundled_library()
    if path is None:
        yield
        return
    original: Callable[[str], ctypes.CDLL] = ctypes.cdll.LoadLibrary

    def load(name: str) -> ctypes.CDLL:
        return original(path if "espeak" in name else name)

    # an attribute of the object, which hides the method of its class until it is deleted
    vars(ctypes.cdll)["LoadLibrary"] = load
    try:
        yield
    finally:
        del vars(ctypes.cdll)["LoadLibrary"]


def _bundled_library() -> str | None:
    try:
        import espeakng_loader
    except ImportError:
        return None
    path = str(espeakng_loader.get_library_path())
    try:
        ctypes.CDLL(path)
    except OSError:  # made for another system: the system's own is tried
        return None
    # the library was built with a data folder that exists only where it was built
    os.environ["ESPEAK_DATA_PATH"] = str(espeakng_loader.get_data_path())
    return path


def _named(engine: Any, name: str, language: Language) -> str:
    names = [str(voice.id) for voice in engine.getProperty("voices")]
    wanted = name.lower()
    for known in names:
        if known.lower() == wanted or known.lower().endswith(f"/{wanted}"):
            return known
    like = [known for known in names if language.code in known.lower()][:_VOICES_NAMED]
    what = f"this machine has no voice {name!r}"
    raise SynthesisError(what, f"Choose another, for example {', '.join(like)}.")


def _voice(engine: Any, language: Language) -> str:
    wanted = language.voice_id.lower()
    voices = engine.getProperty("voices")
    for is_it in (
        lambda voice: voice.id.lower() == wanted,
        lambda voice: voice.id.lower().endswith(f"/{wanted}"),
        lambda voice: any(str(tag).lower().strip("\0") == wanted for tag in voice.languages),
        lambda voice: any(
            str(tag).lower().replace("_", "-").startswith(language.code) for tag in voice.languages
        ),
    ):
        for voice in voices:
            if is_it(voice):
                return str(voice.id)
    what = f"this machine has no voice {language.voice_id!r} for the language {language.code!r}"
    raise SynthesisError(what, f"Install one. {_WITHOUT_VOICE}")
