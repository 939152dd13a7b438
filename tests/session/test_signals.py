import pytest

from tests.languages.prompt_samples import AT_LEAST, OXYGEN, psi
from voiceflow.limits.judge import Verdict
from voiceflow.phraseology import prompts
from voiceflow.phraseology.prompts import Prompt
from voiceflow.session.signals import earcon_of, tone_after
from voiceflow.synthesis.earcons import Earcon


@pytest.mark.parametrize(
    ("prompt", "earcon"),
    [
        (prompts.ReadBack(taken=psi(900), verdict=Verdict.OUTSIDE, limit=AT_LEAST), "finding"),
        (prompts.ReadBack(taken=psi(1600), verdict=Verdict.WITHIN, limit=AT_LEAST), None),
        (prompts.HoldingAt(challenge=OXYGEN), "holding"),
        (prompts.Continuing(last_done=None), "going-on"),
        (prompts.AskAgain(attempt=1, challenge=OXYGEN), "again"),
        (prompts.Challenge(challenge=OXYGEN), None),
    ],
)
def test_the_sound_before_words(prompt: Prompt, earcon: str | None) -> None:
    assert earcon_of(prompt) == (None if earcon is None else Earcon(earcon))


@pytest.mark.parametrize(
    ("prompt", "earcon"),
    [
        (prompts.TakingNote(challenge=OXYGEN, has_tone=True), Earcon.SPEAK),
        (prompts.TakingNote(challenge=OXYGEN, has_tone=False), None),
        (prompts.Challenge(challenge=OXYGEN), None),
    ],
)
def test_the_tone_after_words(prompt: Prompt, earcon: Earcon | None) -> None:
    assert tone_after(prompt) == earcon
