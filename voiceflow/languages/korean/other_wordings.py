"""What the tool says in Korean where the usual words are too short, or too long, as in English."""

from voiceflow.languages.korean.plain_words import counted, duration, sentence, spoken
from voiceflow.languages.korean.wording import wording
from voiceflow.limits.judge import Verdict
from voiceflow.phraseology import prompts
from voiceflow.phraseology.prompts import FindingReason, Prompt

_BAD = (FindingReason.NOT_AS_EXPECTED, FindingReason.OUTSIDE_LIMITS)


def full_wording(prompt: Prompt) -> str:
    """Give the words of a prompt, and what it is that they tell."""
    match prompt:
        case prompts.AcknowledgeResponse():
            return f"받은 답: {wording(prompt)}"
        case prompts.ReadBack():
            return f"받은 값: {wording(prompt)}"
        case prompts.LeftForLater() if prompt.comes_back:
            return f"{wording(prompt)} 끝나기 전에 다시 묻습니다."
        case _:
            return wording(prompt)


def terse_wording(prompt: Prompt) -> str:
    """Give as few words as will do."""
    match prompt:
        case prompts.Opening():
            count = counted(prompt.checks or prompt.count, "개")
            return sentence(f"{spoken(prompt.title)}, {'점검 ' if prompt.checks else ''}{count}")
        case prompts.ReadBack() if prompt.verdict is Verdict.WITHIN:
            return wording(prompt).replace(", 범위 안", "")
        case prompts.FindingRecorded() if prompt.finding.reason in _BAD:
            _, _, remedy = wording(prompt).partition(". ")
            return f"기록함. {remedy}".strip()
        case prompts.LeftForLater():
            return "마지막에 다시 함." if prompt.comes_back else "남겨 둠."
        case prompts.Continuing() if prompt.last_done is not None and not prompt.restarting:
            return wording(prompt).removeprefix("이어 갑니다. ")
        case prompts.WaitStarted():
            return f"{duration(prompt.ready_in_s)} 뒤 준비됨."
        case prompts.SpeakingSlower():
            return "느리게."
        case _:
            return wording(prompt)
