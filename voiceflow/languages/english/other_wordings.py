"""What the tool says in English where the usual words are too short, or too long.

Both differ from the usual wording in a few prompts only. Terse never drops a value, a
verdict that is not within limits, a question, or what is to be done.
"""

from voiceflow.languages.english.plain_words import (
    counted,
    duration,
    sentence,
    spoken,
    within_sentence,
)
from voiceflow.languages.english.wording import wording
from voiceflow.limits.judge import Verdict
from voiceflow.phraseology import prompts
from voiceflow.phraseology.prompts import FindingReason, Prompt

_BAD = (FindingReason.NOT_AS_EXPECTED, FindingReason.OUTSIDE_LIMITS)


def full_wording(prompt: Prompt) -> str:
    """Give the words of a prompt and what it is that they tell."""
    match prompt:
        case prompts.AcknowledgeResponse():
            return f"Taken: {within_sentence(spoken(prompt.phrase))}."
        case prompts.ReadBack():
            return f"I have {_begin_small(wording(prompt))}"
        case prompts.LeftForLater() if prompt.comes_back:
            return f"{wording(prompt)} It comes back before the check ends."
        case _:
            return wording(prompt)


def terse_wording(prompt: Prompt) -> str:
    """Give as few words as will do."""
    match prompt:
        case prompts.Opening():
            count = counted(prompt.count, "item", "items")
            if prompt.checks:
                count = counted(prompt.checks, "check", "checks")
            return sentence(f"{spoken(prompt.title)}, {count}")
        case prompts.ReadBack() if prompt.verdict is Verdict.WITHIN:
            # the next challenge says that it was within limits
            return wording(prompt).replace(", within limits", "")
        case prompts.FindingRecorded() if prompt.finding.reason in _BAD:
            # what was found was said just before, in the question that was affirmed
            _, _, remedy = wording(prompt).partition(". ")
            return f"Recorded. {remedy}".strip()
        case prompts.LeftForLater():
            return "Left for the end." if prompt.comes_back else "Left open."
        case prompts.Continuing() if prompt.last_done is not None and not prompt.restarting:
            return wording(prompt).removeprefix("Continuing. ")
        case prompts.WaitStarted():
            return sentence(f"ready in {duration(prompt.ready_in_s)}")
        case prompts.SpeakingSlower():
            return "Slower."
        case _:
            return wording(prompt)


def _begin_small(text: str) -> str:
    return text[:1].lower() + text[1:]
