"""Every exception that Voiceflow raises on purpose.

::

    VoiceflowError
    ├── UsageError            the command line asked for something that cannot be
    ├── CheckFileError        problems in a check or aircraft file, all at once
    ├── ManifestError         problems in a manifest of recordings, all at once
    ├── UnknownItemError      no such item in the check
    ├── LanguageError         no pack for the language of a check
    ├── AudioFileError        a recording that cannot be read
    ├── AudioDeviceError      a microphone or speaker that cannot be opened
    ├── ModelNotFoundError    no recognition model where one was asked for
    ├── EngineError           a recogniser refused a grammar or sound
    ├── SynthesisError        no voice can be made on this machine
    ├── JournalError          the journal cannot be opened, read or written
    └── StoreError            the fleet's store cannot be reached, read or written

Each takes its facts as fields; the text is made here, in the form
*where: what. What to do.* A library's own exceptions are mapped to these where
the library is called, so nothing else reaches a user.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from typing_extensions import override

if TYPE_CHECKING:
    from voiceflow.checks.problem import Problem


class VoiceflowError(Exception):
    """The root: catch this to catch everything Voiceflow raises on purpose.

    Travels between processes: the fields go along, though the text has been made of them.
    """

    @override
    def __reduce__(self) -> tuple[object, ...]:
        return (_rebuild, (type(self), self.args, self.__dict__))


def _rebuild(
    kind: type[VoiceflowError], args: tuple[object, ...], fields: dict[str, object]
) -> VoiceflowError:
    error = kind.__new__(kind, *args)
    error.__dict__.update(fields)
    return error


class UsageError(VoiceflowError):
    """The command line asked for something that cannot be.

    Attributes:
        what: What is wrong.
        remedy: What to do.
    """

    def __init__(self, what: str, remedy: str) -> None:
        self.what = what
        self.remedy = remedy
        super().__init__(f"{what}. {remedy}")


class CheckFileError(VoiceflowError):
    """A check or aircraft file cannot be used.

    Attributes:
        problems: Every problem found, in file order.
    """

    def __init__(self, problems: "Sequence[Problem]") -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class ManifestError(VoiceflowError):
    """A manifest of recordings cannot be used.

    Attributes:
        problems: Every problem found, in file order.
    """

    def __init__(self, problems: "Sequence[Problem]") -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class UnknownItemError(VoiceflowError):
    """The check has no item of that name.

    Attributes:
        check_id: The check asked.
        item_id: The item that it does not have.
        near: Names that look like it, best first.
    """

    def __init__(self, check_id: str, item_id: str, near: Sequence[str]) -> None:
        self.check_id = check_id
        self.item_id = item_id
        self.near = tuple(near)
        meant = f" Did you mean {', '.join(self.near)}?" if self.near else ""
        super().__init__(
            f"{check_id}: no item named {item_id!r}.{meant} "
            f"List the items with: voiceflow phrases {check_id}"
        )


class LanguageError(VoiceflowError):
    """No pack for a language.

    Attributes:
        code: The language asked for.
        known: The languages there are.
    """

    def __init__(self, code: str, known: Sequence[str]) -> None:
        self.code = code
        self.known = tuple(known)
        super().__init__(
            f"no language pack for {code!r}: there are {', '.join(self.known)}. "
            "Set language: in the check file to one of these."
        )


class AudioFileError(VoiceflowError):
    """A recording cannot be read.

    Attributes:
        path: The recording.
        what: What is wrong with it.
        remedy: What to do.
    """

    def __init__(self, path: Path, what: str, remedy: str) -> None:
        self.path = path
        self.what = what
        self.remedy = remedy
        super().__init__(f"{path}: {what}. {remedy}")


class AudioDeviceError(VoiceflowError):
    """A sound device cannot be opened or stopped working.

    Attributes:
        device: Its name, as asked for.
        what: What happened.
        remedy: What to do.
    """

    def __init__(self, device: str, what: str, remedy: str) -> None:
        self.device = device
        self.what = what
        self.remedy = remedy
        super().__init__(f"{device}: {what}. {remedy}")


class ModelNotFoundError(VoiceflowError):
    """No recognition model where one was asked for.

    Attributes:
        engine: The engine that needs it.
        where: The places searched.
        remedy: What to do.
    """

    def __init__(self, engine: str, where: Sequence[str], remedy: str) -> None:
        self.engine = engine
        self.where = tuple(where)
        self.remedy = remedy
        super().__init__(f"{engine}: no model found in {', '.join(self.where)}. {remedy}")


class EngineError(VoiceflowError):
    """A recogniser refused a grammar or sound, or cannot hear this language.

    Attributes:
        engine: The engine.
        what: What happened.
        remedy: What to do.
    """

    def __init__(self, engine: str, what: str, remedy: str) -> None:
        self.engine = engine
        self.what = what
        self.remedy = remedy
        super().__init__(f"{engine}: {what}. {remedy}")


class SynthesisError(VoiceflowError):
    """No voice can be made on this machine.

    Attributes:
        what: What is missing.
        remedy: What to do.
    """

    def __init__(self, what: str, remedy: str) -> None:
        self.what = what
        self.remedy = remedy
        super().__init__(f"voice: {what}. {remedy}")


class JournalError(VoiceflowError):
    """The journal cannot be opened, read or written.

    Attributes:
        path: The journal file.
        what: What is wrong.
        remedy: What to do.
    """

    def __init__(self, path: Path, what: str, remedy: str) -> None:
        self.path = path
        self.what = what
        self.remedy = remedy
        super().__init__(f"{path}: {what}. {remedy}")


class StoreError(VoiceflowError):
    """The fleet's store cannot be reached, read or written.

    Attributes:
        store: Its database and host; never the whole URL, which may hold a password.
        what: What is wrong.
        remedy: What to do.
    """

    def __init__(self, store: str, what: str, remedy: str) -> None:
        self.store = store
        self.what = what
        self.remedy = remedy
        super().__init__(f"{store}: {what}. {remedy}")
