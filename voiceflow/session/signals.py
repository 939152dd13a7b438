"""Which words have a sound before or after them, where the person wants sounds."""

from voiceflow.limits.judge import Verdict
from voiceflow.phraseology import prompts
from voiceflow.phraseology.prompts import Prompt
from voiceflow.synthesis.earcons import Earcon


def earcon_of(prompt: Prompt) -> Earcon | None:
    """Give the sound before a prompt; most have none."""
    match prompt:
        case prompts.ReadBack() | prompts.ConfirmReading():
            return None if prompt.verdict is Verdict.WITHIN else Earcon.FINDING
        case prompts.HoldingAt() | prompts.DeviceTrouble():
            return Earcon.HOLDING
        case prompts.Continuing() | prompts.DeviceBack():
            return Earcon.GOING_ON
        case prompts.AskAgain():
            return Earcon.AGAIN
        case _:
            return None


def tone_after(prompt: Prompt) -> Earcon | None:
    """Give the sound after a prompt, which tells when to speak; most have none."""
    is_note = isinstance(prompt, prompts.TakingNote) and prompt.has_tone
    return Earcon.SPEAK if is_note else None
