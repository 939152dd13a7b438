"""Full and terse wording: what may be left out, and what never is."""

import re
from dataclasses import replace

import pytest

from tests.languages.prompt_samples import COVERS, ENGLISH, OXYGEN, TITLE, finding, psi
from voiceflow.checks.model import Limit, RemedyAction
from voiceflow.languages.registry import known_languages, language
from voiceflow.limits.judge import Verdict
from voiceflow.phraseology import prompts
from voiceflow.phraseology.language import Language, worded
from voiceflow.phraseology.prompts import FindingReason, Prompt
from voiceflow.settings import Wording

SAMPLES = tuple(prompt for prompt, _ in ENGLISH)
PACKS = [language(code) for code in known_languages()]
each_pack = pytest.mark.parametrize("pack", PACKS, ids=known_languages())
each_sample = pytest.mark.parametrize("prompt", SAMPLES, ids=range(len(SAMPLES)))
WITHIN = prompts.ReadBack(taken=psi(1600), verdict=Verdict.WITHIN, limit=Limit())


def said(pack: Language, wording: Wording, prompt: Prompt) -> str:
    return worded(pack, wording).wording(prompt)


def words(pack: Language, wording: Wording, prompt: Prompt) -> tuple[str, ...]:
    return pack.tokenise(said(pack, wording, prompt))


@each_pack
@each_sample
def test_full_is_longest_and_terse_is_shortest(pack: Language, prompt: Prompt) -> None:
    lengths = [len(words(pack, wording, prompt)) for wording in Wording]
    assert lengths == sorted(lengths, reverse=True)
    assert lengths[-1] > 0


@each_pack
@each_sample
def test_a_question_is_the_same_in_every_wording(pack: Language, prompt: Prompt) -> None:
    if "?" in said(pack, Wording.NORMAL, prompt):
        assert len({said(pack, wording, prompt) for wording in Wording}) == 1


@each_pack
@each_sample
def test_every_wording_is_whole_sentences_without_figures(pack: Language, prompt: Prompt) -> None:
    for wording in Wording:
        text = said(pack, wording, prompt)
        assert text[-1] in ".?!"
        assert not re.search(r"\d|  |\.\.|\s[.,:?!]", text)


@each_pack
@each_sample
def test_nothing_that_is_not_within_limits_is_left_out(pack: Language, prompt: Prompt) -> None:
    match prompt:
        case prompts.ReadBack() | prompts.ConfirmReading() if prompt.verdict is not Verdict.WITHIN:
            terse, normal = (said(pack, one, prompt) for one in (Wording.TERSE, Wording.NORMAL))
            assert terse == normal
        case prompts.ReadBack():
            # the value is always said
            taken = pack.tokenise(pack.read_number(prompt.taken.value, prompt.taken.scale))
            assert words(pack, Wording.TERSE, prompt)[: len(taken)] == taken
        case prompts.Closing() | prompts.WaitDue() | prompts.WaitOverdue():
            terse, normal = (said(pack, one, prompt) for one in (Wording.TERSE, Wording.NORMAL))
            assert terse == normal
        case _:
            pass


@each_pack
@pytest.mark.parametrize("reason", FindingReason)
def test_what_is_to_be_done_is_always_said(pack: Language, reason: FindingReason) -> None:
    for remedy in ("Call the duty engineer", None):
        found = finding(reason=reason, action=RemedyAction.CAPTAIN, say=remedy)
        normal = said(pack, Wording.NORMAL, prompts.FindingRecorded(finding=found))
        _, _, what = normal.partition(". ")
        assert what
        for wording in Wording:
            assert said(pack, wording, prompts.FindingRecorded(finding=found)).endswith(what)


@pytest.mark.parametrize(
    ("prompt", "full", "terse"),
    [
        (
            prompts.ReadBack(
                taken=psi(1650), verdict=Verdict.WITHIN, limit=Limit(minimum=psi(1200).value)
            ),
            "I have one six five zero p s i, within limits.",
            "One six five zero p s i.",
        ),
        (
            prompts.Opening(title=TITLE, aircraft="Skerry 42", tail="X-SKR7", count=32),
            language("en").wording(
                prompts.Opening(title=TITLE, aircraft="Skerry 42", tail="X-SKR7", count=32)
            ),
            "Cockpit preparation, thirty two items.",
        ),
        (
            prompts.Continuing(last_done=COVERS),
            "Continuing. Last done: pitot covers.",
            "Last done: pitot covers.",
        ),
        (prompts.Continuing(last_done=None), "Continuing.", "Continuing."),
        (
            prompts.LeftForLater(challenge=OXYGEN),
            "Crew oxygen, left for the end. It comes back before the check ends.",
            "Left for the end.",
        ),
        (prompts.AcknowledgeResponse(phrase="Removed"), "Taken: removed.", "Removed."),
        (
            prompts.FindingRecorded(finding=finding()),
            "Discrepancy recorded. Call maintenance.",
            "Recorded. Call maintenance.",
        ),
    ],
)
def test_english(prompt: Prompt, full: str, terse: str) -> None:
    english = language("en")
    assert said(english, Wording.FULL, prompt) == full
    assert said(english, Wording.TERSE, prompt) == terse


def test_a_pack_with_one_wording_has_it_for_all() -> None:
    plain = replace(language("en"), full_wording=None, terse_wording=None)
    assert {said(plain, wording, WITHIN) for wording in Wording} == {plain.wording(WITHIN)}
