"""What would be understood of a recording at one item, outside any run."""

from collections.abc import Callable
from dataclasses import dataclass

from voiceflow.audio.frames import Samples
from voiceflow.audio.wav import RecordingSource
from voiceflow.checks.model import Item
from voiceflow.dialogue.events import Heard, Utterance
from voiceflow.dialogue.policy import Decision, decide
from voiceflow.grammar.item_grammar import ItemGrammar
from voiceflow.phraseology.language import Language
from voiceflow.recognition.endpointing import Endpointer
from voiceflow.recognition.recogniser import Recogniser
from voiceflow.session.ears import Ears, PatientFinder
from voiceflow.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Hearing:
    """One utterance of a recording.

    Attributes:
        utterance: What was heard and what it means at the item.
        decision: What the dialogue would do with it while the item is asked.
        decided_s: Seconds into the recording at which that was known.
        decode_s: Processor seconds that decoding took.
    """

    utterance: Utterance
    decision: Decision
    decided_s: float
    decode_s: float


def hear(
    samples: Samples,
    *,
    item: Item,
    grammar: ItemGrammar,
    language: Language,
    recogniser: Recogniser,
    settings: Settings | None = None,
    finder: PatientFinder | None = None,
) -> tuple[Hearing, ...]:
    """Hear a whole recording with the grammar of one item.

    The path is that of a run: frames, endpointing, recognition, interpretation.

    Args:
        samples: int16 mono at 16 kHz.
        item: The item being asked.
        grammar: Its grammar.
        language: The pack of its language.
        recogniser: What hears it; it may have heard other recordings before.
        settings: The thresholds; the usual ones if none.
        finder: Finds the utterances; by the endpointing settings if none.

    Returns:
        One for each utterance, in order; none if nobody speaks in it.

    Raises:
        EngineError: If the engine cannot hear the grammar.
    """
    settings = settings or Settings()
    ears = Ears(
        finder=finder or Endpointer(settings.endpointing),
        recogniser=recogniser,
        grammar=_always(grammar),
        language=language,
        pauses=settings.endpointing.pauses,
    )
    ears.listen(item.id, None)
    found: list[Hearing] = []

    def note(event: object) -> None:
        if isinstance(event, Heard):
            hypothesis = ears.last_hypothesis
            found.append(
                Hearing(
                    utterance=event.utterance,
                    decision=decide(event.utterance, item, settings.policy),
                    decided_s=ears.last_decided_s,
                    decode_s=0.0 if hypothesis is None else hypothesis.decode_s,
                )
            )

    for frame in RecordingSource(samples).frames():
        for event in ears.feed(frame):
            note(event)
    for event in ears.flush():
        note(event)
    return tuple(found)


def best_of(found: tuple[Hearing, ...]) -> Hearing | None:
    """Give the first utterance in which words were recognised, else the first, or none."""
    return next((hearing for hearing in found if hearing.utterance.text), next(iter(found), None))


def _always(grammar: ItemGrammar) -> Callable[[str, str | None], ItemGrammar]:
    def give(item_id: str, previous_id: str | None) -> ItemGrammar:
        del item_id, previous_id
        return grammar

    return give
